"""The whole report as frozen records, in words ready to print: what ``gather_printed`` makes and every writer reads.

A writer only lays out; it never counts, sorts or decides. Places on a picture are fractions 0..1, x to the
right and y down. Dates are ``YYYY-MM-DD``. Nothing here holds a photo's position, camera or file name.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from survey.build_order.printed import OrderLines
from survey.document.crops import FindingLine
from survey.document.picture import Picture
from survey.document.sheet import Line, Section, pictures_of
from survey.grading.cautions import Caution
from survey.model.grading import Grade, Outcome, Seen, Sure, Waiting
from survey.model.schedule import Duty, GapState
from survey.schedule.gaps import PositionCount
from survey.stuck.printed import StuckLine


@dataclass(frozen=True, slots=True)
class LookLine:
    """The part was looked over and nothing wrong was seen."""

    seen: Seen
    how_seen: str
    note: str
    by: str
    on: str


@dataclass(frozen=True, slots=True)
class RulingLine:
    """One rule that fired. ``answers``: numbers of the findings it answers; none when it speaks of the whole part.

    ``says_who``: how sure the rule is and its source, each word once.
    """

    rule: str
    outcome: Outcome
    word: str
    because: str
    remedy: str
    trade: str
    caution: str
    source: str
    sure: Sure
    disputed: bool
    argument: str
    says_who: str
    answers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A measured value as written, with tool and uncertainty in words."""

    name: str
    written: str
    tool: str
    by: str
    on: str


@dataclass(frozen=True, slots=True)
class OwnGradeLine:
    """The owner's own grade, beside the ruling."""

    grade: Grade
    word: str
    reason: str
    by: str
    on: str


@dataclass(frozen=True, slots=True)
class GapLine:
    """A position that is not filled. ``inside``: label of its holder; ``through``: of the holder that implies it."""

    component: str
    label: str
    assembly: str
    duty: Duty
    state: GapState
    word: str
    inside: str
    inside_present: bool
    through: str
    quantity: int
    found: int
    note: str


@dataclass(frozen=True, slots=True)
class PartEntry:
    """Everything recorded of one part. Exactly one of ``grade`` and ``waiting`` is set; ``word`` is it in words.

    ``label`` is short enough for a heading; ``called`` is the owner's whole name for it where that is longer.
    ``made_of``: the material in words. ``inside``: label of the part it sits in, as its owner recorded.
    ``quantity`` in hand, ``wanted`` on a complete machine (0 while the part is unknown).
    ``inside_it``: what is gone from inside it or may be, as pairs of a head and a sentence.
    ``unprinted``: how many of its photos are not printed. ``stuck``: what is seized or snapped in it.
    ``back``: where it is back from, while it is a safety part that nobody has looked over since.
    """

    id: int
    component: str | None
    label: str
    called: str
    assembly: str
    duty: Duty
    part_class: str
    material: str
    made_of: str
    box: str
    note: str
    inside: str
    quantity: int
    wanted: int
    grade: Grade | None
    waiting: Waiting | None
    outcome: Outcome
    word: str
    findings: tuple[FindingLine, ...]
    looks: tuple[LookLine, ...]
    rulings: tuple[RulingLine, ...]
    readings: tuple[ReadingLine, ...]
    own_grade: OwnGradeLine | None
    gaps_inside: tuple[GapLine, ...]
    inside_it: tuple[tuple[str, str], ...]
    pictures: tuple[Picture, ...]
    unprinted: int
    stuck: tuple[StuckLine, ...] = ()
    back: str = ""


@dataclass(frozen=True, slots=True)
class Assembly:
    """The parts here of one assembly and its gaps; how many of its positions are filled, counted and in words."""

    name: str
    tally: PositionCount
    standing: str
    parts: tuple[PartEntry, ...]
    gaps: tuple[GapLine, ...]


@dataclass(frozen=True, slots=True)
class GradeCount:
    """How many parts came out so, and how many of them are safety parts."""

    outcome: Outcome
    word: str
    parts: int
    safety: int


@dataclass(frozen=True, slots=True)
class Item:
    """A part named in the summary: ``says`` is the one thing that matters there (a test owed, a reason)."""

    part: int
    label: str
    assembly: str
    duty: Duty
    outcome: Outcome
    word: str
    says: str


