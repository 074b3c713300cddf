"""Rows of the database as records, and records as rows, after the records' own type hints."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal
from functools import cache
from operator import itemgetter
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from survey.model.price import Price
from survey.store.database import Row, Store

_Record = TypeVar("_Record")

COLUMN_OF = {"part_class": "class", "where": "place", "then": "after", "because": "reason"}
"""Field of a record -> the column it is kept in, where that has another name."""


def from_row(record: Callable[..., _Record], row: Row, **computed: Any) -> _Record:
    """A row as a record.

    Each field is read from the column of its name as its type says; a ``Price`` from low, likely and high.

    Args:
        record: a dataclass's class.
        computed: the fields that come from elsewhere.
    """
    reader = _reader(record, tuple(computed))
    for name in reader.prices:
        computed[name] = Price(*(_DECIMAL_OR_NONE(row[end]) for end in ("low", "likely", "high")))
    values = reader.cells({**row, **computed} if computed else row)
    if not reader.converted:
        return record(*values)
    converted = list(values)
    for index, convert in reader.converted:
        converted[index] = convert(converted[index])
    return record(*converted)


def to_row(record: Any) -> Row:
    """The row that keeps a record whose fields are texts, numbers, flags and tuples of texts."""
    return {COLUMN_OF.get(field.name, field.name): _cell(getattr(record, field.name)) for field in fields(record)}


def fetch_rows_on_live_parts(store: Store, table: str, parts: Sequence[int] | None = None) -> list[Row]:
    """The rows that are not in the bin, nor is their part, by number: all, or those of the parts asked for."""
    only, values = make_id_filter(f"{table}.part", parts)
    return store.rows_of(
        table,
        f"JOIN part ON part.id = {table}.part"
        f" WHERE {table}.gone_at IS NULL AND part.gone_at IS NULL{only} ORDER BY {table}.id",
        values,
    )


def make_id_filter(column: str, ids: Sequence[int] | None) -> tuple[str, list[Any]]:
    """The SQL that narrows a query to these ids, and its values; nothing where all are asked for."""
    if ids is None:
        return "", []
    return f" AND {column} IN (SELECT value FROM json_each(?))", [json.dumps(list(ids))]


def group_links(links: Iterable[Row], by: str, of: str) -> Mapping[int, tuple[int, ...]]:
    """Of rows that link two tables: the numbers in one column by those in the other, none where there is no link."""
    lists: defaultdict[int, list[int]] = defaultdict(list)
    for link in links:
        lists[link[by]].append(link[of])
    return defaultdict(tuple, {key: tuple(values) for key, values in lists.items()})


@dataclass(frozen=True, slots=True)
class _Reader:
    """How a record is read: the cells of its fields in order, places of those to be converted, and its prices."""

    cells: Callable[[Row], tuple[Any, ...]]
    converted: tuple[tuple[int, Callable[[Any], Any]], ...]
    prices: tuple[str, ...]


@cache
def _reader(record: Callable[..., object], computed: tuple[str, ...]) -> _Reader:
    hints = get_type_hints(record)  # in the order of the fields
    prices = tuple(name for name, hint in hints.items() if hint is Price and name not in computed)
    given = {*computed, *prices}
    return _Reader(
        itemgetter(*(name if name in given else COLUMN_OF.get(name, name) for name in hints)),
        tuple(
            (place, convert)
            for place, (name, hint) in enumerate(hints.items())
            if name not in given and (convert := _conversion(hint)) is not None
        ),
        prices,
    )


def _conversion(hint: Any) -> Callable[[Any], Any] | None:
    """What makes a value of that type of a cell; None where the cell is the value."""
    if type(None) in get_args(hint):
        inner = [_conversion(arg) for arg in get_args(hint) if arg is not type(None)]
        return _or_none(inner[0]) if len(inner) == 1 and inner[0] else None
    if hint is bool or hint is Decimal:
        return bool if hint is bool else Decimal
    if get_origin(hint) is tuple:
        return _TUPLES[get_args(hint)[0]]
    return json.loads if get_origin(hint) in (dict, Mapping) else None


def _or_none(convert: Callable[[Any], Any]) -> Callable[[Any], Any]:
    return lambda cell: None if cell is None else convert(cell)


_DECIMAL_OR_NONE = _or_none(Decimal)
_TUPLES: Mapping[Any, Callable[[str], tuple[Any, ...]]] = {
    str: lambda text: tuple(json.loads(text)),
    tuple[str, str]: lambda text: tuple(json.loads(text).items()),
    tuple[float, float]: lambda text: tuple((float(x), float(y)) for x, y in json.loads(text)),
}
"""What makes a tuple of a JSON text, by what the tuple holds."""


def _cell(value: Any) -> Any:
    if isinstance(value, tuple):
        return json.dumps(value, ensure_ascii=False)
    return int(value) if isinstance(value, bool) else value
