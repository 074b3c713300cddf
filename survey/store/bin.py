"""The bin: rows that were put aside, put back with all that went with them, or taken out for good after 30 days.

Nothing leaves the history: it keeps the last state of every row that is taken out. Only a photo's bytes are really
gone then. Which row depends on which is read from the schema, so a new table needs no change here.
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
from survey.store.references import References, RowKey, row_key_in
from survey.store.tables import BIN_TABLES, get_key_columns

KINDS = BIN_TABLES
"""What is shown in the bin, by table."""

PUT_BACK = Verb("put back", "Put back")
EMPTY_BIN = Verb("empty bin", "Bin emptied", ends_undo=True)
BIN_VERBS = (PUT_BACK, EMPTY_BIN)

# These name nothing any more once what they name is taken out for good. Any other reference keeps it in the bin.
_CLEARED_REFERENCES = {("part", "inside"), ("mark", "part"), ("mark", "finding"), ("evidence", "photo")}

_IN_BIN = "WHERE gone_at IS NOT NULL AND CAST(id AS TEXT) = ?"
_ACT_THAT_PUT_ASIDE = (
    "WHERE batch = (SELECT batch FROM event WHERE entity = ? AND entity_id = ?"
    " AND json_extract(after, '$.gone_at') = ? ORDER BY id DESC LIMIT 1) ORDER BY id"
)


@dataclass(frozen=True, slots=True)
class BinRow:
    """Something in the bin: kind (one of ``KINDS``), number or id, UTC time it was put aside, and its row."""

    kind: str
    id: int | str
    gone_at: str
    row: Row


def list_bin_rows(store: Store) -> list[BinRow]:
    """What is in the bin, the latest first; what is there because of a thing it belongs to is not listed."""
    references = References(store)
    rows = [
        BinRow(kind, row["id"], row["gone_at"], row)
        for kind in KINDS
        for row in store.rows_of(kind, "WHERE gone_at IS NOT NULL")
        if not find_holder_in_bin(store, references, kind, row)
    ]
    return sorted(rows, key=lambda one: (one.gone_at, one.kind, str(one.id).zfill(20)), reverse=True)


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


def put_row_back(store: Store, kind: str, row: Row, by: str, without: Container[RowKey] = frozenset()) -> None:
    """Put a row back, with the marks and links that were put aside in the same act and are unchanged since.

    What was put aside with one of those comes back as well: with a position its want, with the want its payment.

    Args:
        row: as ``find_bin_row`` returned it.
        without: rows that stay in the bin although they were put aside with it.

    Raises:
        BadValue: what it belongs to is in the bin itself, or another has its place since.
    """
    references, key = References(store), row["id"]
    if holder := find_holder_in_bin(store, references, kind, row):
        raise BadValue(f"The {kind} {key} belongs to {holder}, which is in the bin too.", f"Put {holder} back first.")
    events = store.rows_of("event", _ACT_THAT_PUT_ASIDE, [kind, str(key), row["gone_at"]])
    try:
        with store.change(PUT_BACK, by) as change:
            change.update(kind, [key], {"gone_at": None})
            restored = {(kind, key)}
            for event in reversed(events):
                before, after = (json.loads(event[side]) if event[side] else None for side in ("before", "after"))
                if not before or (event["entity"], row_key_in(event["entity"], before)) in without:
                    continue
                named = set(references.named(event["entity"], before))
                if restored & named and _restore_row(store, references, change, event["entity"], before, after):
                    restored.add((event["entity"], row_key_in(event["entity"], before)[0]))
    except BadValue as refusal:
        if "UNIQUE" not in str(refusal.__cause__):
            raise
        raise BadValue(
            f"The {kind} {key} cannot come back: another stands in its place since.", "Put that one aside first."
        ) from refusal


def _restore_row(
    store: Store, references: References, change: Change, table: str, before: Row, after: Row | None
) -> bool:
    """Restore a row to its state before, if it is unchanged since; returns whether it was."""
    key = row_key_in(table, before)
    now = _row(store, table, key)
    if now is None and after is None and not _names_a_removed_row(store, references, table, before):
        change.insert(table, before)
        return True
    if now is not None and after is not None and all(now[name] == value for name, value in after.items()):
        changed = {name: value for name, value in before.items() if now[name] != value}
        change.update(table, key, {"gone_at": None} | changed if "gone_at" in now else changed)
        return True
    return False


def remove_links(store: Store, change: Change, kind: str, number: int) -> None:
    """Within an act that puts a thing in the bin: what shows it shows it no more; ``put_row_back`` restores that too.

    A link to it is removed, an optional reference to it is cleared, any other row that names it is put aside with it.
    """
    references = References(store)
    for reference in references.to(kind):
        for row in references.rows(reference, number):
            key, soft = row_key_in(reference.table, row), "gone_at" in row
            if soft and row["gone_at"] is not None:
                continue
            if reference.loose:
                change.update(reference.table, key, {reference.column: None})
            elif soft:
                change.update(reference.table, key, {"gone_at": change.at})
            else:
                change.remove(reference.table, key)


def _names_a_removed_row(store: Store, references: References, table: str, row: Row) -> bool:
    """Whether a row names one that was taken out for good."""
    return any(_row(store, names, (key,)) is None for names, key in references.named(table, row))


def find_holder_in_bin(store: Store, references: References, kind: str, row: Row) -> str:
    """What in the bin it belongs to, as ``part 3``; empty where none of that is in the bin."""
    for names, key in references.named(kind, row):
        if names in BIN_TABLES:
            holder = _row(store, names, (key,))
            if holder is None or holder["gone_at"] is not None:
                return f"{names} {key}"
    return ""


def list_old_rows(store: Store, before: str) -> list[BinRow]:
    """What was put aside before that UTC time; rows that depend on others come before them."""
    return [
        BinRow(kind, row["id"], row["gone_at"], row)
        for kind in reversed(KINDS)
        for row in store.rows_of(kind, "WHERE gone_at < ? ORDER BY id", [before])
    ]


def empty_bin_rows(store: Store, before: str, by: str) -> list[BinRow]:
    """Remove for good what was put aside before that UTC time, if all its dependent rows were too; returns what it was.

    The rows go first, then the photos' files: a power cut between leaves files, which ``check`` reports.
    """
    references, removed = References(store), list[BinRow]()
    with store.change(EMPTY_BIN, by) as change:
        for old in list_old_rows(store, before):
            named = (old.kind, (old.id,))
            going = [*dict.fromkeys(_dependent_rows(references, named)), named]
            if all(_can_be_removed(store, references, row, going, before) for row in going):
                for row in going:
                    _remove_row(references, change, row)
                removed.append(old)
    for old in removed:
        if old.kind == "photo":
            _remove_files(store.folder, old.row)
    return removed


def _dependent_rows(references: References, holder: RowKey) -> Iterator[RowKey]:
    """Every row that cannot exist without that one, each after its own dependent rows."""
    table, key = holder
    for reference in references.to(table):
        if not reference.loose:
            for row in references.rows(reference, key[0]):
                dependent = (reference.table, row_key_in(reference.table, row))
                yield from _dependent_rows(references, dependent)
                yield dependent


def _can_be_removed(store: Store, references: References, candidate: RowKey, going: list[RowKey], before: str) -> bool:
    """Whether it was put aside before that time or has no bin of its own, and no row that stays needs it."""
    table, key = candidate
    row = _row(store, table, key) or {}
    if (row.get("gone_at") or "") >= before:
        return False
    return all(
        (reference.table, row_key_in(reference.table, naming_row)) in going
        for reference in references.to(table)
        if reference.loose and (reference.table, reference.column) not in _CLEARED_REFERENCES
        for naming_row in references.rows(reference, key[0])
    )


def _remove_row(references: References, change: Change, removed: RowKey) -> None:
    table, key = removed
    for reference in references.to(table):
        if reference.loose:
            for row in references.rows(reference, key[0]):
                change.update(reference.table, row_key_in(reference.table, row), {reference.column: None})
    change.remove(table, key)


def _row(store: Store, table: str, key: tuple[int | str, ...]) -> Row | None:
    where = " AND ".join(f'"{name}" = ?' for name in get_key_columns(table))
    return store.row(f'SELECT * FROM "{table}" WHERE {where}', key)


def _remove_files(folder: Path, photo: Row) -> None:
    from survey.store.layout import Size, picture_path

    made = (picture_path(folder, photo["sha256"], size) for size in get_args(Size))
    for file in (folder / photo["path"], *made):
        with contextlib.suppress(OSError):  # check reports what could not be removed
            file.unlink()
