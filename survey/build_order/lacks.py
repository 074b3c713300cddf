"""What a step of the build would wait for: positions not filled, and parts here that are of no use to it yet."""

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
TO_LOOK: tuple[LackState, ...] = ("unseen", "not-looked")
"""Nobody knows whether these lack: they are looked for before anything is got."""

AWAY = ("with ", "lent ", "in the post")
"""A part whose place begins so is away (judgement: the place is written by its owner)."""


@dataclass(frozen=True, slots=True)
class Lack:
    """A component that holds steps up: how it stands, and where it is or how far another has got."""

    component: Component
    state: LackState
    where: str = ""

    @property
    def words(self) -> str:
        """The state in words: ``away: with the plater``."""
        return f"{LACK_WORDS[self.state]}: {self.where}" if self.where else LACK_WORDS[self.state]


def find_lacks(
    standings: Iterable[Position],
    parts: Iterable[GradedPart],
    wants: Iterable[Want] = (),
    out: Mapping[int, Away] | None = None,
    unexamined: Mapping[int, str] | None = None,
) -> dict[str, Lack]:
    """By component id, what is not in hand for a dry build, in the schedule's order.

    A position that is filled lacks all the same when too few of its parts are of use: those to be replaced and those
    that are away do not count. A part that a specialist must see first may be tried dry, under no load; steps that
    need it examined wait for it. A part that still owes a reading or a look is in hand (judgement). What goes with a
    holder that lacks is got with it: the holder stands for it. What was asked for, promised or bought and has not
    come lacks as before; it only says so.

    Args:
        out: by part number, how many of it are with a trade, and where.
        unexamined: safety parts that are back from a trade and that nobody has looked over since, with that in words.
    """
    sent = _Sent(out or {}, unexamined or {})
    answering: defaultdict[str, list[GradedPart]] = defaultdict(list)
    for one in parts:
        if one.component is not None:
            answering[one.component.id].append(one)
    coming = {want.component: _coming(want) for want in wants if want.state in UNDER_WAY}
    found: dict[str, Lack] = {}
    along: dict[str, str] = {}
    for standing in standings:
        lack = _lack(standing, answering[standing.component.id], sent)
        if lack is not None:
            another = "" if lack.state in ("away", "examine-first") else coming.get(lack.component.id, "")
            found[standing.component.id] = replace(lack, where=another) if another else lack
            if standing.through is not None:
                along[standing.component.id] = standing.through
    return {name: found.get(along.get(name, name), lack) for name, lack in found.items()}


@dataclass(frozen=True, slots=True)
class _Sent:
    """What is known of parts that went to a trade: those that are out, and those back but not looked over since."""

    out: Mapping[int, Away]
    unexamined: Mapping[int, str]


def _lack(standing: Position, parts: Iterable[GradedPart], sent: _Sent) -> Lack | None:
    component = standing.component
    match standing.state:
        case "not-fitted":
            return None
        case "missing" | "wrong" | "short" | "unseen" | "not-looked":
            return Lack(component, standing.state)
    of_use: Counter[LackState | None] = Counter()
    where: dict[LackState | None, str] = {}
    for one in parts:
        for state, count, words in _no_use(one, sent):
            of_use[state] += count
            where.setdefault(state, words)
    if of_use[None] >= component.quantity:
        return None
    if of_use[None] + of_use["examine-first"] >= component.quantity:
        return Lack(component, "examine-first", where.get("examine-first", ""))
    gone: tuple[LackState, ...] = ("away", "short")
    return next((Lack(component, state, where[state]) for state in gone if of_use[state]), Lack(component, "replace"))


def _no_use(one: GradedPart, sent: _Sent) -> Iterator[tuple[LackState | None, int, str]]:
    """How many of a part stand how, and where in words; None is of use."""
    away = sent.out.get(one.part.id)
    gone = min(away.count, one.part.quantity) if away else 0
    lost = min(away.lost, gone) if away else 0
    if away and gone:
        yield "short", lost, away.where
        yield "away", gone - lost, away.where
    here = one.part.quantity - gone
    # The owner's own grade decides what is got; it lifts no examination that is owed.
    if (one.own_grade.grade if one.own_grade else one.verdict.grade) == "replace":
        yield "replace", here, ""
    elif one.verdict.waiting == "examine-first" or one.part.id in sent.unexamined:
        yield "examine-first", here, sent.unexamined.get(one.part.id, "")
    elif one.part.box.casefold().startswith(AWAY):
        yield "away", here, one.part.box
    else:
        yield None, here, ""


def _coming(want: Want) -> str:
    words = WANT_WORDS[want.state].lower()
    return f"{words} ({want.who})" if want.who else words
