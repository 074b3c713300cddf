"""Readings and their limits: from numbers to a state.

On a safety part, a limit that is from memory or disputed can make the grade harder, never easier: a value beyond it is
"over", a value within it is still "no-limit".
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
    """The interval a reading must lie in, for some materials (empty: any) or for some components only.

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
        """Whether the limit is sure enough to call a safety part inside it."""
        return self.sure == "stated" and not self.argument

    def fits(self, component: str | None, material: str) -> bool:
        """Whether the limit applies to that part."""
        if self.components:
            return component in self.components
        return not self.materials or material in self.materials


@dataclass(frozen=True, slots=True)
class ReadingKind:
    """Something one measures on the parts of certain classes.

    ``answers``: finding kinds whose step it decides. ``needed``: without it the finding counts as not measured.
    ``owed``: it must be taken even if nothing wrong was seen. ``book``: which side of the maker's own figure is good,
    None if there is no such figure; the owner records it as a reading called ``<id>-book``. ``limit_for``: for such a
    figure, the reading it is the limit of. ``unit``: of the value; ``how``: how to take it. ``believable``: the values
    that such a part can have at all; any other is a mistake.
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
        """The limit for that part: one for the component before one for the material."""
        limits = [limit for limit in self.limits if limit.fits(component, material)]
        limits.sort(key=lambda limit: (not limit.components, not limit.materials))
        return limits[0] if limits else None

    def book_figure(self) -> ReadingKind | None:
        """The kind of reading that holds the maker's own figure, None if there is no such figure."""
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
        """The interval given by the maker's own figure."""
        return Between(most=figure) if self.book == "most" else Between(least=figure)


def assess_reading(
    kind: ReadingKind, values: Mapping[str, float], component: str | None, material: str, duty: Duty
) -> Measured:
    """The state of one reading: none, inside, over or no-limit.

    The maker's own figure, recorded by the owner, can turn "no-limit" into "inside"; it never loosens a limit on file.
    A reading or figure that no such part can have is never "inside": it counts as not taken.
    """
    if kind.id not in values:
        return "none"
    value = values[kind.id]
    makers_figure = values.get(kind.id + BOOK_SUFFIX) if kind.book else None
    state = _compare_with_limits(kind, value, makers_figure, kind.limit(component, material), duty)
    believable = value in kind.believable and (makers_figure is None or makers_figure in kind.believable)
    return state if believable or state != "inside" else "none"


def _compare_with_limits(
    kind: ReadingKind, value: float, makers_figure: float | None, limit: Limit | None, duty: Duty
) -> Measured:
    if limit is not None and value not in limit.within:
        return "over"
    if makers_figure is not None:
        return "inside" if value in kind.within_book(makers_figure) else "over"
    if limit is None or (duty == "safety" and not limit.firm):
        return "no-limit"
    return "inside"


def join_states(states: Iterable[tuple[Measured, bool]]) -> Measured:
    """The joint state of several readings, each with whether it is needed: over, else none, else no-limit, else inside.

    A reading that is not needed is ignored unless it is inside or over. Without any readings the state is none.
    """
    states = [(state, needed) for state, needed in states if needed or state in ("inside", "over")]
    if any(state == "over" for state, _ in states):
        return "over"
    needed_states = {state for state, needed in states if needed}
    if not needed_states or "none" in needed_states:
        return "none"
    return "no-limit" if "no-limit" in needed_states else "inside"
