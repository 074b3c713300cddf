"""Rows compared with what their columns may hold. Bad values are reported; readers never crash on them."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from survey.errors import ForeignDatabase
from survey.store.column_kinds import TEXT, read_json
from survey.store.disk_faults import PUT_BACK
from survey.store.tables import TABLES

Row = Mapping[str, Any]
ClosedWords = Mapping[str, Container[str]]
"""Vocabulary of the product's data -> its closed words."""


def find_row_faults(table: str, row: Row, words: ClosedWords) -> Iterator[str]:
    """What is wrong with a row: ``taken of photo 3 is 'rubbish'``."""
    columns, wrong = TABLES[table].columns, False
    number = next((row[name] for name in ("id", "component", "part") if name in row), "")
    for name, value in row.items():
        kind = columns[name].kind if name in columns else TEXT
        allowed = words.get(kind.vocabulary)
        in_vocabulary = allowed is None or value is None or (isinstance(value, str) and value in allowed)
        if isinstance(value, bytes) or not in_vocabulary or not kind.allows(value):
            wrong = True
            yield f"{name} of {table} {number} is {str(value)[:60]!r}"
    if not wrong and TABLES[table].is_priced:
        prices = [Decimal(row[name]) for name in ("low", "likely", "high") if row.get(name) is not None]
        if prices != sorted(prices):
            yield f"low, likely and high of {table} {number} are out of order"
    if not wrong and table == "event":
        yield from _find_event_faults(row, words)


def _find_event_faults(event: Row, words: ClosedWords) -> Iterator[str]:
    """What is wrong with the rows that an event holds: undo would write them."""
    table = event["entity"]
    if table not in TABLES or table == "event":
        yield f"entity of event {event['id']} is {str(table)[:60]!r}"
        return
    columns = TABLES[table].columns
    for side in ("before", "after"):
        row = read_json(event[side])
        if event[side] is not None and not {*list(columns)[:2]} <= row.keys() <= columns.keys():
            yield f"{side} of event {event['id']} is no row of {table}"
        elif event[side] is not None:
            yield from (f"{side} of event {event['id']}: {fault}" for fault in find_row_faults(table, row, words))


def require_valid_rows(folder: Path, table: str, rows: Iterable[Row], words: ClosedWords) -> None:
    """Refuse rows with values that their columns cannot hold.

    Raises:
        ForeignDatabase: the first such value, named.
    """
    for row in rows:
        for fault in find_row_faults(table, row, words):
            raise ForeignDatabase(
                f"survey.db in {str(folder)!r} holds what it cannot: {fault}. It was changed from outside, or damaged.",
                PUT_BACK,
            )
