"""Is it worth starting: six gates, each answered yes, no or not known by what is recorded, and by its owner's word.

A gate says how far things are known. It never says that a part will hold, that a registration will succeed, or that
anybody should begin.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from survey.build_order.blocks import Block
from survey.build_order.lacks import STATES_TO_LOOK_FOR
from survey.model.gates import GateAnswer
from survey.model.machine import Number
from survey.model.parts import GradedPart
from survey.model.schedule import Component
from survey.model.wants import Want
from survey.money.costs import Money
from survey.schedule.gaps import Position
from survey.wants.want_lines import needs_replacing
from survey.words import GAP_WORDS, OUTCOME_WORDS, capitalize

GateBy = Literal["papers", "examined", "sound", "blockers", "cost", "word"]
Finding = Literal["yes", "no", "not-known"]
Outcome = Literal["yes", "no", "not-known", "no-matter"]

GATE_OUTCOMES: Mapping[Outcome, str] = {
    "yes": "Yes", "no": "No", "not-known": "Not known", "no-matter": "No matter, says its owner",
}  # fmt: skip

_LABELS_AT_MOST = 4
_RETURNED = "back from a trade, not looked over"
_SOUGHT = ("missing", "wrong", "short")


@dataclass(frozen=True, slots=True)
class GateKind:
    """What a gate asks.

    ``by``: which answer of the survey's belongs to it. ``strict``: its owner's yes does not make up for what is not
    recorded. ``classes``, ``components``: the positions it looks at. ``step``: a step of the dry build that must be
    recorded as done. ``settle``: what would settle it.
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
    """The survey's own answer to a gate, and why."""

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
        """The answer. The owner's yes does not turn the survey's no; the owner's doubt counts."""
        if self.said is None:
            return self.found.says
        if self.said.said != "yes":
            return self.said.said
        if self.found.says == "not-known" and not self.kind.strict:
            return "yes"
        return self.found.says

    @property
    def passed(self) -> bool:
        """Whether the answer is yes, or the owner's no matter."""
        return self.outcome in ("yes", "no-matter")

    @property
    def on_a_word(self) -> bool:
        """Whether the answer is the owner's word and not what is recorded."""
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


def answer_gates(kinds: Iterable[GateKind], facts: GateFacts, answers: Iterable[GateAnswer]) -> tuple[Gate, ...]:
    """Every gate with its answer.

    Args:
        kinds: the gates in their order. facts: what is recorded. answers: the owner's word on any of them.
    """
    owner_answers = {owner_answer.gate: owner_answer for owner_answer in answers}
    return tuple(Gate(kind, _ANSWER_FUNCTIONS[kind.by](kind, facts), owner_answers.get(kind.id)) for kind in kinds)


def describe_gates(gates: Sequence[Gate]) -> str:
    """How many of them, in a sentence: ``2 of 6 gates: 1 yes, 1 no matter. 1 no, 3 not known.``"""
    count = {outcome: sum(gate.outcome == outcome for gate in gates) for outcome in GATE_OUTCOMES}
    words: dict[Outcome, str] = {"yes": "yes", "no-matter": "no matter", "no": "no", "not-known": "not known"}

    def describe_outcomes(outcomes: Iterable[Outcome]) -> str:
        return ", ".join(f"{count[outcome]} {words[outcome]}" for outcome in outcomes if count[outcome])

    passing, rest = describe_outcomes(("yes", "no-matter")), describe_outcomes(("no", "not-known"))
    passed = f"{sum(gate.passed for gate in gates)} of {len(gates)} gates"
    return f"{passed}{f': {passing}' if passing else ''}.{f' {capitalize(rest)}.' if rest else ''}"


def _answer_papers(kind: GateKind, facts: GateFacts) -> Answer:
    if not facts.numbers:
        return Answer("not-known", "No stamped number is written down yet.")
    answer = _answer_looked_over(kind, facts)
    numbers = f"{len(facts.numbers)} {'number is' if len(facts.numbers) == 1 else 'numbers are'} written down."
    return Answer(answer.says, f"{answer.why} {numbers}")


def _answer_examined(kind: GateKind, facts: GateFacts) -> Answer:
    answer = _answer_looked_over(kind, facts)
    if answer.says == "yes" and kind.step not in facts.done:
        return Answer("not-known", "None of them owes a look, and no crack test on bare metal is recorded.")
    return answer


def _answer_sound(kind: GateKind, facts: GateFacts) -> Answer:
    lost = _describe_replaced(kind, facts)
    return Answer("no", lost) if lost else _answer_looked_over(kind, facts)


def _describe_replaced(kind: GateKind, facts: GateFacts) -> str:
    """What is to be replaced of it, in a sentence."""
    labels = [_get_label(part) for part in _list_parts(kind, facts) if needs_replacing(part)]
    return f"To be replaced: {_join_labels(labels)}." if labels else ""


