"""The facts of a part that the verdict is made from, and their closed words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from survey.model.grading import HARDEST_FIRST, Outcome, Seen
from survey.model.schedule import Duty

Measured = Literal["none", "inside", "over", "no-limit"]

# The state of the readings that answer a finding: not all taken / all inside a limit that may be relied on /
# at least one beyond its limit / all taken, but at least one without such a limit.
MEASURED: tuple[Measured, ...] = ("none", "inside", "over", "no-limit")

# What is recorded of a part: nothing / only what was not seen / only its finish or the dirt on it / the part itself.
FOUND: tuple[str, ...] = ("nothing", "unseen", "finish", "substance")

# The class and material of a part without a component.
UNKNOWN = "unknown"

# What a finding of a thing that is not there (missing) is about: it cannot be looked at.
ABSENCE = "absence"

HARDNESS: dict[str, int] = {outcome: len(HARDEST_FIRST) - n for n, outcome in enumerate(HARDEST_FIRST)}
"""How hard an outcome is: the greater the harder; replace is the hardest, reuse 1."""


@dataclass(frozen=True, slots=True)
class PartFacts:
    """The recorded facts of one part.

    ``component``: the catalogue or schedule id, None while it is not known what the part is; then ``duty``,
    ``part_class`` and ``material`` do not count: an unknown part is treated as a safety part.
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
        """A cache key; parts with the same key have the same verdict."""
        identity = (self.component, self.duty, self.part_class, self.material)
        return (*identity, self.findings, self.looks, tuple(sorted(self.readings.items())))


def harder(one: Outcome, other: Outcome) -> Outcome:
    """The harder of two outcomes, per survey.model.grading.HARDEST_FIRST."""
    return one if HARDNESS[one] >= HARDNESS[other] else other
