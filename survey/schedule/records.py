"""Queries for the components of the schedule and the owner's notes on positions."""

from __future__ import annotations

from survey.model.schedule import Component, PositionNote
from survey.store.database import Row, Store
from survey.store.rows import from_row, to_row


def make_component_row(component: Component, ordinal: int) -> Row:
    """The database row of a component at that place of the schedule."""
    return {**to_row(component), "ordinal": ordinal}


def fetch_components(store: Store) -> list[Component]:
    """Every component of the survey's schedule, in its order."""
    return [
        from_row(Component, row) for row in store.rows_of("component", "WHERE gone_at IS NULL ORDER BY ordinal, id")
    ]


def fetch_position_notes(store: Store) -> dict[str, PositionNote]:
    """The owner's notes on positions, by component id."""
    return {row["component"]: from_row(PositionNote, row) for row in store.rows_of("position")}
