"""Queries for the owner's own pairs, disabled pairs and step states."""

from __future__ import annotations

from survey.model.build_order import BeforePair, StepAnswer
from survey.store.database import Row, Store
from survey.store.rows import from_row


def fetch_own_pairs(store: Store) -> list[BeforePair]:
    """The owner's own pairs, by number."""
    return [_make_own_pair(row) for row in store.rows_of("before_pair", "WHERE gone_at IS NULL ORDER BY id")]


def fetch_disabled_pairs(store: Store) -> dict[str, str]:
    """Why the owner put pairs of the catalogue out of use, by the pair's id."""
    return {row["pair"]: row["reason"] for row in store.rows_of("pair_off", "ORDER BY at, pair")}


def fetch_step_states(store: Store) -> dict[str, StepAnswer]:
    """The steps that the owner marked as done or not needed, by step id."""
    return {row["step"]: row["state"] for row in store.rows_of("step_said")}


def _make_own_pair(row: Row) -> BeforePair:
    source = f"the owner, {row['by']}" if row["by"] else "the owner"
    return from_row(BeforePair, row, id=f"own-{row['id']}", keeps=False, source=source, own=row["id"])
