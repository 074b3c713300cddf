"""The nouns: frozen records that know nothing of disk, screen or paper.

Times are naive local wall-clock text ``YYYY-MM-DDTHH:MM:SS`` unless a field says UTC.
Places on a picture are fractions 0..1 of the upright picture, x to the right and y down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from survey.model.grading import Grade, Seen, Verdict
from survey.model.photos import Mark
from survey.model.schedule import Component


@dataclass(frozen=True, slots=True)
class FindingStep:
    """One of the four steps of a finding: a short name and what a person sees or measures."""

    step: int
    name: str
    looks_like: str


@dataclass(frozen=True, slots=True)
class FindingKind:
    """A defect a part can have.

    ``speaks_of``: ``substance`` (the part itself), ``finish`` or ``dirt`` (what lies on it).
    """

    id: str
    label: str
    group: str
    speaks_of: Literal["substance", "finish", "dirt"]
    steps: tuple[FindingStep, FindingStep, FindingStep, FindingStep]
    met_on: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """One physical thing found; ``component`` None while unknown. ``quantity``: how many are in hand (33 spokes).

    ``inside``: the part it sits in, where the owner recorded it. ``material``: the owner's own word when it differs
    from the schedule's.
    """

    id: int
    component: str | None
    label: str
    quantity: int = 1
    inside: int | None = None
    material: str | None = None
    box: str = ""
    note: str = ""
    photos: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """A defect of a part as the surveyor recorded it. ``at``: UTC time of recording; ``by``: who."""

    id: int
    part: int
    kind: str
    step: int
    seen: Seen
    note: str = ""
    by: str = ""
    at: str = ""
    photos: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """The part was looked over and nothing wrong was seen, in that manner."""

    id: int
    part: int
    seen: Seen
    note: str = ""
    by: str = ""
    at: str = ""
    photos: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value. ``written`` as the owner wrote it; ``value`` in the reading's own unit (see readings data)."""

    id: int
    part: int
    name: str
    value: float
    unit: str
    written: str
    tool: str = ""
    uncertainty: float | None = None
    by: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class OwnGrade:
    """The owner's own grade with a reason; shown beside the ruling, never instead of it."""

    part: int
    grade: Grade
    reason: str
    by: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class GradedPart:
    """A part with everything the pages and papers show of it. ``component`` None while the part is unknown."""

    part: Part
    component: Component | None
    verdict: Verdict
    own_grade: OwnGrade | None = None
    findings: tuple[Finding, ...] = ()
    looks: tuple[Look, ...] = ()
    readings: tuple[Reading, ...] = ()
    marks: tuple[Mark, ...] = ()
