"""The query for stuck things."""

from __future__ import annotations

from survey.model.stuck import Stuck
from survey.store.database import Store
from survey.store.rows import fetch_rows_on_live_parts, from_row


def fetch_stuck(store: Store) -> list[Stuck]:
    """Every stuck thing on a live part, by number."""
    return [from_row(Stuck, row) for row in fetch_rows_on_live_parts(store, "stuck")]
