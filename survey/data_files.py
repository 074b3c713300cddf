"""Reads the files of survey/data: TOML and CSV texts into frozen dataclasses, by their type hints.

A field without a default is a cell that must be there and filled; one with a default may be left out. ``Literal`` and
the words a caller hands in close a cell; ids are used once. Every fault is a BrokenKnowledge with file, line,
row, cell, what is wrong and what was allowed. CSV is as RFC 4180 has it, under lines of remarks that start with
``#``; in a cell of it a semicolon parts the entries of a list.
"""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass
from functools import lru_cache
from importlib.resources import files
from types import NoneType, UnionType
from typing import Any, Literal, NamedTuple, TypeVar, Union, get_args, get_origin, get_type_hints

from survey.errors import BrokenKnowledge

Record = TypeVar("Record")
Words = Mapping[str, "Closed | Collection[object]"]

_YES_NO = {"yes": True, "no": False}
_SCALARS = {str: "text", bool: "true or false", int: "a whole number", float: "a number"}


class Closed(NamedTuple):
    """The words a cell may use, and what a fault says of any other: ``'tin' is no word of ours``."""

    words: Collection[object]
    otherwise: str = "is no word of ours"


class _Field(NamedTuple):
    name: str
    hint: Any
    needed: bool


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a data file, or one table of it; knows its file and line. ``text``: its cells are words of a CSV."""

    file: str
    line: int
    cells: Mapping[str, Any]
    text: bool = False

    @property
    def id(self) -> str:
        """Its id, or ``without an id``."""
        return str(self.cells.get("id") or "without an id")

    def fault(self, cell: str, wrong: str, allowed: Iterable[object] = ()) -> BrokenKnowledge:
        """The error for one cell of this row."""
        return make_fault(self.file, self.line, self.id, cell, wrong, allowed)

    def record(
        self,
        kind: type[Record],
        words: Words | None = None,
        cells: Mapping[str, str] | None = None,
        besides: Collection[str] = (),
        empty: Collection[str] = (),
        needed: Collection[str] = (),
        **given: Any,
    ) -> Record:
        """The row as a record of that dataclass; raises BrokenKnowledge at the first cell that is not allowed.

        ``words``: by field, the words it may use. ``cells``: by field, its cell where that has another name.
        ``besides``: cells the caller reads itself. ``empty``: fields that must be there and may be empty.
        ``needed``: fields that must be there though they have a default.
        ``given``: fields that are not read from the row.
        """
        cells, words = cells or {}, words or {}
        declared: Any = kind
        wanted = [(field, cells.get(field.name, field.name)) for field in _fields(declared) if field.name not in given]
        self._refuse_unknown([cell for _, cell in wanted], besides)
        values = dict(given)
        for field, cell in wanted:
            value, must = self.cells.get(cell), field.needed or field.name in needed
            if value is None or (value in ("", []) and must and field.name not in empty and not self.text):
                if must:
                    wrong = f"it is not there, or empty; it has the cells {', '.join(self.cells)}"
                    raise self.fault(cell, wrong, [name for _, name in wanted])
            elif not self.text or value != "" or (must and NoneType not in get_args(field.hint)):
                hint = _unclosed(field.hint) if field.name in words else field.hint
                values[field.name] = self._value(cell, hint, value)
            elif must:
                values[field.name] = None
        for name, closed in words.items():
            self.check_words(cells.get(name, name), values.get(name, ()), closed)
        return kind(**values)

    def check_words(self, cell: str, value: object, closed: Closed | Collection[object]) -> None:
        """Refuse a word, or any word of a list, that is not one of those allowed."""
        allowed, otherwise = closed if isinstance(closed, Closed) else Closed(closed)
        for word in value if isinstance(value, tuple | frozenset | list) else (value,):
            if word not in allowed:
                raise self.fault(cell, f"{word!r} {otherwise}", allowed)

    def entries(self, cell: str) -> tuple[str, ...]:
        """The entries of a list in a cell of a CSV, each of them once."""
        value = self.cells[cell]
        entries = tuple(entry.strip() for entry in value.split(";")) if value else ()
        for entry in entries:
            if not entry or entries.count(entry) > 1:
                raise self.fault(cell, f"{entry!r} is empty or said twice", ("entries parted by semicolons",))
        return entries

    def yes(self, cell: str) -> bool:
        """Yes or no, in a cell of a CSV."""
        if self.cells[cell] not in _YES_NO:
            raise self.fault(cell, f"{self.cells[cell]!r}", _YES_NO)
        return _YES_NO[self.cells[cell]]

    def _refuse_unknown(self, known: Sequence[str], besides: Collection[str]) -> None:
        for cell in self.cells if not self.text else ():
            if cell not in known and cell not in besides:
                raise self.fault(cell, "there is no such cell", (*known, *besides))

    def _value(self, cell: str, hint: Any, value: Any) -> Any:
        """The value of a cell as its type hint wants it."""
        origin, inner = get_origin(hint), get_args(hint)
        if origin in (Union, UnionType):
            return self._value(cell, next(arg for arg in inner if arg is not NoneType), value)
        if origin is Literal:
            self.check_words(cell, value, Closed(inner, f"is no {cell}"))
            return value
        if origin in (tuple, frozenset):
            return origin(self._list(cell, inner, value))
        if is_dataclass(hint) and isinstance(hint, type):
            nested: Any = hint
            return Row(self.file, self.line, self._of_kind(cell, dict, "a table", value)).record(nested)
        return self._scalar(cell, hint, value)

    def _list(self, cell: str, inner: tuple[Any, ...], value: Any) -> list[Any]:
        if self.text:
            return [*self.entries(cell)]
        entries = self._of_kind(cell, list, "a list", value)
        several = inner[-1] is Ellipsis or len(inner) == 1
        if not several and len(entries) != len(inner):
            raise self.fault(cell, f"{value!r}", (f"a list of {len(inner)}",))
        hints = [inner[0]] * len(entries) if several else inner
        return [self._value(cell, hint, entry) for hint, entry in zip(hints, entries, strict=True)]

    def _scalar(self, cell: str, hint: Any, value: Any) -> Any:
        if not self.text:
            if type(value) is not hint and not (hint is float and type(value) is int):
                raise self.fault(cell, f"{value!r}", (_SCALARS[hint],))
            return value
        if hint is bool:
            return self.yes(cell)
        if hint is int:
            if not value.isdecimal() or int(value) < 1:
                raise self.fault(cell, f"{value!r}", ("a whole number from 1",))
            return int(value)
        return self.filled(cell)

    def filled(self, cell: str) -> str:
        """The words of a cell of a CSV, which must be there."""
        value: str = self.cells[cell]
        if not value or value != value.strip():
            raise self.fault(cell, f"{value!r}", ("words without blanks round them",))
        return value

    def _of_kind(self, cell: str, kind: type, words: str, value: Any) -> Any:
        if not isinstance(value, kind):
            raise self.fault(cell, f"{value!r}", (words,))
        return value


class TomlFile:
    """One TOML file: the rows of its sections with the lines they start on.

    ``sections``: those it may have; None: the caller looks itself. Raises BrokenKnowledge where it is no TOML.
    """

    def __init__(self, name: str, text: str, sections: Sequence[str] | None = None) -> None:
        self.name, self.text = name, text
        try:
            self.content = tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise BrokenKnowledge(f"{name} is not readable TOML: {error}.", "Mend the file.") from error
        for section in self.content if sections is not None else ():
            if section not in (sections or ()):
                line = find_line(text, rf"\[+{re.escape(section)}\]")
                raise make_fault(name, line, section, "section", "there is no such section", sections or ())

    def rows(self, section: str) -> tuple[Row, ...]:
        """The rows ``[[section]]``, none of which has the id of another."""
        raws = self.content.get(section, [])
        header = re.compile(rf"\s*\[\[\s*{re.escape(section)}\s*\]\]")
        lines = [number for number, line in enumerate(self.text.splitlines(), 1) if header.match(line)]
        if not isinstance(raws, list) or len(raws) != len(lines):
            raise make_fault(self.name, 1, section, "section", "it is no list of rows", (f"[[{section}]]",))
        return _used_once([Row(self.name, line, raw) for line, raw in zip(lines, raws, strict=True)])

    def table(self, section: str) -> Row:
        """The one table ``[section]``, its name for an id; empty where there is none."""
        raw = self.content.get(section, {})
        return Row(self.name, find_line(self.text, rf"\[{section}\]"), {"id": section, **raw})

    def records(self, section: str, kind: type[Record], words: Words | None = None, **more: Any) -> tuple[Record, ...]:
        """Every row ``[[section]]`` as a record; ``words`` and ``more`` as for ``Row.record``."""
        return tuple(row.record(kind, words, **more) for row in self.rows(section))

    def fault_of(self, row: str, cell: str, wrong: str, allowed: Iterable[object] = ()) -> BrokenKnowledge:
        """The error for a cell of the row of that id."""
        return make_fault(self.name, find_line(self.text, rf'id = "{re.escape(row)}"'), row, cell, wrong, allowed)


def read_csv(name: str, text: str, columns: Sequence[str]) -> tuple[Row, ...]:
    """The rows of a CSV text that has these columns, none with the id of another. Raises BrokenKnowledge."""
    lines = text.splitlines()
    head = next((number for number, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = csv.reader(lines[head:], strict=True)
    rows: list[Row] = []
    try:
        header = next(table, [])
        if header != list(columns):
            wrong = next((got for got, want in zip(header, columns, strict=False) if got != want), "the last")
            raise make_fault(name, head + 1, "header", wrong, "the columns are not those of this file", columns)
        for cells in table:
            line = head + table.line_num
            if len(cells) != len(columns):
                row, wrong = cells[0] if cells else "empty", f"{len(cells)} cells"
                raise make_fault(name, line, row, "the row", wrong, (f"{len(columns)} cells",))
            rows.append(Row(name, line, dict(zip(columns, cells, strict=True)), text=True))
    except csv.Error as error:
        where = head + table.line_num
        raise BrokenKnowledge(f"{name}, line {where} is not readable CSV: {error}.", "Mend that line.") from error
    return _used_once(rows)


def read_data_text(path: str) -> str:
    """The text of a file of the product data, wherever the package is installed."""
    return files("survey").joinpath("data", *path.split("/")).read_text("utf-8")


def find_line(text: str, start: str) -> int:
    """The number of the first line that starts with that pattern; 1 where none does."""
    begins: Callable[[str], object] = re.compile(start).match
    return next((number for number, line in enumerate(text.splitlines(), 1) if begins(line)), 1)


def make_fault(
    file: str, line: int, row: str, cell: str, wrong: str, allowed: Iterable[object] = ()
) -> BrokenKnowledge:
    """The error for one cell: file, line, row, cell, what is wrong and what was allowed."""
    listed = ", ".join(map(str, allowed))
    listed = f"; allowed: {listed}" if listed else ""
    return BrokenKnowledge(f"{file}, line {line}, row {row}, cell {cell}: {wrong}{listed}.", "Mend that cell.")


def _used_once(rows: Sequence[Row]) -> tuple[Row, ...]:
    lines: dict[object, int] = {}
    for row in rows:
        if row.cells.get("id") and lines.setdefault(row.id, row.line) != row.line:
            raise row.fault("id", f"it is used already at line {lines[row.id]}", ("an id of its own",))
    return tuple(rows)


def _unclosed(hint: Any) -> Any:
    """The hint of a field whose words a caller closes: those of its ``Literal`` do not count."""
    inner = [arg for arg in get_args(hint) if arg is not NoneType] if get_origin(hint) in (Union, UnionType) else [hint]
    return str if get_origin(inner[0]) is Literal else hint


@lru_cache(maxsize=64)
def _fields(kind: Any) -> tuple[_Field, ...]:
    hints = get_type_hints(kind)
    return tuple(
        _Field(field.name, hints[field.name], field.default is MISSING and field.default_factory is MISSING)
        for field in fields(kind)
        if field.init
    )
