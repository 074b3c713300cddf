"""The owner's own answers to the gates before a start."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

GateWord = Literal["yes", "no", "no-matter"]

GATE_WORDS: tuple[GateWord, ...] = ("yes", "no", "no-matter")


@dataclass(frozen=True, slots=True)
class GateAnswer:
    """The owner's word on a gate, with a reason. ``at``: UTC time; ``by``: who."""

    gate: str
    said: GateWord
    reason: str
    by: str = ""
    at: str = ""
