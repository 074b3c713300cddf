"""CSV (RFC 4180: CRLF, quoting) in which no cell can be taken for a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def csv_text(columns: Sequence[str], rows: Iterable[Mapping[str, object]]) -> str:
    """The rows under their columns; a missing value is an empty cell, a value of no column is left out."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(columns)
    writer.writerows([_format_cell(row.get(column)) for column in columns] for row in rows)
    return text.getvalue()


def _format_cell(value: object) -> str:
    if value is None:
        return ""
    return escape_formula(value) if isinstance(value, str) else str(value)


def escape_formula(cell: str) -> str:
    """A cell that a spreadsheet would run as a formula begins with an apostrophe instead."""
    return f"'{cell}" if cell.startswith(_FORMULA_STARTS) or cell.lstrip().startswith(_FORMULA_STARTS) else cell
