"""The query for what is wanted."""

from __future__ import annotations

from survey.model.wants import Want
from survey.store.database import Store
from survey.store.rows import from_row


def fetch_wants(store: Store) -> list[Want]:
    """The recorded wants, by number; those of a removed component are left out."""
    rows = store.rows_of(
        "want",
        "LEFT JOIN component ON component.id = want.component"
        " WHERE want.gone_at IS NULL AND component.gone_at IS NULL ORDER BY want.id",
    )
    return [from_row(Want, row) for row in rows]
