"""The query for what is wanted."""

from __future__ import annotations

from survey.folder.rows import from_row
from survey.folder.store import Store
from survey.planning.wants import Want


def wants_said(store: Store) -> list[Want]:
    """What the owner said of things to get, by number; what was said of a component that is gone is left out."""
    rows = store.rows_of(
        "want",
        "LEFT JOIN component ON component.id = want.component"
        " WHERE want.gone_at IS NULL AND component.gone_at IS NULL ORDER BY want.id",
    )
    return [from_row(Want, row) for row in rows]
