"""What is most useful to do next, told from how everything stands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from survey.model.parts import GradedPart
from survey.model.photos import Photo
from survey.model.schedule import DUTIES, Gap

Doing = Literal["place", "examine", "read", "look", "search", "fit", "unpack", "pass-on"]


@dataclass(frozen=True, slots=True)
class NextThing:
    """One useful thing: what to do, on which part, position or photo, and why. ``count``: photos it is about."""

    doing: Doing
    label: str
    because: str
    part: int | None = None
    component: str | None = None
    photo: int | None = None
    count: int = 1


def rank_next_things(
    parts: Iterable[GradedPart],
    gaps: Iterable[Gap],
    runs: Sequence[Sequence[Photo]],
    most: int = 10,
    *,
    joints: Iterable[NextThing] = (),
    strangers: Iterable[NextThing] = (),
) -> list[NextThing]:
    """The next useful things, most useful first.

    In this order: safety parts that owe an examination, a reading or a look; photos that wait, by capture run; joints
    that do not go or are only packed; safety positions and holders nobody has looked for; other parts that owe
    something; what else was not looked for; strangers, the parts of other machines that can be passed on.
    The kinds take turns after the first few, so that one long kind does not hide the others (judgement).
    """
    owed = [one for one in parts if one.verdict.waiting]
    safety = [_owed(one) for one in owed if one.component is None or one.component.duty == "safety"]
    other = [_owed(one) for one in owed if one.component is not None and one.component.duty != "safety"]
    waiting = [thing for run in runs if (thing := _waiting(run))]
    unsought = [gap for gap in gaps if gap.state == "not-looked" and gap.through is None and gap.component.everywhere]
    unsought.sort(key=lambda gap: (DUTIES.index(gap.component.duty), not gap.inside_present))
    serious = [_unsought(gap) for gap in unsought if gap.component.duty == "safety" or gap.inside_present]
    rest = [_unsought(gap) for gap in unsought if not (gap.component.duty == "safety" or gap.inside_present)]
    return _in_turns([safety, waiting, list(joints), serious, other, rest, list(strangers)], most)


def _in_turns(kinds: Sequence[list[NextThing]], most: int) -> list[NextThing]:
    """Three of each kind in turn until enough are named, then put back in the order of the kinds."""
    left = [list(kind) for kind in kinds]
    taken: list[list[NextThing]] = [[] for _ in kinds]
    while sum(map(len, taken)) < most and any(left):
        for kind, mine in zip(left, taken, strict=True):
            room = most - sum(map(len, taken))
            mine += kind[: min(3, room)]
            del kind[: min(3, room)]
    return [thing for mine in taken for thing in mine]


def _owed(one: GradedPart) -> NextThing:
    label = one.part.label or (one.component.label if one.component else "Unknown part")
    because = one.verdict.rulings[0].because if one.verdict.rulings else ""
    doings: dict[str | None, Doing] = {"examine-first": "examine", "take-a-reading": "read"}
    return NextThing(doings.get(one.verdict.waiting, "look"), label, because, part=one.part.id)


def _waiting(run: Sequence[Photo]) -> NextThing | None:
    wait = [photo for photo in run if photo.state == "waiting"]
    if not wait:
        return None
    label = wait[0].box or wait[0].name
    return NextThing("place", label, "Nobody has said what they show.", photo=wait[0].id, count=len(wait))


def _unsought(gap: Gap) -> NextThing:
    because = (
        "What carries it is here, and nobody has looked for it yet."
        if gap.inside_present
        else "Nobody has looked for it: it may be missing."
    )
    return NextThing("search", gap.component.label, because, component=gap.component.id)