def _answer_looked_over(kind: GateKind, facts: GateFacts) -> Answer:
    """Yes where every position it looks at is here and owes no look, reading or examination."""
    positions = [
        position for position in facts.standings if kind.looks_at(position.component) and position.state != "not-fitted"
    ]
    absent = [position for position in positions if position.state in _SOUGHT]
    unsought = [position.component.label for position in positions if position.state not in (*_SOUGHT, "here")]
    owed = [
        f"{_get_label(part)} ({OUTCOME_WORDS[part.verdict.outcome].lower() if _owes_look(part) else _RETURNED})"
        for part in _list_parts(kind, facts)
        if _owes_look(part) or (part.part.id in facts.unexamined and not needs_replacing(part))
    ]
    sentences = (
        f"Not here as it should be: {_join_labels(map(_describe_absence, absent))}." if absent else "",
        f"Owed: {_join_labels(owed)}." if owed else "",
        f"Nobody has looked for, or into: {_join_labels(unsought)}." if unsought else "",
    )
    if any(sentences):
        return Answer("no" if absent else "not-known", " ".join(filter(None, sentences)))
    if not positions:
        return Answer("not-known", "The schedule has no such position.")
    summary = f"Here and looked over: {_join_labels(position.component.label for position in positions)}."
    return Answer("yes", " ".join(filter(None, (summary, _describe_replaced(kind, facts)))))


def _answer_blockers(kind: GateKind, facts: GateFacts) -> Answer:
    scarce: dict[str, str] = {
        want.component: "had" if want.state in ("bought", "here") else want.scarcity
        for want in facts.wants
        if want.component
    }
    lacking = [
        block.lack.component
        for block in facts.blocks
        if block.lack.state not in (*STATES_TO_LOOK_FOR, "examine-first", "away")
    ]
    unobtainable = [component.label for component in lacking if scarce.get(component.id) == "nobody"]
    if unobtainable:
        return Answer("no", f"Nobody has it, and steps wait for it: {_join_labels(unobtainable)}.")
    unrated = [component.label for component in lacking if not scarce.get(component.id)]
    unsought = [block.lack.component.label for block in facts.blocks if block.lack.state in STATES_TO_LOOK_FOR]
    if unrated or unsought:
        sentences = [f"Nobody has said how scarce: {_join_labels(unrated)}." if unrated else ""]
        sentences += [f"Not looked for, or not seen: {_join_labels(unsought)}." if unsought else ""]
        return Answer("not-known", " ".join(filter(None, sentences)))
    return Answer("yes", "Everything that is known to hold a step up can be had, by what was said of the wants.")


def _answer_cost(kind: GateKind, facts: GateFacts) -> Answer:
    money = facts.money
    if not money.lines or money.heap is None:
        return Answer("not-known", "Nobody has written down what the heap itself cost.")
    if money.at_least:
        return Answer(
            "not-known",
            " ".join(filter(None, (
                f"No price: {_join_labels(line.what for line in money.unpriced)}." if money.unpriced else "",
                f"No high figure: {_join_labels(line.what for line in money.open_ended)}." if money.open_ended else "",
            ))),
        )  # fmt: skip
    return Answer("yes", f"Every line has its figures: {len(money.lines)} of them.")


def _answer_by_owner(kind: GateKind, facts: GateFacts) -> Answer:
    return Answer("not-known", "Only its owner knows.")


_ANSWER_FUNCTIONS: Mapping[GateBy, Callable[[GateKind, GateFacts], Answer]] = {
    "papers": _answer_papers,
    "examined": _answer_examined,
    "sound": _answer_sound,
    "blockers": _answer_blockers,
    "cost": _answer_cost,
    "word": _answer_by_owner,
}


def _list_parts(kind: GateKind, facts: GateFacts) -> list[GradedPart]:
    return [part for part in facts.parts if part.component is not None and kind.looks_at(part.component)]


def _describe_absence(position: Position) -> str:
    words = {"missing": GAP_WORDS["missing"], "wrong": GAP_WORDS["wrong"], "short": GAP_WORDS["short"]}
    return f"{position.component.label} ({words[position.state].lower()})"


def _owes_look(part: GradedPart) -> bool:
    """Whether it owes a look, a reading or an examination; what its owner has thrown out owes none."""
    return part.verdict.waiting is not None and not needs_replacing(part)


def _get_label(part: GradedPart) -> str:
    return part.part.label or (part.component.label if part.component else "")


def _join_labels(labels: Iterable[str]) -> str:
    all_labels = list(dict.fromkeys(labels))
    more = len(all_labels) - _LABELS_AT_MOST
    return ", ".join(all_labels[:_LABELS_AT_MOST]) + (f" and {more} more" if more > 0 else "")
