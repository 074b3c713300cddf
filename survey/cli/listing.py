"""Records for the terminal and as JSON: which columns there are, and how each value is got and written."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from operator import attrgetter
from pathlib import Path, PurePath
from typing import Any, NamedTuple, TypeVar

import click

from survey.cli.common import print_json, print_table

_Record = TypeVar("_Record")
Get = str | Callable[[Any], Any]
"""How a value is got from a record: the name of a field, dotted (``part.id``), or a function of the record."""


class Column(NamedTuple):
    """One value of every record.

    ``key``: its name in JSON; empty where JSON lacks it. ``head``: its head in the table; None where the table lacks
    it. ``get``: how to get it; the field named as the key unless given. ``text``: how the table writes it, if
    otherwise than plainly.
    """

    key: str
    get: Get = ""
    head: str | None = None
    text: Get | None = None


class Listing:
    """Columns in their order; a word alone is a field that JSON alone has, under its own name."""

    def __init__(self, *columns: Column | str) -> None:
        self._columns = [Column(one) if isinstance(one, str) else one for one in columns]

    def as_json(self, record: object) -> dict[str, Any]:
        """One record by the keys of its columns."""
        return {one.key: _plain(_value(record, one.get or one.key)) for one in self._columns if one.key}

    def say_table(self, title: str, records: Iterable[object]) -> None:
        """The records as a table."""
        shown = [one for one in self._columns if one.head is not None]
        rows = [[_written(_value(record, one.text or one.get or one.key)) for one in shown] for record in records]
        print_table(title, [one.head or "" for one in shown], rows)

    def say(self, title: str, records: Sequence[object], as_json: bool) -> None:
        """The records as a table, or as JSON."""
        if as_json:
            print_json([self.as_json(record) for record in records])
        else:
            self.say_table(title, records)


def json_of(record: object, *names: str) -> dict[str, Any]:
    """These fields of a record by their names; ``name=field`` where JSON names one otherwise (fields may be dotted)."""
    pairs = (name.partition("=") for name in names)
    return {key: _plain(_value(record, field or key)) for key, _, field in pairs}


def say_each(
    records: Sequence[_Record], as_json: bool, record: Callable[[_Record], object], lines: Callable[[_Record], Any],
    none: str = "",
) -> None:  # fmt: skip
    """Every record as JSON, or as the lines of each; ``none`` is the sentence where there are no records."""
    if as_json:
        print_json([record(one) for one in records])
        return
    for one in records:
        for line in lines(one):
            click.echo(line)
    if none and not records:
        click.echo(none)


def say_paths(written: Iterable[Path], as_json: bool) -> None:
    """Where files were written, as whole paths."""
    say_each([str(path.resolve()) for path in written], as_json, lambda path: {"path": path}, lambda path: [path])


def _value(record: object, get: Get) -> Any:
    return attrgetter(get)(record) if isinstance(get, str) else get(record)


def _plain(value: Any) -> Any:
    """Money and paths as text; all else as it is."""
    return str(value) if isinstance(value, Decimal | PurePath) else value


def _written(value: Any) -> str:
    return "" if value is None else str(value)
