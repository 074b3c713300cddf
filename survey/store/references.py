"""Which column of which table names a row of which other, read from the schema: a new table needs no entry here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from survey.store.database import Row, Store
from survey.store.tables import TABLES, get_key_columns

RowKey = tuple[str, tuple[int | str, ...]]
"""A row: its table and its key."""


@dataclass(frozen=True, slots=True)
class Reference:
    """A column that holds the key of a row of another table (or of its own). ``loose``: it may be empty."""

    table: str
    column: str
    names: str
    loose: bool


class References:
    """Every reference of the survey's tables."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._all = tuple(reference for table in TABLES for reference in _references(store, table))

    def of(self, table: str) -> Iterator[Reference]:
        """The references that rows of this table hold."""
        return (reference for reference in self._all if reference.table == table)

    def to(self, table: str) -> Iterator[Reference]:
        """The references that name rows of this table."""
        return (reference for reference in self._all if reference.names == table)

    def rows(self, reference: Reference, key: int | str) -> list[Row]:
        """The rows that name that row by that reference."""
        return self._store.rows(f'SELECT * FROM "{reference.table}" WHERE "{reference.column}" = ?', [key])

    def named(self, table: str, row: Mapping[str, object]) -> Iterator[tuple[str, int | str]]:
        """The rows that a row names: (table, key) of each."""
        for reference in self.of(table):
            key = row.get(reference.column)
            if isinstance(key, int | str):
                yield reference.names, key


def row_key_in(table: str, row: Mapping[str, int | str]) -> tuple[int | str, ...]:
    """The key of a row."""
    return tuple(row[name] for name in get_key_columns(table))


def _references(store: Store, table: str) -> Iterator[Reference]:
    columns = {row["name"]: row for row in store.rows(f'PRAGMA table_info("{table}")')}
    for row in store.rows(f'PRAGMA foreign_key_list("{table}")'):
        column = columns[row["from"]]
        yield Reference(table, row["from"], row["table"], not (column["notnull"] or column["pk"]))
