"""The bin: rows that were put aside, put back with all that went with them, or taken out for good after 30 days.

Nothing leaves the history: what is taken out stands there as it last was. A photo's bytes are the one thing that is
then really gone. What hangs on what is read from the schema, so that a new table needs no word here.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Container, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from survey.errors import BadValue, NextStep, NoSuchThing
from survey.model.verb import Verb
from survey.store.database import Change, Row, Store
from survey.store.references import Named, References, row_key_in
from survey.store.tables import SOFT, keys_of

KINDS = SOFT
"""What is shown in the bin, by table."""

PUT_BACK = Verb("put back", "Put back")
EMPTY_BIN = Verb("empty bin", "Bin emptied", ends_undo=True)
BIN_VERBS = (PUT_BACK, EMPTY_BIN)

# These name nothing any more once what they name is taken out for good. Any other reference keeps it in the bin.
_LETS_GO = {("part", "inside"), ("mark", "part"), ("mark", "finding"), ("evidence", "photo")}


@dataclass(frozen=True, slots=True)
class BinRow:
    """Something in the bin: kind (one of ``KINDS``), number or id, UTC time it was put aside, and its row."""

    kind: str
    id: int | str
    gone_at: str
    row: Row


def list_bin_rows(store: Store) -> list[BinRow]:
    """What is in the bin, the latest first; what lies there with a thing it belongs to comes with that thing."""
    references = References(store)
    found = [
        BinRow(kind, row["id"], row["gone_at"], row)
        for kind in KINDS
        for row in store.rows_of(kind, "WHERE gone_at IS NOT NULL")
        if not find_holder_in_bin(store, references, kind, row)
    ]
    return sorted(found, key=lambda one: (one.gone_at, one.kind, str(one.id).zfill(20)), reverse=True)


def find_bin_row(store: Store, kind: str, name: int | str) -> Row:
    """The row of that kind and number (as text, too) that lies in the bin.

    Raises:
        NoSuchThing: there is none.
    """
    rows = store.rows_of(kind, _IN_BIN, [str(name)]) if kind in KINDS else []
    if not rows:
        called = str(name)[:40]
        raise NoSuchThing(f"There is no {kind} {called} in the bin.", NextStep.SEE_BIN)
    return rows[0]


_IN_BIN = "WHERE gone_at IS NOT NULL AND CAST(id AS TEXT) = ?"


def put_row_back(store: Store, kind: str, row: Row, by: str, without: Container[Named] = frozenset()) -> None:
    """Put a thing back, with the marks and links that went with it in the same act and still lie as they fell.

    What went with one of those comes back as well: with a position its want, and with the want what paid for it.

    Args:
        row: as ``in_bin`` gave it. without: rows that stay where they are although they went with it.

    Raises:
        BadValue: what it belongs to is in the bin itself, or another stands in its place since.
    """
    references, key = References(store), row["id"]
    if holder := find_holder_in_bin(store, references, kind, row):
        raise BadValue(f"The {kind} {key} belongs to {holder}, which is in the bin too.", f"Put {holder} back first.")
    events = store.rows_of("event", _ACT_THAT_PUT_ASIDE, [kind, str(key), row["gone_at"]])
    try:
        with store.change(PUT_BACK, by) as change:
            change.update(kind, [key], {"gone_at": None})
            back = {(kind, key)}
            for event in reversed(events):
                before, after = (json.loads(event[side]) if event[side] else None for side in ("before", "after"))
                if not before or (event["entity"], row_key_in(event["entity"], before)) in without:
                    continue
                named = set(references.named(event["entity"], before))
                if back & named and _lead_back(store, references, change, event["entity"], before, after):
                    back.add((event["entity"], row_key_in(event["entity"], before)[0]))
    except BadValue as refusal:
        if "UNIQUE" not in str(refusal.__cause__):
            raise
        raise BadValue(
            f"The {kind} {key} cannot come back: another stands in its place since.", "Put that one aside first."
        ) from refusal


_ACT_THAT_PUT_ASIDE = (
    "WHERE batch = (SELECT batch FROM event WHERE entity = ? AND entity_id = ?"
    " AND json_extract(after, '$.gone_at') = ? ORDER BY id DESC LIMIT 1) ORDER BY id"
)


def _lead_back(
    store: Store, references: References, change: Change, table: str, before: Row, after: Row | None
) -> bool:
    """Lead a row back to how it was before, where it still lies as it fell; whether it did."""
    key = row_key_in(table, before)
    now = _row(store, table, key)
    if now is None and after is None and not _names_what_is_gone(store, references, table, before):
        change.insert(table, before)
        return True
    if now is not None and after is not None and all(now[name] == value for name, value in after.items()):
        changed = {name: value for name, value in before.items() if now[name] != value}
        change.update(table, key, {"gone_at": None} | changed if "gone_at" in now else changed)
        return True
    return False


def remove_links(store: Store, change: Change, kind: str, number: int) -> None:
    """Within an act that puts a thing in the bin: what shows it shows it no more; ``put_back`` puts that back too.

    A link to it is taken out, a row that may name nothing names it no longer, any other is put aside with it.
    """
    references = References(store)
    for one in references.to(kind):
        for row in references.rows(one, number):
            key, soft = row_key_in(one.table, row), "gone_at" in row
            if soft and row["gone_at"] is not None:
                continue
            if one.loose:
                change.update(one.table, key, {one.column: None})
            elif soft:
                change.update(one.table, key, {"gone_at": change.at})
            else:
                change.remove(one.table, key)


def _names_what_is_gone(store: Store, references: References, table: str, row: Row) -> bool:
    """Whether a row names one that was taken out for good."""
    return any(_row(store, names, (key,)) is None for names, key in references.named(table, row))


def find_holder_in_bin(store: Store, references: References, kind: str, row: Row) -> str:
    """What in the bin it belongs to, as ``part 3``; empty where all that it belongs to stands."""
    for names, key in references.named(kind, row):
        if names in SOFT:
            holder = _row(store, names, (key,))
            if holder is None or holder["gone_at"] is not None:
                return f"{names} {key}"
    return ""


def list_old_rows(store: Store, before: str) -> list[BinRow]:
    """What was put aside before that UTC time, what hangs on other things first."""
    return [
        BinRow(kind, row["id"], row["gone_at"], row)
        for kind in reversed(KINDS)
        for row in store.rows_of(kind, "WHERE gone_at < ? ORDER BY id", [before])
    ]


def empty_bin_rows(store: Store, before: str, by: str) -> list[BinRow]:
    """Take out for good what was put aside before that UTC time, if all that hangs on it was too; returns what it was.

    The rows go first, then the photos' files: a power cut between leaves files, which ``check`` tells of.
    """
    references, removed = References(store), list[BinRow]()
    with store.change(EMPTY_BIN, by) as change:
        for one in list_old_rows(store, before):
            thing = (one.kind, (one.id,))
            going = [*dict.fromkeys(_hanging(references, thing)), thing]
            if all(_may_go(store, references, row, going, before) for row in going):
                for row in going:
                    _take_out(references, change, row)
                removed.append(one)
    for one in removed:
        if one.kind == "photo":
            _remove_files(store.folder, one.row)
    return removed


def _hanging(references: References, thing: Named) -> Iterator[Named]:
    """Every row that cannot be without that one, each after what hangs on itself."""
    table, key = thing
    for one in references.to(table):
        if not one.loose:
            for row in references.rows(one, key[0]):
                hung = (one.table, row_key_in(one.table, row))
                yield from _hanging(references, hung)
                yield hung


def _may_go(store: Store, references: References, thing: Named, going: list[Named], before: str) -> bool:
    """Whether it was put aside before that time, or never by itself, and nothing that stays needs it."""
    table, key = thing
    row = _row(store, table, key) or {}
    if (row.get("gone_at") or "") >= before:
        return False
    return all(
        (one.table, row_key_in(one.table, naming)) in going
        for one in references.to(table)
        if one.loose and (one.table, one.column) not in _LETS_GO
        for naming in references.rows(one, key[0])
    )


def _take_out(references: References, change: Change, thing: Named) -> None:
    table, key = thing
    for one in references.to(table):
        if one.loose:
            for row in references.rows(one, key[0]):
                change.update(one.table, row_key_in(one.table, row), {one.column: None})
    change.remove(table, key)


def _row(store: Store, table: str, key: tuple[int | str, ...]) -> Row | None:
    where = " AND ".join(f'"{name}" = ?' for name in keys_of(table))
    return store.row(f'SELECT * FROM "{table}" WHERE {where}', key)


def _remove_files(folder: Path, photo: Row) -> None:
    from survey.store.layout import Size, picture_path

    made = (picture_path(folder, photo["sha256"], size) for size in get_args(Size))
    for file in (folder / photo["path"], *made):
        with contextlib.suppress(OSError):  # check tells of what could not be removed
            file.unlink()
