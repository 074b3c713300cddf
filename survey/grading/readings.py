"""Readings and their limits: numbers in, a state out.

A limit that is only from memory or that sources dispute may make a safety part's grade harder, never easier:
a value beyond it is "over", a value short of it is still "no-limit".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from survey.grading.facts import Measured
from survey.grading.tables import Between
from survey.model.schedule import Duty

LimitSure = Literal["stated", "common practice", "from memory"]
Side = Literal["most", "least"]

LIMIT_SURE: tuple[LimitSure, ...] = ("stated", "common practice", "from memory")
BOOK_SUFFIX = "-book"


@dataclass(frozen=True, slots=True)
class Limit:
    """The interval a reading must lie in, for some materials (none named: any) or for named components only.

    ``within``: in the reading's unit. ``sure``: how the figure is known. ``argument``: set where sources disagree.
    """

    within: Between
    source: str
    sure: LimitSure
    materials: frozenset[str] = frozenset()
    components: frozenset[str] = frozenset()
    argument: str = ""

    @property
    def firm(self) -> bool:
        """Whether a safety part may be called inside on the strength of it."""
        return self.sure == "stated" and not self.argument

    def fits(self, component: str | None, material: str) -> bool:
        """Whether the limit is one for that part."""
        if self.components:
            return component in self.components
        return not self.materials or material in self.materials


@dataclass(frozen=True, slots=True)
class ReadingKind:
    """Something one measures on the parts of certain classes.

    ``answers``: finding kinds whose step it settles. ``needed``: without it the finding counts as not measured.
    ``owed``: it is owed even where nothing wrong was seen. ``book``: which side of the maker's own figure is good,
    None where no such figure can be given; the owner gives it as a reading called ``<id>-book``.
    ``limit_for``: for such a figure, the reading it is the limit of. ``unit``: of the value; ``how``: how it is taken.
    ``believable``: what such a part can measure at all; beyond it somebody wrote it wrong.
    """

    id: str
    label: str
    unit: str
    classes: frozenset[str]
    answers: frozenset[str]
    how: str
    believable: Between
    needed: bool = True
    owed: bool = False
    book: Side | None = None
    limits: tuple[Limit, ...] = field(default=())
    limit_for: str | None = None
    file: str = ""
    line: int = 0

    def limit(self, component: str | None, material: str) -> Limit | None:
        """The limit for that part: one that names the component before one that names the material."""
        fitting = [limit for limit in self.limits if limit.fits(component, material)]
        fitting.sort(key=lambda limit: (not limit.components, not limit.materials))
        return fitting[0] if fitting else None

    def book_figure(self) -> ReadingKind | None:
        """The companion under which the owner gives the maker's own figure, if it can have one."""
        if self.book is None:
            return None
        side = "no more than" if self.book == "most" else "no less than"
        return ReadingKind(
            id=self.id + BOOK_SUFFIX,
            label=f"the maker's figure for {self.label}",
            unit=self.unit,
            classes=self.classes,
            answers=frozenset(),
            how=f"Copy it from the maker's book for this very model; the reading should be {side} this.",
            believable=self.believable,
            needed=False,
            limit_for=self.id,
            file=self.file,
            line=self.line,
        )

    def within_book(self, figure: float) -> Between:
        """The interval the maker's own figure stands for."""
        return Between(most=figure) if self.book == "most" else Between(least=figure)


def state_of(
    kind: ReadingKind, values: Mapping[str, float], component: str | None, material: str, duty: Duty
) -> Measured:
    """How one reading stands: none, inside, over or no-limit.

    The maker's own figure, given by the owner, can make "inside" of "no-limit"; it never loosens a limit on file.
    A reading or a figure that no such part can have is never "inside": it counts as not taken.
    """
    if kind.id not in values:
        return "none"
    value = values[kind.id]
    book = values.get(kind.id + BOOK_SUFFIX) if kind.book else None
    state = _held_against(kind, value, book, kind.limit(component, material), duty)
    believed = value in kind.believable and (book is None or book in kind.believable)
    return state if believed or state != "inside" else "none"


def _held_against(kind: ReadingKind, value: float, book: float | None, limit: Limit | None, duty: Duty) -> Measured:
    if limit is not None and value not in limit.within:
        return "over"
    if book is not None:
        return "inside" if value in kind.within_book(book) else "over"
    if limit is None or (duty == "safety" and not limit.firm):
        return "no-limit"
    return "inside"


def joined(states: Iterable[tuple[Measured, bool]]) -> Measured:
    """One state of several readings, each with whether it is needed: over beats none beats no-limit beats inside.

    A reading that is not needed and not inside or over is left out. No readings at all: none.
    """
    states = [(state, needed) for state, needed in states if needed or state in ("inside", "over")]
    if any(state == "over" for state, _ in states):
        return "over"
    needed_states = {state for state, needed in states if needed}
    if not needed_states or "none" in needed_states:
        return "none"
    return "no-limit" if "no-limit" in needed_states else "inside"
