"""The closed words of the product beside those that the tables of a survey take."""

from __future__ import annotations

import contextlib
import importlib.util
import re
import sqlite3
from collections.abc import Collection, Mapping
from pathlib import Path
from types import ModuleType
from typing import Any

from sqlite_utils import Database, Migrations

from survey.store import tables, tables_of_plans
from survey.store.column_kinds import Table
from survey.store.schema import migrations

Column = tuple[str, str]
WORD_LIST = re.compile(r"CHECK \((\w+) IN \(([^)]*)\)")


def closed_words(declared: Mapping[str, Table]) -> dict[Column, tuple[Any, ...]]:
    """(table, column) -> all that it may hold, where the declaration checks by a list's own ``__contains__``."""
    lists = {
        (name, column): getattr(kind.kind.allows, "__self__", None)
        for name, table in declared.items()
        for column, kind in table.columns.items()
    }
    return {column: tuple(words) for column, words in lists.items() if isinstance(words, Collection)}


def refused_words(database: Path, declared: Mapping[str, Table], rows: Mapping[str, list[dict[str, Any]]]) -> list[str]:
    """The closed words that the tables refuse, such as ``want.state 'ordered'``. Nothing is changed.

    ``rows``: rows of every table that has a closed list. The first is written with each word in its place.
    """
    refused = []
    with contextlib.closing(sqlite3.connect(database)) as db:  # foreign keys are off, and nothing is committed
        for (table, column), words in closed_words(declared).items():
            for word in words:
                row = {**rows[table][0], column: word}
                names, holes = ", ".join(f'"{name}"' for name in row), ", ".join("?" for _ in row)
                try:
                    db.execute(f'INSERT OR REPLACE INTO "{table}" ({names}) VALUES ({holes})', list(row.values()))
                except sqlite3.IntegrityError:
                    refused.append(f"{table}.{column} {word!r}")
    return refused


def checked_lists(database: Path) -> dict[Column, str]:
    """(table, column) -> the list of values in its CHECK, as the table has it: ``'out', 'back'``."""
    return {
        (name, column): words
        for _, name, _, sql in schema_of(database)
        if sql
        for column, words in WORD_LIST.findall(sql)
    }


def schema_of(database: Path) -> list[tuple[str, str, str, str | None]]:
    """Type, name, table and SQL of everything in a database, in order of name."""
    with contextlib.closing(sqlite3.connect(database)) as db:
        return db.execute("SELECT type, name, tbl_name, sql FROM sqlite_master ORDER BY type, name").fetchall()


def copied_steps() -> Migrations:
    """The steps of the schema, for a test to add one to."""
    copy = Migrations(migrations.name)
    with contextlib.closing(Database(memory=True)) as empty:
        for step in migrations.pending(empty):
            copy(name=step.name)(step.fn)
    return copy


def tables_anew() -> dict[str, Table]:
    """The declared tables made a second time, from the lists as they are now."""
    return {**_run_again(tables).TABLES, **_run_again(tables_of_plans).TABLES_OF_PLANS}


def _run_again(module: ModuleType) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"{module.__name__}_again", str(module.__file__))
    assert spec and spec.loader
    again = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(again)
    return again
