"""The query for what is stuck."""

from __future__ import annotations

from survey.folder.rows import from_row, rows_on_live_parts
from survey.folder.store import Store
from survey.gauge.stuck import Stuck


def stuck_things(store: Store) -> list[Stuck]:
    """Every stuck thing on a part that stands, by number."""
    return [from_row(Stuck, row) for row in rows_on_live_parts(store, "stuck")]
