"""The six gates as a section of the report. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from survey.document.sheet import Line, Section, Table
from survey.gates.answers import GATE_OUTCOMES, Gate, describe_gates


def make_gates_section(gates: Sequence[Gate]) -> Section:
    """The six gates: the answer to each, why, and what would settle it."""
    rows = tuple((gate.kind.label, GATE_OUTCOMES[gate.outcome], _make_reason(gate)) for gate in gates)
    head = Line(describe_gates(gates) + " A gate says how far things are known, never that a part will hold.")
    return Section("gates", "Worth starting?", (head, Table(("Gate", "Stands", "Why"), rows, (4, 2, 8))))


def _make_reason(gate: Gate) -> str:
    owner_words = f"Its owner says {gate.said.said.replace('-', ' ')}: {gate.said.reason}" if gate.said else ""
    settle = f"To settle it: {gate.settle}" if gate.settle else ""
    sentences = (gate.found.why, owner_words, settle, gate.kind.caution)
    return " ".join(sentence if sentence.endswith(".") else f"{sentence}." for sentence in sentences if sentence)
