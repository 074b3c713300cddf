"""The bin: rows that were put aside, put back with all that went with them, or taken out for good after 30 days.

Nothing leaves the history: what is taken out stands there as it last was. A photo's bytes are the one thing that is
then really gone.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from survey.errors import BadValue, NoSuchThing
from survey.folder.columns import COLUMNS
from survey.folder.store import Change, Row, Store, keys_of

KINDS = ("part", "photo", "finding", "look", "reading", "mark", "number")
"""What is shown in the bin, by table."""

EMPTIED = "empty bin"
"""The act that takes things out for good; nothing from before it is taken back."""

# A column of these names holds the number of a row of that table.
_REFERS = {"part": "part", "inside": "part", "photo": "photo", "finding": "finding", "look": "look"}
_Named = tuple[str, tuple[Any, ...]]


@dataclass(frozen=True, slots=True)
class Binned:
    """Something in the bin: kind (one of ``KINDS``), number, UTC time it was put aside, and its row."""

    kind: str
    id: int
    gone_at: str
    row: Row


def binned(store: Store) -> list[Binned]:
    """What is in the bin, the latest first; what lies there with a thing it belongs to comes with that thing."""
    found = [
        Binned(kind, row["id"], row["gone_at"], row)
        for kind in KINDS
        for row in store.rows_of(kind, "WHERE gone_at IS NOT NULL")
        if not _orphaned(store, kind, row)
    ]
    return sorted(found, key=lambda one: (one.gone_at, one.kind, one.id), reverse=True)


def put_back(store: Store, kind: str, number: int, verb: str, by: str) -> None:
    """Put a thing back, with the marks and links that went with it in the same act and still lie as they fell.

    Raises:
        NoSuchThing: no such thing is in the bin.
        BadValue: what it belongs to is in the bin itself.
    """
    rows = store.rows_of(kind, "WHERE id = ? AND gone_at IS NOT NULL", [number]) if kind in KINDS else []
    if not rows:
        raise NoSuchThing(f"There is no {kind} {number} in the bin.", "See what is, with: teachest bin FOLDER")
    if holder := _orphaned(store, kind, rows[0]):
        raise BadValue(
            f"The {kind} {number} belongs to {holder}, which is in the bin too.", f"Put {holder} back first."
        )
    events = store.rows_of("event", _ACT_THAT_PUT_ASIDE, [kind, str(number), rows[0]["gone_at"]])
    with store.change(verb, by) as change:
        change.update(kind, [number], {"gone_at": None})
        for event in reversed(events):
            before, after = (json.loads(event[side]) if event[side] else None for side in ("before", "after"))
            if before and (before.get(kind) == number or (kind == "part" and before.get("inside") == number)):
                _lead_back(store, change, event["entity"], before, after)


_ACT_THAT_PUT_ASIDE = (
    "WHERE batch = (SELECT batch FROM event WHERE entity = ? AND entity_id = ?"
    " AND json_extract(after, '$.gone_at') = ? ORDER BY id DESC LIMIT 1) ORDER BY id"
)


def _lead_back(store: Store, change: Change, table: str, before: Row, after: Row | None) -> None:
    key = [before[name] for name in keys_of(table)]
    where = " AND ".join(f'"{name}" = ?' for name in keys_of(table))
    now = store.row(f'SELECT * FROM "{table}" WHERE {where}', key)
    if now is None and after is None and not _missing(store, before):
        change.insert(table, before)
    elif now is not None and after is not None and all(now[name] == value for name, value in after.items()):
        changed = {name: value for name, value in before.items() if now[name] != value}
        change.update(table, key, {"gone_at": None} | changed if "gone_at" in now else changed)


def _missing(store: Store, row: Row) -> bool:
    """Whether a row names one that was taken out for good."""
    named = [(_REFERS[name], value) for name, value in row.items() if name in _REFERS and value is not None]
    return any(store.row(f'SELECT 1 FROM "{table}" WHERE id = ?', [value]) is None for table, value in named)


def _orphaned(store: Store, kind: str, row: Row) -> str:
    """What in the bin it belongs to, as ``part 3``; empty where all that it belongs to stands."""
    for name, table in _REFERS.items():
        if row.get(name) is not None and name != kind:
            holder = store.row(f'SELECT gone_at FROM "{table}" WHERE id = ?', [row[name]])
            if holder is None or holder["gone_at"] is not None:
                return f"{table} {row[name]}"
    return ""


def old(store: Store, before: str) -> list[Binned]:
    """What was put aside before that UTC time, what hangs on other things first."""
    return [
        Binned(kind, row["id"], row["gone_at"], row)
        for kind in reversed(KINDS)
        for row in store.rows_of(kind, "WHERE gone_at < ? ORDER BY id", [before])
    ]


def empty(store: Store, before: str, by: str) -> list[Binned]:
    """Take out for good what was put aside before that UTC time, if all that hangs on it was too; returns what it was.

    The rows go first, then the photos' files: a power cut between leaves files, which ``check`` tells of.
    """
    removed = []
    with store.change(EMPTIED, by) as change:
        for one in old(store, before):
            hanging = list(_hanging(store, (one.kind, (one.id,))))
            if all(_old_enough(store, hung, before) for hung in hanging):
                for table, key in hanging:
                    change.remove(table, key)
                _let_go(store, change, one.kind, one.id)
                change.remove(one.kind, [one.id])
                removed.append(one)
    for one in removed:
        if one.kind == "photo":
            _remove_files(store.folder, one.row)
    return removed


def _hanging(store: Store, thing: _Named) -> Iterator[_Named]:
    """Every row that cannot be without that one, each after what hangs on itself."""
    table, key = thing
    for child, column in _columns_that_name(table):
        if (child, column) in _LOOSE:
            continue
        for row in store.rows(f'SELECT * FROM "{child}" WHERE "{column}" = ?', [key[0]]):
            hung = (child, tuple(row[name] for name in keys_of(child)))
            if "gone_at" in row:
                yield from _hanging(store, hung)
            yield hung


_LOOSE = {("part", "inside"), ("mark", "part"), ("mark", "finding")}  # may name nothing instead


def _columns_that_name(table: str) -> list[tuple[str, str]]:
    return [
        (child, column)
        for child, columns in COLUMNS.items()
        for column in columns
        if child != "event" and _REFERS.get(column) == table and (child, column) != (table, table)
    ]


def _let_go(store: Store, change: Change, kind: str, number: int) -> None:
    """What may name nothing names the thing no longer."""
    for child, column in _LOOSE:
        if _REFERS[column] == kind:
            for row in store.rows(f'SELECT id FROM "{child}" WHERE "{column}" = ?', [number]):
                change.update(child, [row["id"]], {column: None})


def _old_enough(store: Store, thing: _Named, before: str) -> bool:
    """Whether it was put aside before that time, or never by itself."""
    table, key = thing
    if "gone_at" not in COLUMNS[table]:
        return True
    row = store.row(f'SELECT gone_at FROM "{table}" WHERE id = ?', key)
    return row is None or row["gone_at"] is None or row["gone_at"] < before


def _remove_files(folder: Path, photo: Row) -> None:
    from survey.folder import pictures

    made = (pictures.picture_file(folder, photo["sha256"], size) for size in get_args(pictures.Size))
    for file in (folder / photo["path"], *made):
        with contextlib.suppress(OSError):  # check tells of what could not be removed
            file.unlink()
