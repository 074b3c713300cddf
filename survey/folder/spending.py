"""The rows of money, worth and gates as the nouns of planning."""

from __future__ import annotations

from decimal import Decimal

from survey.folder.store import Row, Store
from survey.planning.gates import GateSaid
from survey.planning.money import MoneyLine
from survey.planning.prices import Price
from survey.planning.worth import Comparison, SalePrice


def own_lines(store: Store) -> list[MoneyLine]:
    """The owner's own lines, by number."""
    return [
        MoneyLine(
            key=f"own-{row['id']}", what=row["what"], kind=row["kind"], origin="own", price=_price(row),
            state=row["state"], spent=Decimal(row["spent"]), spent_at=row["spent_at"], receipt=row["receipt"],
            note=row["note"], own=row["id"], want=row["want"],
        )
        for row in store.rows_of("money_line", "WHERE gone_at IS NULL ORDER BY id")
    ]  # fmt: skip


def comparisons(store: Store) -> list[Comparison]:
    """What like machines were sold or offered for, by number."""
    return [
        Comparison(
            id=row["id"], what=row["what"], seen_on=row["seen_on"], price=Decimal(row["price"]), sold=bool(row["sold"]),
            condition=row["condition"], where=row["place"], low=_decimal(row["low"]), high=_decimal(row["high"]),
            note=row["note"],
        )
        for row in store.rows_of("comparison", "WHERE gone_at IS NULL ORDER BY id")
    ]  # fmt: skip


def sale_prices(store: Store) -> list[SalePrice]:
    """What the parts that stand would fetch."""
    rows = store.rows_of("sale_price", "JOIN part ON part.id = sale_price.part WHERE part.gone_at IS NULL ORDER BY 1")
    return [SalePrice(row["part"], _price(row), row["held"], row["note"]) for row in rows]


def contingency(store: Store) -> Decimal | None:
    """The owner's per cent on what is still to be paid; None where nothing was said."""
    rows = store.rows_of("budget")
    return _decimal(rows[0]["contingency"]) if rows else None


def gates_said(store: Store) -> list[GateSaid]:
    """The owner's word on the gates."""
    return [
        GateSaid(row["gate"], row["said"], row["reason"], row["by"], row["at"]) for row in store.rows_of("gate_said")
    ]


def _price(row: Row) -> Price:
    return Price(_decimal(row["low"]), _decimal(row["likely"]), _decimal(row["high"]))


def _decimal(written: str | None) -> Decimal | None:
    return None if written is None else Decimal(written)
