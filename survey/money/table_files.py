"""The money as CSV: a line a line."""

from __future__ import annotations

from pathlib import Path

from survey.document.csv_text import csv_text
from survey.document.files import write_whole
from survey.model.money import MoneyLine
from survey.money.costs import Money

COLUMNS = (
    "line", "what", "kind", "from", "component", "low", "likely", "high", "expected", "standard_deviation", "state",
    "spent", "spent_at", "receipt", "note", "currency",
)  # fmt: skip


def write_money_csv(money: Money, currency: str, to: Path) -> None:
    """Write the lines as CSV (RFC 4180: CRLF, quoting; UTF-8). No cell can be taken for a formula.

    A figure that is not recorded is empty; what is expected is worked out.

    Raises:
        CannotWrite: the place cannot be written.
    """
    write_whole(to, csv_text(COLUMNS, (_make_row(line, currency) for line in money.lines)).encode("utf-8"))


def _make_row(line: MoneyLine, currency: str) -> dict[str, object]:
    price, figures = line.price, line.figures
    return {
        "line": line.key,
        "what": line.what,
        "kind": line.kind,
        "from": line.origin,
        "component": line.component,
        "low": price.low,
        "likely": price.likely,
        "high": price.high,
        "expected": figures.expected if figures else "",
        "standard_deviation": figures.deviation if figures else "",
        "state": line.state,
        "spent": line.spent or "",
        "spent_at": line.spent_at,
        "receipt": line.receipt,
        "note": line.note,
        "currency": currency,
    }
