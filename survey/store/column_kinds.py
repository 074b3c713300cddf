"""What the tables of the survey's database are declared with: kinds of column, by what a column may hold.

The schema's own CHECKs look at what is written; these checks find what was changed from outside since.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from survey.errors import BadSize
from survey.widths import parse_width


@dataclass(frozen=True, slots=True)
class Kind:
    """What a column may hold.

    ``allows``: whether a value can be there. ``vocabulary``: the name of the closed words it is one of, where they are
    read from the product's data and are given from outside; None may be there too.
    """

    allows: Callable[[Any], bool]
    vocabulary: str = ""

    def __call__(self, meaning: str) -> Column:
        """A column of this kind; ``meaning``: what it is for, as docs/reference/schema.md shows it."""
        return Column(self, meaning)


@dataclass(frozen=True, slots=True)
class Column:
    """A column: what it may hold and what it is for."""

    kind: Kind
    meaning: str


class Table:
    """A table: what one row of it is called, the columns that name a row, and all its columns in order.

    ``is_priced``: its rows have a low, a likely and a high price, which must be in that order.
    """

    def __init__(self, noun: str, key: tuple[str, ...] = ("id",), /, **columns: Column) -> None:
        """Declare a table."""
        self.noun = noun
        self.key = key
        self.columns = columns
        self.is_priced = {"low", "likely", "high"} <= columns.keys()


def one_of(words: Iterable[object], meaning: str) -> Column:
    """A column that holds one of these words or numbers."""
    return Column(Kind(tuple(words).__contains__), meaning)


def vocabulary(name: str, meaning: str) -> Column:
    """A column that holds one of the words of that vocabulary of the product's data."""
    return Column(Kind(_holds_no_nul, name), meaning)


def read_json(value: Any) -> Any:
    """The value of a JSON text; None where it is no JSON."""
    try:
        return json.loads(value)
    except (TypeError, ValueError, RecursionError):
        return None


def _or(empty: object, allows: Callable[[Any], bool]) -> Kind:
    return Kind(lambda value: value == empty or allows(value))


def _holds_no_nul(value: Any) -> bool:
    """Whether it is no text with a NUL, which a backup would not give back."""
    return not (isinstance(value, str) and "\0" in value)


def _is_whole(value: Any) -> bool:
    return isinstance(value, int)


def _is_count(value: Any) -> bool:
    return isinstance(value, int) and value > 0


def _is_measure(value: Any) -> bool:
    return isinstance(value, int | float) and math.isfinite(value)


def _is_like(pattern: str) -> Callable[[Any], bool]:
    compiled = re.compile(pattern, re.ASCII)
    return lambda value: isinstance(value, str) and compiled.fullmatch(value) is not None


_looks_like_time = _is_like(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d")
_is_decimal = _is_like(r"\d{1,9}(\.\d{1,2})?")


def _is_local_time(value: Any) -> bool:
    if not _looks_like_time(value):
        return False
    try:
        datetime.fromisoformat(value)
    except ValueError:
        return False
    return True


def _is_utc(value: Any) -> bool:
    return isinstance(value, str) and value.endswith("Z") and _is_local_time(value[:-1])


def _is_day(value: Any) -> bool:
    return isinstance(value, str) and _is_local_time(f"{value}T00:00:00")


def _is_width(value: Any) -> bool:
    try:
        return isinstance(value, str) and parse_width(value).mm >= 0
    except BadSize:
        return False


def _is_list_of_words(value: Any) -> bool:
    decoded = read_json(value)
    return isinstance(decoded, list) and all(isinstance(word, str) for word in decoded)


def _is_object_of_texts(value: Any) -> bool:
    decoded = read_json(value)
    return isinstance(decoded, dict) and all(isinstance(text, str) for text in decoded.values())


def _is_object_of_answers(value: Any) -> bool:
    decoded = read_json(value)
    return isinstance(decoded, dict) and all(answer in ("yes", "no") for answer in decoded.values())


def _is_list_of_points(value: Any) -> bool:
    decoded = read_json(value)
    return isinstance(decoded, list) and all(
        isinstance(point, list) and len(point) == 2 and all(_is_measure(at) and 0 <= at <= 1 for at in point)
        for point in decoded
    )


TEXT = Kind(_holds_no_nul)
NUMBER = Kind(_holds_no_nul)
"""The number or id of a row, a place in an order or a plain flag, as the database keeps it; not checked further."""
WHOLE = Kind(_is_whole)
COUNT = Kind(_is_count)
COUNT_OR_NONE = _or(None, _is_count)
NOUGHT_OR_MORE_OR_NONE = _or(None, lambda value: _is_whole(value) and value >= 0)
MEASURE = Kind(_is_measure)
MEASURE_OR_NONE = _or(None, _is_measure)
FLAG = Kind((0, 1).__contains__)
DECIMAL = Kind(_is_decimal)
DECIMAL_OR_NONE = _or(None, _is_decimal)
LOCAL_TIME_OR_NONE = _or(None, _is_local_time)
UTC = Kind(_is_utc)
UTC_OR_NONE = _or(None, _is_utc)
DAY = Kind(_is_day)
DAY_OR_EMPTY = _or("", _is_day)
WIDTH_OR_EMPTY = _or("", _is_width)
CURRENCY = Kind(_is_like("[A-Z]{3}"))
ORIGINAL_PATH = Kind(_is_like(r"originals/([0-9a-f]{2})/(\1[0-9a-f]{62})\.[a-z]{2,5}"))
WORDS_JSON = Kind(_is_list_of_words)
TEXTS_JSON = Kind(_is_object_of_texts)
ANSWERS_JSON = Kind(_is_object_of_answers)
POINTS_JSON = Kind(_is_list_of_points)
ROW_JSON_OR_NONE = _or(None, lambda value: isinstance(read_json(value), dict))

NOTE = TEXT("the owner's note")
GONE_AT = UTC_OR_NONE("UTC time at which it was put aside, or empty while it stands")
SIGNED = {"by": TEXT("who recorded it"), "at": UTC("UTC time of recording")}
SIGNED_SOFT = {**SIGNED, "gone_at": GONE_AT}
