"""Queries for money and worth."""

from __future__ import annotations

from decimal import Decimal

from survey.model.money import Comparison, MoneyLine, SalePrice
from survey.store.database import Store
from survey.store.rows import from_row


def fetch_own_lines(store: Store) -> list[MoneyLine]:
    """The owner's own lines, by number."""
    return [
        from_row(MoneyLine, row, key=f"own-{row['id']}", origin="own", own=row["id"], component=None, batch=None)
        for row in store.rows_of("money_line", "WHERE gone_at IS NULL ORDER BY id")
    ]


def fetch_comparisons(store: Store) -> list[Comparison]:
    """What like machines were sold or offered for, by number."""
    return [from_row(Comparison, row) for row in store.rows_of("comparison", "WHERE gone_at IS NULL ORDER BY id")]


def fetch_sale_prices(store: Store) -> list[SalePrice]:
    """What the live parts would fetch."""
    rows = store.rows_of("sale_price", "JOIN part ON part.id = sale_price.part WHERE part.gone_at IS NULL ORDER BY 1")
    return [from_row(SalePrice, row) for row in rows]


def fetch_contingency(store: Store) -> Decimal | None:
    """The owner's per cent on what is still to be paid; None where none is set."""
    values = [row["contingency"] for row in store.rows_of("budget")]
    return Decimal(values[0]) if values and values[0] is not None else None
