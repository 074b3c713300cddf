"""The query for stuck things."""

from __future__ import annotations

from survey.model.stuck import Stuck
from survey.store.database import Store
from survey.store.rows import from_row, rows_on_live_parts


def fetch_stuck(store: Store) -> list[Stuck]:
    """Every stuck thing on a live part, by number."""
    return [from_row(Stuck, row) for row in rows_on_live_parts(store, "stuck")]
