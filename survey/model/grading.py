"""Grades: what the rules can answer, rulings and the verdict they give."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grade = Literal["reuse", "repair", "replace"]
Waiting = Literal["examine-first", "take-a-reading", "not-looked-at"]
Outcome = Literal["reuse", "repair", "replace", "examine-first", "take-a-reading", "not-looked-at"]
Seen = Literal["bare", "paint", "unseen"]
Sure = Literal["stated", "common practice", "judgement"]

GRADES: tuple[Grade, ...] = ("reuse", "repair", "replace")

WAITINGS: tuple[Waiting, ...] = ("examine-first", "take-a-reading", "not-looked-at")

SEEN: tuple[Seen, ...] = ("bare", "paint", "unseen")

STEPS: tuple[int, ...] = (1, 2, 3, 4)

# Hardest first: a part's outcome is its hardest ruling's. "not-looked-at" ranks just above reuse:
# a repair that is known is known, but a part nobody looked at is never fit.
HARDEST_FIRST: tuple[Outcome, ...] = (
    "replace",
    "examine-first",
    "repair",
    "take-a-reading",
    "not-looked-at",
    "reuse",
)


@dataclass(frozen=True, slots=True)
class Ruling:
    """One rule row that fired: where it leads and why. ``finding``: (kind, step, seen) that fired it, or None."""

    rule: str
    outcome: Outcome
    because: str
    remedy: str
    caution: str
    source: str
    sure: Sure
    disputed: bool
    argument: str = ""
    trade: str = ""
    finding: tuple[str, int, Seen] | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """A part's grade, or what is owed before it can have one; rulings hardest first. Exactly one of the two is set."""

    grade: Grade | None
    waiting: Waiting | None
    rulings: tuple[Ruling, ...] = ()

    @property
    def outcome(self) -> Outcome:
        """The grade, or what it waits for."""
        return self.grade or self.waiting or "not-looked-at"
