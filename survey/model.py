"""The nouns: frozen records that know nothing of disk, screen or paper.

Times are naive local wall-clock text ``YYYY-MM-DDTHH:MM:SS`` unless a field says UTC.
Places on a picture are fractions 0..1 of the upright picture, x to the right and y down.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Duty = Literal["safety", "running", "cosmetic", "paperwork"]
Grade = Literal["reuse", "repair", "replace"]
Waiting = Literal["examine-first", "take-a-reading", "not-looked-at"]
Outcome = Literal["reuse", "repair", "replace", "examine-first", "take-a-reading", "not-looked-at"]
Seen = Literal["bare", "paint", "unseen"]
Sure = Literal["stated", "common practice", "judgement"]
GapState = Literal["missing", "wrong", "short", "unseen", "not-looked"]
PositionState = Literal["missing", "wrong", "unseen", "not-fitted", "not-looked"]
PhotoState = Literal["waiting", "placed", "aside"]
Shape = Literal["pin", "box", "outline"]
Paper = Literal["a4", "letter"]

DUTIES: tuple[Duty, ...] = ("safety", "running", "cosmetic", "paperwork")
GRADES: tuple[Grade, ...] = ("reuse", "repair", "replace")
WAITINGS: tuple[Waiting, ...] = ("examine-first", "take-a-reading", "not-looked-at")
SEEN: tuple[Seen, ...] = ("bare", "paint", "unseen")
STEPS: tuple[int, ...] = (1, 2, 3, 4)
SHAPES: tuple[Shape, ...] = ("pin", "box", "outline")
PAPERS: tuple[Paper, ...] = ("a4", "letter")
POSITION_STATES: tuple[PositionState, ...] = ("missing", "wrong", "unseen", "not-fitted", "not-looked")

# Hardest first: a part's outcome is its hardest ruling's. "not-looked-at" stands just above reuse:
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
class Component:
    """One position of a catalogue or of a survey's schedule.

    ``inside`` is the id of the component it sits in. ``quantity`` is how many a complete machine has.
    ``part_class`` and ``material`` are words of the closed vocabularies in survey/data.
    ``other_materials``: families it may also be met in. ``names``: what else restorers call it.
    ``likely``: finding kinds this component usually suffers, likeliest first.
    ``everywhere``: False when not every machine of the kind carried it. ``own``: added by the owner.
    """

    id: str
    label: str
    assembly: str
    inside: str | None
    quantity: int
    duty: Duty
    part_class: str
    material: str
    other_materials: tuple[str, ...] = ()
    finish: str = ""
    names: tuple[str, ...] = ()
    often_missing: bool = False
    faults: tuple[str, ...] = ()
    likely: tuple[str, ...] = ()
    sizes: tuple[str, ...] = ()
    everywhere: bool = True
    own: bool = False


@dataclass(frozen=True, slots=True)
class Catalogue:
    """What a complete machine of a kind has. ``extras``: components some of them carried, not on a new schedule."""

    kind: str
    title: str
    components: tuple[Component, ...]
    extras: tuple[Component, ...] = ()


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
class Number:
    """A stamped, cast or written number exactly as read, and where it is."""

    id: int
    place: str
    text: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Machine:
    """What the survey is of. ``surveyor``: who looks. ``currency``: of every price of the survey (ISO 4217)."""

    name: str
    kind: str
    maker: str = ""
    model: str = ""
    year: str = ""
    engine: str = ""
    bought: str = ""
    surveyor: str = ""
    note: str = ""
    numbers: tuple[Number, ...] = ()
    currency: str = "GBP"


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A picture that was taken in, by its file alone. width and height in pixels of the upright picture.

    ``format``: jpeg, mpo, heif, avif, png, webp or tiff. ``path``: the original, relative to the survey folder, with
    forward slashes. ``taken``: local time or None; ``taken_from``: ``original``, ``digitized``, ``file`` or None;
    ``offset``: ``+HH:MM`` or None.
    """

    sha256: str
    name: str
    format: str
    width: int
    height: int
    bytes: int
    path: str
    taken: str | None
    taken_from: str | None
    offset: str | None
    make: str
    model: str
    has_position: bool


@dataclass(frozen=True, slots=True)
class Photo(PhotoFile):
    """A picture of the survey, with what its owner said of it."""

    id: int
    state: PhotoState
    note: str = ""
    box: str = ""
    parts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Part:
    """One physical thing found; ``component`` None while unknown. ``quantity``: how many are in hand (33 spokes).

    ``inside``: the part it sits in, where the owner said so. ``material``: the owner's own word when it differs
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
class Mark:
    """A pin (1 point), box (2 corners) or outline (3 or more points) on a photo."""

    id: int
    photo: int
    part: int | None
    finding: int | None
    shape: Shape
    points: tuple[tuple[float, float], ...]


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
    """The owner's own grade with a reason; stands beside the ruling, never instead of it."""

    part: int
    grade: Grade
    reason: str
    by: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class PositionNote:
    """What the owner said of a position of the schedule that no part answers to."""

    component: str
    state: PositionState
    note: str = ""


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


@dataclass(frozen=True, slots=True)
class Gap:
    """A position of the schedule that is not filled.

    ``inside_present``: what should hold it is here. ``through``: the holder whose own state implies this one.
    """

    component: Component
    state: GapState
    found: int
    note: str = ""
    inside_present: bool = False
    through: str | None = None


@dataclass(frozen=True, slots=True)
class Event:
    """One change, kept for ever. before/after are JSON objects or None; ``batch`` groups what one act changed.

    ``turns``: the batch of the act that this one takes back or does again, or None.
    """

    id: int
    at: str
    batch: str
    by: str
    verb: str
    entity: str
    entity_id: str
    before: dict[str, object] | None = None
    after: dict[str, object] | None = None
    turns: str | None = None


@dataclass(frozen=True, slots=True)
class Act:
    """What a person did at one go, in words. ``batch`` names it; ``at``: UTC time."""

    batch: str
    at: str
    by: str
    verb: str
    words: str


@dataclass(frozen=True, slots=True)
class Refused:
    """A file that was not taken in: stable ``reason`` slug and a sentence."""

    path: str
    reason: str
    message: str


@dataclass(frozen=True, slots=True)
class Taken:
    """A file that is in the survey (newly or already): its photo id, the path it came from, its hash."""

    photo: int
    path: str
    sha256: str


@dataclass(frozen=True, slots=True)
class IntakeResult:
    """How every file of one intake ended. ``warned`` files are in ``added`` or ``already`` too."""

    added: tuple[Taken, ...] = ()
    already: tuple[Taken, ...] = ()
    refused: tuple[Refused, ...] = ()
    warned: tuple[Refused, ...] = field(default=())
