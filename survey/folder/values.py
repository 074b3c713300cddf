"""What each column may hold. A value that cannot be is named, and breaks nothing that reads it.

The database checks the same of what it is given (see the schema); this is for what has happened to it since.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from survey.errors import BadSize, ForeignDatabase
from survey.folder.columns import COLUMNS
from survey.folder.plainly import PUT_BACK
from survey.gauge.spacing import read_width
from survey.model import DUTIES, GRADES, POSITION_STATES, SEEN, SHAPES, STEPS
from survey.planning.fits import FIT_RESULTS, FIT_SIDES
from survey.planning.gates import GATE_WORDS
from survey.planning.money import LINE_KINDS, LINE_STATES
from survey.planning.order import SAID_OF_STEPS
from survey.planning.outwork import BATCH_STATES, HYDROGEN_WORDS, THREADS_WORDS
from survey.planning.wants import SCARCITIES, WANT_STATES

Row = Mapping[str, Any]
Words = Mapping[tuple[str, str], Container[str]]
"""(table, column) -> the closed words it may hold, where another room has the say."""

_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d", re.ASCII)
_DECIMAL = re.compile(r"\d{1,9}(\.\d{1,2})?", re.ASCII)
_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)
_KEPT = re.compile(r"originals/([0-9a-f]{2})/(\1[0-9a-f]{62})\.[a-z]{2,5}", re.ASCII)


def _whole(value: Any) -> bool:
    return isinstance(value, int)


def _counted(value: Any) -> bool:
    return isinstance(value, int) and value > 0


def _measured(value: Any) -> bool:
    return isinstance(value, int | float) and math.isfinite(value)


def _list(value: Any) -> bool:
    said = _json(value)
    return isinstance(said, list) and all(isinstance(word, str) for word in said)


def _object(value: Any) -> bool:
    return value is None or isinstance(_json(value), dict)


def _named_texts(value: Any) -> bool:
    said = _json(value)
    return isinstance(said, dict) and all(isinstance(text, str) for text in said.values())


def _decimal(value: Any) -> bool:
    return isinstance(value, str) and _DECIMAL.fullmatch(value) is not None


def _decimal_or_none(value: Any) -> bool:
    return value is None or _decimal(value)


def _date(value: Any) -> bool:
    return isinstance(value, str) and _local_time(f"{value}T00:00:00")


def _answers(value: Any) -> bool:
    said = _json(value)
    return isinstance(said, dict) and all(answer in ("yes", "no") for answer in said.values())


def _day_or_empty(value: Any) -> bool:
    return value == "" or _date(value)


def _width_or_empty(value: Any) -> bool:
    if value == "":
        return True
    try:
        return isinstance(value, str) and read_width(value).mm >= 0
    except BadSize:
        return False


def _points(value: Any) -> bool:
    said = _json(value)
    return isinstance(said, list) and all(
        isinstance(point, list) and len(point) == 2 and all(_measured(at) and 0 <= at <= 1 for at in point)
        for point in said
    )


def _json(value: Any) -> Any:
    try:
        return json.loads(value)
    except (TypeError, ValueError, RecursionError):
        return None


def _local_time(value: Any) -> bool:
    if not isinstance(value, str) or not _TIME.fullmatch(value):
        return False
    try:
        datetime.fromisoformat(value)
    except ValueError:
        return False
    return True


def _utc(value: Any) -> bool:
    return isinstance(value, str) and value.endswith("Z") and _local_time(value[:-1])


def _kept_path(value: Any) -> bool:
    return isinstance(value, str) and _KEPT.fullmatch(value) is not None


def _gone(value: Any) -> bool:
    return value is None or _utc(value)


def _kept_whole(value: Any) -> bool:
    """No text with a NUL, which a backup would not give back; whole as it is, anything else."""
    return not (isinstance(value, str) and "\0" in value)


_Proof = Callable[[Any], bool]
_PRICED = ("want", "money_line", "sale_price", "batch")

HELD: dict[str, dict[str, _Proof]] = {
    "component": {
        "quantity": _counted, "duty": DUTIES.__contains__, "other_materials": _list, "names": _list, "faults": _list,
        "likely": _list, "sizes": _list,
    },
    "position": {"state": POSITION_STATES.__contains__, "at": _utc},
    "photo": {
        "width": _counted, "height": _counted, "bytes": _whole, "path": _kept_path,
        "taken": lambda value: value is None or _local_time(value),
        "taken_from": (None, "original", "digitized", "file").__contains__,
    },
    "machine": {"currency": lambda value: isinstance(value, str) and _CURRENCY.fullmatch(value) is not None},
    "part": {"quantity": _counted},
    "finding": {"step": STEPS.__contains__, "seen": SEEN.__contains__, "at": _utc},
    "look": {"seen": SEEN.__contains__, "at": _utc},
    "mark": {"shape": SHAPES.__contains__, "points": _points},
    "reading": {"value": _measured, "at": _utc, "uncertainty": lambda value: value is None or _measured(value)},
    "own_grade": {"grade": GRADES.__contains__, "at": _utc},
    "before_pair": {"hard": (0, 1).__contains__, "at": _utc},
    "pair_off": {"at": _utc},
    "step_said": {"state": SAID_OF_STEPS.__contains__, "at": _utc},
    "want": {
        "state": WANT_STATES.__contains__, "quantity": lambda value: value is None or _counted(value), "at": _utc,
        "since": _utc, "sizes": _named_texts, "low": _decimal_or_none, "likely": _decimal_or_none,
        "high": _decimal_or_none, "scarcity": ("", *SCARCITIES).__contains__,
    },
    "money_line": {
        "kind": LINE_KINDS.__contains__, "low": _decimal_or_none, "likely": _decimal_or_none,
        "high": _decimal_or_none, "state": LINE_STATES.__contains__, "spent": _decimal, "spent_at": _day_or_empty,
        "at": _utc,
    },
    "comparison": {
        "seen_on": _date, "price": _decimal, "sold": (0, 1).__contains__, "low": _decimal_or_none,
        "high": _decimal_or_none, "at": _utc,
    },
    "sale_price": {"low": _decimal_or_none, "likely": _decimal_or_none, "high": _decimal_or_none, "at": _utc},
    "budget": {"contingency": _decimal_or_none, "at": _utc},
    "gate_said": {"said": GATE_WORDS.__contains__, "at": _utc},
    "stuck": {"conditions": _list, "tried": _list, "out": (0, 1).__contains__, "at": _utc},
    "batch": {
        "state": BATCH_STATES.__contains__, "out_at": _day_or_empty, "promised": _day_or_empty,
        "back_at": _day_or_empty, "insured": _decimal_or_none, "low": _decimal_or_none, "likely": _decimal_or_none,
        "high": _decimal_or_none, "agreed": (0, 1).__contains__, "paid": _decimal_or_none, "answers": _named_texts,
        "at": _utc,
    },
    "batch_item": {
        "count": _counted, "before": _named_texts, "after": _named_texts, "said": _answers,
        "hydrogen": ("", *HYDROGEN_WORDS).__contains__, "threads": ("", *THREADS_WORDS).__contains__,
        "came_back": lambda value: value is None or (_whole(value) and value >= 0), "back_at": _day_or_empty,
        "checked_at": lambda value: value is None or _utc(value), "at": _utc,
    },
    "evidence": {"at": _utc},
    "pattern": {"at": _utc},
    "fit": {
        "result": FIT_RESULTS.__contains__, "side": FIT_SIDES.__contains__, "gap": _width_or_empty,
        "width": _width_or_empty, "at": _utc,
    },
    "event": {"at": _utc, "before": _object, "after": _object},
}  # fmt: skip
"""Table -> column -> whether a value can be there. Every other column holds text, a number or nothing."""


def faults(table: str, row: Row, words: Words) -> Iterator[str]:
    """What is wrong with a row: ``taken of photo 3 is 'rubbish'``."""
    proofs, wrong = HELD.get(table, {}), False
    number = next((row[name] for name in ("id", "component", "part") if name in row), "")
    for column, value in row.items():
        allowed = words.get((table, column))
        known = allowed is None or value is None or (isinstance(value, str) and value in allowed)
        held = proofs.get(column, _gone if column == "gone_at" else _kept_whole)
        if isinstance(value, bytes) or not known or not held(value):
            wrong = True
            yield f"{column} of {table} {number} is {str(value)[:60]!r}"
    if not wrong and table in _PRICED:
        prices = [Decimal(row[name]) for name in ("low", "likely", "high") if row.get(name) is not None]
        if prices != sorted(prices):
            yield f"low, likely and high of {table} {number} are out of order"
    if not wrong and table == "event":
        yield from _told_faults(row, words)


def _told_faults(event: Row, words: Words) -> Iterator[str]:
    """What is wrong with the rows that an event tells of: taking it back would write them."""
    table = event["entity"]
    if table not in COLUMNS or table == "event":
        yield f"entity of event {event['id']} is {str(table)[:60]!r}"
        return
    for side in ("before", "after"):
        told = _json(event[side])
        if event[side] is not None and not {*list(COLUMNS[table])[:2]} <= told.keys() <= COLUMNS[table].keys():
            yield f"{side} of event {event['id']} is no row of {table}"
        elif event[side] is not None:
            yield from (f"{side} of event {event['id']}: {fault}" for fault in faults(table, told, words))


def proved(folder: Path, table: str, rows: Iterable[Row], words: Words) -> None:
    """Refuse rows that hold what cannot be.

    Raises:
        ForeignDatabase: the first such value, named.
    """
    for row in rows:
        for fault in faults(table, row, words):
            raise ForeignDatabase(
                f"survey.db in {str(folder)!r} holds what it cannot: {fault}. It was changed from outside, or damaged.",
                PUT_BACK,
            )
