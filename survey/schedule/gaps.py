"""The state of every position, and the gaps: what is missing, and inside what.

A position of the schedule is filled by the parts that answer to it. Four states that are easily confused are separate:
missing (looked for, not there), wrong (there, but not right), unseen (inside something that has not been opened) and
not looked for. "Not looked for" never counts as present. A component missing from inside a part that is here is a gap
of its own: the assembly does not hide it (common practice, no source). Quantities count.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from survey.model.schedule import Component, Duty, Gap, GapState, PositionNote

WRONG_FROM_STEP = 3
"""A part whose ``wrong_part`` finding is at this step or above does not fill its position."""


@dataclass(frozen=True, slots=True)
class InHand:
    """One part that is here: its component, its quantity, and its step of ``wrong_part`` (0: none)."""

    component: str
    quantity: int = 1
    wrong_step: int = 0


@dataclass(frozen=True, slots=True)
class PositionCount:
    """How many positions of an assembly are in each state; counts can be added.

    ``asked``: every position that belongs to this machine. ``here``: those filled completely.
    """

    asked: int = 0
    here: int = 0
    missing: int = 0
    wrong: int = 0
    short: int = 0
    unseen: int = 0
    not_looked: int = 0

    def __add__(self, other: PositionCount) -> PositionCount:
        return PositionCount(
            self.asked + other.asked,
            self.here + other.here,
            self.missing + other.missing,
            self.wrong + other.wrong,
            self.short + other.short,
            self.unseen + other.unseen,
            self.not_looked + other.not_looked,
        )

    @property
    def percent_here(self) -> int:
        """Whole per cent of positions filled; never 0 while one is here, never 100 while one is not."""
        if self.asked == 0:
            return 0
        rounded = round(100 * self.here / self.asked)
        if self.here == self.asked:
            return 100
        return min(99, max(1, rounded)) if self.here else 0


@dataclass(frozen=True, slots=True)
class Position:
    """The state of one position. ``state``: ``here``, ``not-fitted`` or a gap's state. ``found``: right parts here.

    ``inside_present``: its holder is here. ``through``: the holder that its state comes from, None if it is its own.
    """

    component: Component
    state: str
    found: int
    note: str = ""
    inside_present: bool = False
    through: str | None = None


def compute_positions(
    schedule: Iterable[Component], in_hand: Iterable[InHand], notes: Mapping[str, PositionNote]
) -> tuple[Position, ...]:
    """The state of every position of the schedule, in the schedule's order.

    Args:
        schedule: the survey's own schedule.
        in_hand: one entry for each part that answers to a component.
        notes: by component id, the owner's note on a position.
    """
    components = list(schedule)
    by_id = {component.id: component for component in components}
    right_count: Counter[str] = Counter()
    wrong_count: Counter[str] = Counter()
    for part in in_hand:
        count = wrong_count if part.wrong_step >= WRONG_FROM_STEP else right_count
        count[part.component] += part.quantity
    own_states = {
        component.id: _own_state(
            component, right_count[component.id], wrong_count[component.id], notes.get(component.id)
        )
        for component in components
    }
    positions: list[Position] = []
    for component in components:
        state, through = _inherit_state(component, own_states, by_id)
        note = notes[component.id].note if component.id in notes else ""
        inside_present = component.inside is not None and own_states.get(component.inside) in ("here", "short")
        positions.append(Position(component, state, right_count[component.id], note, inside_present, through))
    return tuple(positions)


def find_gaps(positions: Iterable[Position]) -> tuple[Gap, ...]:
    """The positions that are not filled, in the schedule's order."""
    return tuple(
        Gap(
            position.component,
            _require_gap_state(position.state),
            position.found,
            position.note,
            position.inside_present,
            position.through,
        )
        for position in positions
        if position.state not in ("here", "not-fitted")
    )


def count_by_assembly(positions: Iterable[Position]) -> dict[str, PositionCount]:
    """Counts by assembly, in the order in which the schedule first names the assemblies."""
    counts: defaultdict[str, PositionCount] = defaultdict(PositionCount)
    for position in positions:
        counts[position.component.assembly] += count_state(position.state)
    return dict(counts)


def select_stopping_gaps(gaps: Iterable[Gap], duties: tuple[Duty, ...] = ("safety", "running")) -> tuple[Gap, ...]:
    """The gaps without which the machine cannot be built safely or run: missing, wrong or short, of those duties."""
    return tuple(
        gap
        for gap in gaps
        if gap.state in ("missing", "wrong", "short") and gap.component.duty in duties and gap.through is None
    )


def _own_state(component: Component, right: int, wrong: int, note: PositionNote | None) -> str:
    if note is not None and note.state == "wrong":
        return "wrong"
    if right >= component.quantity:
        return "here"
    if right:
        return note.state if note is not None and note.state == "unseen" else "short"
    if note is not None and note.state != "not-looked":
        return note.state
    return "wrong" if wrong else "not-looked"


def _inherit_state(
    component: Component, own_states: Mapping[str, str], by_id: Mapping[str, Component]
) -> tuple[str, str | None]:
    """State and holder: a "not-looked" position takes missing, unseen or not-fitted from its nearest known holder."""
    state = own_states[component.id]
    if state != "not-looked":
        return state, None
    holder = component.inside
    while holder is not None and holder in by_id:
        if own_states[holder] in ("missing", "unseen", "not-fitted"):
            return own_states[holder], holder
        if own_states[holder] != "not-looked":
            return state, None
        holder = by_id[holder].inside
    return state, None


def _require_gap_state(state: str) -> GapState:
    match state:
        case "missing" | "wrong" | "short" | "unseen" | "not-looked":
            return state
    raise ValueError(f"{state!r} is no gap")


def count_state(state: str) -> PositionCount:
    """The count of one position in that state: ``here``, ``not-fitted`` (counts nothing) or a gap's state."""
    match state:
        case "here":
            return PositionCount(asked=1, here=1)
        case "missing":
            return PositionCount(asked=1, missing=1)
        case "wrong":
            return PositionCount(asked=1, wrong=1)
        case "short":
            return PositionCount(asked=1, short=1)
        case "unseen":
            return PositionCount(asked=1, unseen=1)
        case "not-looked":
            return PositionCount(asked=1, not_looked=1)
    return PositionCount()
