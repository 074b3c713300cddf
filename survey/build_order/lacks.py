"""What steps of the build wait for: positions not filled, and parts here that cannot be used yet."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from survey.model.parts import GradedPart
from survey.model.schedule import Component
from survey.model.wants import UNDER_WAY, WANT_WORDS, Want
from survey.outwork.batches import Away
from survey.schedule.gaps import Position

LackState = Literal["missing", "wrong", "short", "replace", "examine-first", "away", "unseen", "not-looked"]

LACK_WORDS: dict[LackState, str] = {
    "missing": "missing",
    "wrong": "here but wrong",
    "short": "too few",
    "replace": "here, to be replaced",
    "examine-first": "here, to be examined first",
    "away": "away",
    "unseen": "inside something, not seen",
    "not-looked": "not looked for",
}
STATES_TO_LOOK_FOR: tuple[LackState, ...] = ("unseen", "not-looked")
"""States in which nobody knows yet whether the part lacks: look for it before getting another."""

AWAY_PREFIXES = ("with ", "lent ", "in the post")
"""A part whose place begins with one of these is away (judgement: the owner writes the place in free words)."""


@dataclass(frozen=True, slots=True)
class Lack:
    """A component that steps wait for: its state, and where it is or how far a replacement has got."""

    component: Component
    state: LackState
    where: str = ""

    @property
    def words(self) -> str:
        """The state in words: ``away: with the plater``."""
        return f"{LACK_WORDS[self.state]}: {self.where}" if self.where else LACK_WORDS[self.state]


def find_lacks(
    positions: Iterable[Position],
    parts: Iterable[GradedPart],
    wants: Iterable[Want] = (),
    out: Mapping[int, Away] | None = None,
    unexamined: Mapping[int, str] | None = None,
) -> dict[str, Lack]:
    """By component id, what is not in hand for a dry build, in the schedule's order.

    A filled position lacks too if too few of its parts can be used: parts to be replaced and parts that are away do not
    count. A part that a specialist must examine first may be tried dry, under no load; steps that need it examined wait
    for it. A part that still needs a reading or a look is in hand (judgement). A component inside a holder that lacks
    is got with it, so the holder's lack is given for it. A part asked for, promised or bought that has not come still
    lacks; the words say how far it has got.

    Args:
        out: by part number, how many of it are with a trade, and where.
        unexamined: by part number, words for safety parts that are back from a trade and not looked over since.
    """
    outwork = _Outwork(out or {}, unexamined or {})
    answering: defaultdict[str, list[GradedPart]] = defaultdict(list)
    for part in parts:
        if part.component is not None:
            answering[part.component.id].append(part)
    wanted = {want.component: _describe_want(want) for want in wants if want.state in UNDER_WAY}
    lacks: dict[str, Lack] = {}
    holder_of: dict[str, str] = {}
    for position in positions:
        lack = _find_lack(position, answering[position.component.id], outwork)
        if lack is not None:
            want_words = "" if lack.state in ("away", "examine-first") else wanted.get(lack.component.id, "")
            lacks[position.component.id] = replace(lack, where=want_words) if want_words else lack
            if position.through is not None:
                holder_of[position.component.id] = position.through
    return {name: lacks.get(holder_of.get(name, name), lack) for name, lack in lacks.items()}


@dataclass(frozen=True, slots=True)
class _Outwork:
    """Parts that went to a trade: those that are out, and those back but not looked over since."""

    out: Mapping[int, Away]
    unexamined: Mapping[int, str]


def _find_lack(position: Position, parts: Iterable[GradedPart], outwork: _Outwork) -> Lack | None:
    component = position.component
    match position.state:
        case "not-fitted":
            return None
        case "missing" | "wrong" | "short" | "unseen" | "not-looked":
            return Lack(component, position.state)
    counts: Counter[LackState | None] = Counter()
    where: dict[LackState | None, str] = {}
    for part in parts:
        for state, count, words in _count_by_state(part, outwork):
            counts[state] += count
            where.setdefault(state, words)
    if counts[None] >= component.quantity:
        return None
    if counts[None] + counts["examine-first"] >= component.quantity:
        return Lack(component, "examine-first", where.get("examine-first", ""))
    unusable: tuple[LackState, ...] = ("away", "short")
    return next(
        (Lack(component, state, where[state]) for state in unusable if counts[state]), Lack(component, "replace")
    )


def _count_by_state(graded: GradedPart, outwork: _Outwork) -> Iterator[tuple[LackState | None, int, str]]:
    """How many of a part are in which state, and where in words; state None: they can be used."""
    away = outwork.out.get(graded.part.id)
    out_count = min(away.count, graded.part.quantity) if away else 0
    lost = min(away.lost, out_count) if away else 0
    if away and out_count:
        yield "short", lost, away.where
        yield "away", out_count - lost, away.where
    here = graded.part.quantity - out_count
    # The owner's own grade decides whether to replace; it does not cancel an examination.
    if (graded.own_grade.grade if graded.own_grade else graded.verdict.grade) == "replace":
        yield "replace", here, ""
    elif graded.verdict.waiting == "examine-first" or graded.part.id in outwork.unexamined:
        yield "examine-first", here, outwork.unexamined.get(graded.part.id, "")
    elif graded.part.box.casefold().startswith(AWAY_PREFIXES):
        yield "away", here, graded.part.box
    else:
        yield None, here, ""


def _describe_want(want: Want) -> str:
    words = WANT_WORDS[want.state].lower()
    return f"{words} ({want.who})" if want.who else words
