"""Is it worth starting: six gates, each answered yes, no or not known by what is recorded, and by its owner's word.

A gate says how far things are known. It never says that a part will hold, that a registration will succeed, or that
anybody should begin.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from survey.build_order.blocks import Block
from survey.build_order.lacks import TO_LOOK
from survey.model.gates import GateAnswer
from survey.model.machine import Number
from survey.model.parts import GradedPart
from survey.model.schedule import Component
from survey.model.wants import Want
from survey.money.costs import Money
from survey.schedule.gaps import Position
from survey.wants.want_lines import is_replaced
from survey.words import GAP_WORDS, OUTCOME_WORDS, capital

GateBy = Literal["papers", "examined", "sound", "blockers", "cost", "word"]
Finding = Literal["yes", "no", "not-known"]
Outcome = Literal["yes", "no", "not-known", "no-matter"]

GATE_OUTCOMES: Mapping[Outcome, str] = {
    "yes": "Yes", "no": "No", "not-known": "Not known", "no-matter": "No matter, says its owner",
}  # fmt: skip

_NAMED = 4

_RETURNED = "back from a trade, not looked over"

_SOUGHT = ("missing", "wrong", "short")


@dataclass(frozen=True, slots=True)
class GateKind:
    """What a gate asks.

    ``by``: which answer of the survey's belongs to it. ``strict``: its owner's yes does not make up for what is not
    recorded. ``classes``, ``components``: the positions it looks at. ``step``: a step of the dry build that must be
    said to be done. ``settle``: what would settle it.
    """

    id: str
    label: str
    asks: str
    by: GateBy
    strict: bool
    classes: tuple[str, ...]
    components: tuple[str, ...]
    step: str
    settle: str
    caution: str
    source: str

    def looks_at(self, component: Component) -> bool:
        """Whether the gate looks at a position."""
        return component.part_class in self.classes or component.id in self.components


@dataclass(frozen=True, slots=True)
class Answer:
    """What the survey itself says to a gate, and why."""

    says: Finding
    why: str


@dataclass(frozen=True, slots=True)
class Gate:
    """A gate with the survey's answer and its owner's word."""

    kind: GateKind
    found: Answer
    said: GateAnswer | None = None

    @property
    def outcome(self) -> Outcome:
        """How it stands. A no of the survey's is not turned by its owner's yes; a doubt of its owner's counts."""
        if self.said is None:
            return self.found.says
        if self.said.said != "yes":
            return self.said.said
        if self.found.says == "not-known" and not self.kind.strict:
            return "yes"
        return self.found.says

    @property
    def passed(self) -> bool:
        """Whether it stands at yes, or at its owner's no matter."""
        return self.outcome in ("yes", "no-matter")

    @property
    def on_a_word(self) -> bool:
        """Whether it stands as it does by its owner's word and not by what is recorded."""
        return self.said is not None and self.outcome == self.said.said and self.outcome != self.found.says

    @property
    def settle(self) -> str:
        """What would settle it; empty where it is known."""
        return self.kind.settle if self.outcome == "not-known" else ""


@dataclass(frozen=True, slots=True)
class GateFacts:
    """What the gates are answered from. ``unexamined``: safety parts that are back and not looked over since."""

    standings: Sequence[Position] = ()
    parts: Sequence[GradedPart] = ()
    numbers: Sequence[Number] = ()
    done: frozenset[str] = frozenset()
    blocks: Sequence[Block] = ()
    wants: Sequence[Want] = ()
    money: Money = field(default=Money(()))
    unexamined: Collection[int] = ()


def answer_gates(kinds: Iterable[GateKind], ground: GateFacts, said: Iterable[GateAnswer]) -> tuple[Gate, ...]:
    """Every gate with its answer.

    Args:
        kinds: the gates in their order. ground: what is recorded. said: the owner's word on any of them.
    """
    words = {one.gate: one for one in said}
    return tuple(Gate(kind, _ANSWERS[kind.by](kind, ground), words.get(kind.id)) for kind in kinds)


def describe_gates(found: Sequence[Gate]) -> str:
    """How many of them, in a sentence: ``2 of 6 gates: 1 yes, 1 no matter. 1 no, 3 not known.``"""
    count = {outcome: sum(gate.outcome == outcome for gate in found) for outcome in GATE_OUTCOMES}
    words: dict[Outcome, str] = {"yes": "yes", "no-matter": "no matter", "no": "no", "not-known": "not known"}

    def told(outcomes: Iterable[Outcome]) -> str:
        return ", ".join(f"{count[one]} {words[one]}" for one in outcomes if count[one])

    through, rest = told(("yes", "no-matter")), told(("no", "not-known"))
    passed = f"{sum(gate.passed for gate in found)} of {len(found)} gates"
    return f"{passed}{f': {through}' if through else ''}.{f' {capital(rest)}.' if rest else ''}"


def _papers(kind: GateKind, ground: GateFacts) -> Answer:
    if not ground.numbers:
        return Answer("not-known", "No stamped number is written down yet.")
    looked = _looked_over(kind, ground)
    numbers = f"{len(ground.numbers)} {'number is' if len(ground.numbers) == 1 else 'numbers are'} written down."
    return Answer(looked.says, f"{looked.why} {numbers}")


