"""The money as CSV: a line a line."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from survey.paper.place import put
from survey.paper.tables import harmless
from survey.planning.money import Money, MoneyLine

COLUMNS = (
    "line", "what", "kind", "from", "component", "low", "likely", "high", "expected", "standard_deviation", "state",
    "spent", "spent_at", "receipt", "note", "currency",
)  # fmt: skip


def write_money_csv(money: Money, currency: str, to: Path) -> None:
    """Write the lines as CSV (RFC 4180: CRLF, quoting; UTF-8). No cell can be taken for a formula.

    A figure that nobody said is empty; what is expected is worked out.

    Raises:
        CannotWrite: the place cannot be written.
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for line in money.lines:
        writer.writerow({name: harmless(cell) for name, cell in _row(line, currency).items()})
    put(to, text.getvalue().encode("utf-8"))


def _row(line: MoneyLine, currency: str) -> dict[str, str]:
    price, figures = line.price, line.figures
    return {
        "line": line.key,
        "what": line.what,
        "kind": line.kind,
        "from": line.origin,
        "component": line.component or "",
        "low": "" if price.low is None else str(price.low),
        "likely": "" if price.likely is None else str(price.likely),
        "high": "" if price.high is None else str(price.high),
        "expected": str(figures.expected) if figures else "",
        "standard_deviation": str(figures.deviation) if figures else "",
        "state": line.state,
        "spent": str(line.spent) if line.spent else "",
        "spent_at": line.spent_at,
        "receipt": line.receipt,
        "note": line.note,
        "currency": currency,
    }
