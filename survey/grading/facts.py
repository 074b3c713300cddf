"""What the verdict is told of a part, and the closed words it is told in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from survey.model.grading import HARDEST_FIRST, Outcome, Seen
from survey.model.schedule import Duty

Measured = Literal["none", "inside", "over", "no-limit"]

# The state of the readings that answer a finding: not all taken / all inside a limit one may lean on /
# at least one beyond its limit / all taken, but for at least one nothing to hold it against.
MEASURED: tuple[Measured, ...] = ("none", "inside", "over", "no-limit")

# What has been recorded of a part: nothing / only what nobody has seen / only its finish or the dirt on it / the part.
FOUND: tuple[str, ...] = ("nothing", "unseen", "finish", "substance")

# The class and material of a part nobody has put a name to.
UNKNOWN = "unknown"

# A finding of a thing that is not there (missing) cannot be looked at: it speaks of absence.
ABSENCE = "absence"

HARDNESS: dict[str, int] = {outcome: len(HARDEST_FIRST) - n for n, outcome in enumerate(HARDEST_FIRST)}
"""How hard an outcome is: the greater the harder; replace is the hardest, reuse 1."""


@dataclass(frozen=True, slots=True)
class PartFacts:
    """What is known of one part.

    ``component``: the catalogue or schedule id, None while nobody knows what the part is; then ``duty``,
    ``part_class`` and ``material`` do not count: an unknown part is a safety part until it is known.
    ``findings``: (kind, step 1-4, how it was seen). ``looks``: how it was seen when nothing wrong was found.
    ``readings``: reading id -> value in that reading's own unit.
    """

    component: str | None
    duty: Duty
    part_class: str
    material: str
    findings: tuple[tuple[str, int, Seen], ...] = ()
    looks: tuple[Seen, ...] = ()
    readings: Mapping[str, float] = field(default_factory=dict)

    @property
    def key(self) -> tuple[object, ...]:
        """What tells these facts from others; parts with the same key have the same verdict."""
        named = (self.component, self.duty, self.part_class, self.material)
        return (*named, self.findings, self.looks, tuple(sorted(self.readings.items())))


def harder(one: Outcome, other: Outcome) -> Outcome:
    """The harder of two outcomes, per survey.model.grading.HARDEST_FIRST."""
    return one if HARDNESS[one] >= HARDNESS[other] else other
