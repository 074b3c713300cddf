"""Undo and redo, from the history alone.

An act is what one verb changed in one transaction: its events share a batch. Undo is a new act whose events reverse
the old ones, last first; ``event.turns`` names the act that it reverses. Acts are taken back in the
order they were done, newest first, so a row is always as the act left it. A row that can be put aside
(``gone_at``) is put aside and brought back, and keeps its number.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from survey.model.verb import Verb
from survey.store.database import Change, Row, Store
from survey.store.tables import BIN_TABLES, get_key_columns

Way = Literal["undo", "redo"]
UNDO = Verb("undo", "Taken back")
REDO = Verb("redo", "Done again")
UNDO_VERBS = (UNDO, REDO)

_UNKNOWN = Verb("", "")
"""What an older or a later Teachest did under a name that this one has no more: it is taken back like any edit."""

_PAGE = 400


@dataclass(frozen=True, slots=True)
class Undoable:
    """The act that undo or redo would take next. ``batch`` names it."""

    batch: str
    at: str
    verb: str


def find_undo_and_redo(store: Store, verbs: Mapping[str, Verb]) -> tuple[Undoable | None, Undoable | None]:
    """The act that would be taken back next, and the one that would be done again; None where there is none.

    Once something new is done, what was taken back before it cannot be done again. What was done before the bin was
    emptied is not taken back: its rows may be gone for good. ``verbs``: those that are known, by name.
    """
    latest_way: dict[str, tuple[Way, int]] = {}
    newest_act_id: int | None = None
    again: Undoable | None = None
    for row in _batches_newest_first(store):
        if row["turns"] is not None:
            latest_way.setdefault(row["turns"], (row["verb"], row["id"]))
            continue
        verb = verbs.get(row["verb"], _UNKNOWN)
        if verb.ends_undo:
            break
        if not verb.undoable:
            continue
        newest_act_id = newest_act_id or row["id"]
        act = Undoable(row["batch"], row["at"], row["verb"])
        way, turned_id = latest_way.get(act.batch, ("redo", 0))
        if way == "redo":
            return act, again
        if turned_id > newest_act_id:
            again = act
    return None, again


def apply_undo_or_redo(store: Store, act: Undoable, way: Way, by: str) -> None:
    """Take the act back (undo) or do it again (redo), as one act of its own."""
    events = store.rows_of("event", "WHERE batch = ? ORDER BY id", [act.batch])
    with store.change(UNDO if way == "undo" else REDO, by, turns=act.batch) as change:
        for event in reversed(events) if way == "undo" else events:
            before, after = (_read_row(event[name]) for name in ("before", "after"))
            if way == "undo":
                before, after = after, before
            _change_row_to(change, event["entity"], before, after)


def _change_row_to(change: Change, table: str, now: Row | None, then: Row | None) -> None:
    """Change one row from its present state to the state it shall have; None where there is no row."""
    row = then or now or {}
    key = [row[name] for name in get_key_columns(table)]
    if then is None:
        if table in BIN_TABLES:
            change.update(table, key, {"gone_at": change.at})
        else:
            change.remove(table, key)
        return
    columns = {name: value for name, value in then.items() if name not in get_key_columns(table)}
    if table in BIN_TABLES:
        columns.setdefault("gone_at", None)
    if change.update(table, key, columns or {get_key_columns(table)[0]: key[0]}) is None:
        change.insert(table, then)


def _batches_newest_first(store: Store) -> Iterator[Row]:
    """The first event of each act, newest act first, read page by page: the answer is nearly always near the end."""
    below = (store.row("SELECT max(id) AS last FROM event") or {"last": None})["last"]
    while below is not None and below > 0:
        page = store.rows(
            "SELECT id, batch, at, verb, turns FROM event WHERE id <= ? ORDER BY id DESC LIMIT ?", [below, _PAGE]
        )
        yield from _first_events(page)
        below = _first_id(store, page[-1]["batch"]) - 1 if page else None


def _first_events(page: Iterable[Row]) -> Iterator[Row]:
    seen = ""
    for row in page:
        if row["batch"] != seen:
            seen = row["batch"]
            yield row


def _first_id(store: Store, batch: str) -> int:
    row = store.row("SELECT min(id) AS first FROM event WHERE batch = ?", [batch])
    return int(row["first"]) if row else 0


def _read_row(text: str | None) -> Row | None:
    row: dict[str, Any] | None = None if text is None else json.loads(text)
    return row