def _examined(kind: GateKind, ground: GateFacts) -> Answer:
    looked = _looked_over(kind, ground)
    if looked.says == "yes" and kind.step not in ground.done:
        return Answer("not-known", "None of them owes a look, and no crack test on bare metal is recorded.")
    return looked


def _sound(kind: GateKind, ground: GateFacts) -> Answer:
    lost = _lost(kind, ground)
    return Answer("no", lost) if lost else _looked_over(kind, ground)


def _lost(kind: GateKind, ground: GateFacts) -> str:
    """What is to be replaced of it, in a sentence."""
    labels = [_label(one) for one in _answering(kind, ground) if is_replaced(one)]
    return f"To be replaced: {_named(labels)}." if labels else ""


def _looked_over(kind: GateKind, ground: GateFacts) -> Answer:
    """Yes where all that it looks at is here and owes no look, reading or examination."""
    mine = [one for one in ground.standings if kind.looks_at(one.component) and one.state != "not-fitted"]
    gone = [one for one in mine if one.state in _SOUGHT]
    unsought = [one.component.label for one in mine if one.state not in (*_SOUGHT, "here")]
    owing = [
        f"{_label(one)} ({OUTCOME_WORDS[one.verdict.outcome].lower() if _owes(one) else _RETURNED})"
        for one in _answering(kind, ground)
        if _owes(one) or (one.part.id in ground.unexamined and not is_replaced(one))
    ]
    told = (
        f"Not here as it should be: {_named(f'{one.component.label} ({_gone(one)})' for one in gone)}." if gone else "",
        f"Owed: {_named(owing)}." if owing else "",
        f"Nobody has looked for, or into: {_named(unsought)}." if unsought else "",
    )
    if any(told):
        return Answer("no" if gone else "not-known", " ".join(filter(None, told)))
    if not mine:
        return Answer("not-known", "The schedule has no such position.")
    here = f"Here and looked over: {_named(one.component.label for one in mine)}."
    return Answer("yes", " ".join(filter(None, (here, _lost(kind, ground)))))


def _blockers(kind: GateKind, ground: GateFacts) -> Answer:
    scarce: dict[str, str] = {
        one.component: "had" if one.state in ("bought", "here") else one.scarcity
        for one in ground.wants
        if one.component
    }
    known = [one.lack.component for one in ground.blocks if one.lack.state not in (*TO_LOOK, "examine-first", "away")]
    nowhere = [one.label for one in known if scarce.get(one.id) == "nobody"]
    if nowhere:
        return Answer("no", f"Nobody has it, and steps wait for it: {_named(nowhere)}.")
    unsaid = [one.label for one in known if not scarce.get(one.id)]
    unsought = [one.lack.component.label for one in ground.blocks if one.lack.state in TO_LOOK]
    if unsaid or unsought:
        told = [f"Nobody has said how scarce: {_named(unsaid)}." if unsaid else ""]
        told += [f"Not looked for, or not seen: {_named(unsought)}." if unsought else ""]
        return Answer("not-known", " ".join(filter(None, told)))
    return Answer("yes", "Everything that is known to hold a step up can be had, by what was said of the wants.")


def _cost(kind: GateKind, ground: GateFacts) -> Answer:
    money = ground.money
    if not money.lines or money.heap is None:
        return Answer("not-known", "Nobody has written down what the heap itself cost.")
    if money.at_least:
        return Answer(
            "not-known",
            " ".join(filter(None, (
                f"No price: {_named(line.what for line in money.unpriced)}." if money.unpriced else "",
                f"No high figure: {_named(line.what for line in money.open_ended)}." if money.open_ended else "",
            ))),
        )  # fmt: skip
    return Answer("yes", f"Every line has its figures: {len(money.lines)} of them.")


def _word(kind: GateKind, ground: GateFacts) -> Answer:
    return Answer("not-known", "Only its owner knows.")


_ANSWERS: Mapping[GateBy, Callable[[GateKind, GateFacts], Answer]] = {
    "papers": _papers, "examined": _examined, "sound": _sound, "blockers": _blockers, "cost": _cost, "word": _word,
}  # fmt: skip


def _answering(kind: GateKind, ground: GateFacts) -> list[GradedPart]:
    return [one for one in ground.parts if one.component is not None and kind.looks_at(one.component)]


def _gone(one: Position) -> str:
    words = {"missing": GAP_WORDS["missing"], "wrong": GAP_WORDS["wrong"], "short": GAP_WORDS["short"]}
    return words[one.state].lower()


def _owes(one: GradedPart) -> bool:
    """Whether it owes a look, a reading or an examination; what its owner has thrown out owes none."""
    return one.verdict.waiting is not None and not is_replaced(one)


def _label(one: GradedPart) -> str:
    return one.part.label or (one.component.label if one.component else "")


def _named(labels: Iterable[str]) -> str:
    every = list(dict.fromkeys(labels))
    more = len(every) - _NAMED
    return ", ".join(every[:_NAMED]) + (f" and {more} more" if more > 0 else "")