@dataclass(frozen=True, slots=True)
class Summary:
    """The answers to: what have I got, what stops me, what must I find.

    ``owed``: safety parts not yet examined, with the test owed. ``hardest``: parts to replace or repair, hardest first.
    ``stopping`` and ``to_find``: gaps, safety before running before the rest; ``to_find`` leaves out whatever
    comes with a holder that is itself to be found; ``with_them``: how many positions those are.
    """

    counts: tuple[GradeCount, ...]
    parts: int
    tally: PositionCount
    own_grades: int
    owed: tuple[Item, ...]
    hardest: tuple[Item, ...]
    stopping: tuple[GapLine, ...]
    to_find: tuple[GapLine, ...]
    with_them: int


@dataclass(frozen=True, slots=True)
class NotLooked:
    """What nobody looked at, or not properly. Printed whole, whatever its length.

    ``parts``: parts nobody has looked at. ``through_coat``: findings and looks through paint or dirt;
    ``told``: findings nobody saw. ``positions``: never looked for; ``unseen``: inside something unopened.
    ``not_fitted``: positions the owner says this machine never had. ``photos_waiting``: photos not yet placed.
    """

    parts: tuple[Item, ...]
    through_coat: tuple[Item, ...]
    told: tuple[Item, ...]
    positions: tuple[GapLine, ...]
    unseen: tuple[GapLine, ...]
    not_fitted: tuple[str, ...]
    photos_waiting: int
    photos_aside: int

    @property
    def nothing(self) -> str:
        """The kinds of which there are none, in one sentence; empty when there are some of each."""
        lists = (
            (any(part.duty != "safety" for part in self.parts), "other parts nobody has looked over"),
            (self.through_coat, "findings seen only through paint, plating or dirt"),
            (self.told, "findings not seen at all"),
            (self.unseen, "positions inside something, not seen"),
            (self.positions, "positions not looked for"),
            (self.not_fitted, "positions said never to have been on this machine"),
            (self.photos_waiting or self.photos_aside, "photos not placed"),
        )
        none = [what for some, what in lists if not some]
        return f"There are no {', no '.join(none)}." if none else ""


@dataclass(frozen=True, slots=True)
class Stamp:
    """A number as stamped, and where."""

    place: str
    text: str
    note: str


@dataclass(frozen=True, slots=True)
class Identity:
    """What the machine is, as its owner says."""

    name: str
    kind: str
    maker: str
    model: str
    year: str
    engine: str
    bought: str
    note: str
    numbers: tuple[Stamp, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """Who looked, when, and by what. ``first`` and ``last`` are the dates of looking, empty when nobody has."""

    looked_by: tuple[str, ...]
    surveyor: str
    first: str
    last: str
    photographed: str
    made_at: str
    rules_version: str
    product_version: str

    @property
    def several(self) -> bool:
        """Whether more than one person looked, or on more than one day, so that each line must say who and when."""
        return len(self.looked_by) > 1 or self.first != self.last


@dataclass(frozen=True, slots=True)
class ReportData:
    """The report. ``disclaimer``: what this record is not, line by line. ``photos``: taken into the survey.

    ``next``: the most useful things to do now. ``wants``: the state of what is to be got, in a sentence; empty
    when nothing is. ``order``: what goes on before what. ``plan``: what else is planned, each under its heading.
    """

    identity: Identity
    record: Record
    summary: Summary
    assemblies: tuple[Assembly, ...]
    not_looked: NotLooked
    cautions: tuple[Caution, ...]
    disclaimer: tuple[str, ...]
    photos: int
    wants: str = ""
    order: OrderLines = field(default_factory=OrderLines)
    next: tuple[Line, ...] = ()
    plan: tuple[Section, ...] = ()

    @property
    def title(self) -> str:
        """The report's title."""
        return f"Condition report: {self.identity.name}"

    @property
    def lead(self) -> str:
        """What the machine is, in a line."""
        machine = self.identity
        return " · ".join(filter(None, (machine.maker, machine.model, machine.year, machine.engine)))

    @property
    def headings(self) -> tuple[str, ...]:
        """What it is made of, in the order printed."""
        first = [
            "What stops me today",
            "The machine",
            "Summary",
            *(["Cautions for this machine"] if self.cautions else []),
        ]
        plan = [section.heading for section in self.plan]
        order = ["What goes on before what, and what stops it"] if self.order.steps else []
        return (*first, "Parts", "Gaps", *order, *plan, "What was not looked at")

    @property
    def parts(self) -> tuple[PartEntry, ...]:
        """Every part, in the order printed."""
        return tuple(part for assembly in self.assemblies for part in assembly.parts)

    @property
    def gaps(self) -> tuple[GapLine, ...]:
        """Every gap, in the order printed."""
        return tuple(gap for assembly in self.assemblies for gap in assembly.gaps)

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Every picture, in the order printed."""
        return (*(picture for part in self.parts for picture in part.pictures), *pictures_of(self.plan))
