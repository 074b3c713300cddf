"""The rows of what is wanted as the nouns of planning."""

from __future__ import annotations

import json
from decimal import Decimal

from survey.folder.store import Row, Store
from survey.planning.prices import Price
from survey.planning.wants import Want


def wants_said(store: Store) -> list[Want]:
    """What the owner said of things to get, by number; what was said of a component that is gone is left out."""
    rows = store.rows_of(
        "want",
        "LEFT JOIN component ON component.id = want.component"
        " WHERE want.gone_at IS NULL AND component.gone_at IS NULL ORDER BY want.id",
    )
    return [_want(row) for row in rows]


def _want(row: Row) -> Want:
    low, likely, high = (None if row[name] is None else Decimal(row[name]) for name in ("low", "likely", "high"))
    return Want(
        id=row["id"],
        component=row["component"],
        label=row["label"],
        state=row["state"],
        quantity=row["quantity"],
        who=row["who"],
        since=row["since"],
        sizes=tuple(json.loads(row["sizes"]).items()),
        also=row["also"],
        price=Price(low, likely, high),
        note=row["note"],
        scarcity=row["scarcity"],
    )
