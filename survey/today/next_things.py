"""Rank what is most useful to do next, from parts, gaps and photos."""

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
    """One useful thing: what to do, on which part, position or photo, and why. ``count``: how many photos."""

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

    In this order: safety parts that need an examination, a reading or a look; photos not placed yet, by capture run;
    joints that do not go together or are only packed; positions nobody has looked for that are for safety or inside a
    part that is here; other parts that need something; other positions nobody has looked for; parts of other machines
    that can be passed on (``strangers``). At most three of a kind are taken in turn, so that one long kind does not
    hide the others (judgement).
    """
    owed = [part for part in parts if part.verdict.waiting]
    safety = [_propose_part(part) for part in owed if part.component is None or part.component.duty == "safety"]
    other = [_propose_part(part) for part in owed if part.component is not None and part.component.duty != "safety"]
    waiting = [thing for run in runs if (thing := _propose_photos(run))]
    unsought = [gap for gap in gaps if gap.state == "not-looked" and gap.through is None and gap.component.everywhere]
    unsought.sort(key=lambda gap: (DUTIES.index(gap.component.duty), not gap.inside_present))
    urgent_gaps = [_propose_search(gap) for gap in unsought if gap.component.duty == "safety" or gap.inside_present]
    other_gaps = [
        _propose_search(gap) for gap in unsought if not (gap.component.duty == "safety" or gap.inside_present)
    ]
    return _take_in_turns([safety, waiting, list(joints), urgent_gaps, other, other_gaps, list(strangers)], most)


def _take_in_turns(kinds: Sequence[list[NextThing]], most: int) -> list[NextThing]:
    """Take three of each kind in turn until there are ``most``, then put them in the order of the kinds."""
    left = [list(kind) for kind in kinds]
    taken: list[list[NextThing]] = [[] for _ in kinds]
    while sum(map(len, taken)) < most and any(left):
        for kind, taken_of_kind in zip(left, taken, strict=True):
            room = most - sum(map(len, taken))
            taken_of_kind += kind[: min(3, room)]
            del kind[: min(3, room)]
    return [thing for taken_of_kind in taken for thing in taken_of_kind]


def _propose_part(graded: GradedPart) -> NextThing:
    label = graded.part.label or (graded.component.label if graded.component else "Unknown part")
    because = graded.verdict.rulings[0].because if graded.verdict.rulings else ""
    doings: dict[str | None, Doing] = {"examine-first": "examine", "take-a-reading": "read"}
    return NextThing(doings.get(graded.verdict.waiting, "look"), label, because, part=graded.part.id)


def _propose_photos(run: Sequence[Photo]) -> NextThing | None:
    waiting = [photo for photo in run if photo.state == "waiting"]
    if not waiting:
        return None
    label = waiting[0].box or waiting[0].name
    return NextThing("place", label, "Nobody has said what they show.", photo=waiting[0].id, count=len(waiting))


def _propose_search(gap: Gap) -> NextThing:
    because = (
        "What carries it is here, and nobody has looked for it yet."
        if gap.inside_present
        else "Nobody has looked for it: it may be missing."
    )
    return NextThing("search", gap.component.label, because, component=gap.component.id)
