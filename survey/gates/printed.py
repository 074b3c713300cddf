"""The six gates as a section of the report. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from survey.document.sheet import Line, Section, Table
from survey.gates.answers import GATE_OUTCOMES, Gate, describe_gates


def gates_section(gates: Sequence[Gate]) -> Section:
    """The six gates: how each stands, why, and what would settle it."""
    rows = tuple((gate.kind.label, GATE_OUTCOMES[gate.outcome], _why(gate)) for gate in gates)
    head = Line(describe_gates(gates) + " A gate says how far things are known, never that a part will hold.")
    return Section("gates", "Worth starting?", (head, Table(("Gate", "Stands", "Why"), rows, (4, 2, 8))))


def _why(gate: Gate) -> str:
    said = f"Its owner says {gate.said.said.replace('-', ' ')}: {gate.said.reason}" if gate.said else ""
    settle = f"To settle it: {gate.settle}" if gate.settle else ""
    told = (gate.found.why, said, settle, gate.kind.caution)
    return " ".join(part if part.endswith(".") else f"{part}." for part in told if part)
