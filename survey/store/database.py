"""The survey's database: opened, checked to be one of ours, and changed only together with its history."""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import sqlite3
import threading
from collections import Counter, defaultdict
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from survey.errors import AlreadyASurvey, ForeignDatabase, NewerSurvey, NextStep, NotASurvey
from survey.model.verb import Verb
from survey.store import layout
from survey.store.column_checks import ClosedWords, require_valid_rows
from survey.store.disk_faults import PUT_BACK, refuse_disk_faults
from survey.store.files import sync_folders
from survey.store.schema import APPLICATION_ID, migrations, step_names
from survey.store.tables import TABLES, get_key_columns

Row = dict[str, Any]

# With a rollback journal, EXTRA also syncs the directory after the journal is gone: an edit that was acknowledged
# survives a power cut. No WAL: SQLite before 3.51.3, often Python's, can corrupt it while two connections are open.
_JOURNAL = "DELETE"
_SYNCHRONOUS = "EXTRA"
_BUSY_SECONDS = 5.0

_HEAD_BYTES = 100
_MAGIC = b"SQLite format 3\0"
_APPLICATION_ID = slice(68, 72)

MOST_CHANGES_KEPT = 500
"""Written rows that are listed for caches to refresh themselves from; after more than that everything is read again."""

MOST_REMEMBERED = 100_000
"""Rows of a table that were validated already and are not validated again while the survey is open."""


class Change:
    """One act being written: every row it changes is recorded in the history in the same transaction."""

    def __init__(
        self, db: Database, on_write: Callable[[str, Row], None], at: str, by: str, verb: str, turns: str | None = None
    ) -> None:
        self._db = db
        self._on_write = on_write
        self._turns = turns
        self.at = at
        self.by = by
        self._verb = verb
        self._batch = secrets.token_hex(8)

    def insert(self, table: str, row: Mapping[str, Any]) -> Row:
        """Add a row; returns it as stored, with its id."""
        names = ", ".join(f'"{name}"' for name in row)
        placeholders = ", ".join("?" for _ in row)
        sql = f'INSERT INTO "{table}" ({names}) VALUES ({placeholders}) RETURNING *'
        cursor = self._db.execute(sql, list(row.values()))
        after = _as_row(cursor, cursor.fetchone())
        self._note(table, after, None, after)
        return after

    def update(self, table: str, key: Sequence[Any], changes: Mapping[str, Any]) -> Row | None:
        """Change the row of that key; returns it as stored, or None if there is no such row."""
        where = " AND ".join(f'"{name}" = ?' for name in get_key_columns(table))
        cursor = self._db.execute(f'SELECT * FROM "{table}" WHERE {where}', list(key))
        fetched = cursor.fetchone()
        if fetched is None:
            return None
        before = _as_row(cursor, fetched)
        if all(before[name] == value for name, value in changes.items()):
            return before
        sets = ", ".join(f'"{name}" = ?' for name in changes)
        cursor = self._db.execute(f'UPDATE "{table}" SET {sets} WHERE {where} RETURNING *', [*changes.values(), *key])
        after = _as_row(cursor, cursor.fetchone())
        self._note(table, after, before, after)
        return after

    def remove(self, table: str, key: Sequence[Any]) -> Row | None:
        """Take out a row of a table that has no ``gone_at``; its last state stays in the history."""
        where = " AND ".join(f'"{name}" = ?' for name in get_key_columns(table))
        cursor = self._db.execute(f'DELETE FROM "{table}" WHERE {where} RETURNING *', list(key))
        fetched = cursor.fetchone()
        if fetched is None:
            return None
        before = _as_row(cursor, fetched)
        self._note(table, before, before, None)
        return before

    def _note(self, table: str, row: Row, before: Row | None, after: Row | None) -> None:
        identity = "/".join(str(row[name]) for name in get_key_columns(table))
        self._on_write(table, row)
        self._db.execute(
            "INSERT INTO event (at, batch, by, verb, entity, entity_id, before, after, turns)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [
                self.at, self._batch, self.by, self._verb, table, identity,
                _as_json(before), _as_json(after), self._turns,
            ],
        )  # fmt: skip


class Store:
    """An open survey database.

    One connection, one lock: threads of the browser door take turns. ``clock`` gives UTC time as text. ``words`` gives
    the closed words that come from outside the store; it is called when rows are read.
    """

    def __init__(self, folder: Path, db: Database, clock: Callable[[], str]) -> None:
        self.folder = folder
        self.words: Callable[[], ClosedWords] = dict
        self._db = db
        self._clock = clock
        self._lock = threading.RLock()
        self._table_versions: Counter[str] = Counter()
        self._changes: list[tuple[str, Row]] = []
        self._changes_start = 0
        self._valid_rows: defaultdict[str, set[tuple[Any, ...]]] = defaultdict(set)

    @contextlib.contextmanager
    def read_locked(self) -> Iterator[None]:
        """Hold the lock: nothing is written while several things are read that belong together."""
        with self._lock:
            yield

    def table_versions(self, *tables: str) -> tuple[int, ...]:
        """Numbers that differ from the last time if any of these tables was changed, here or by another process."""
        with self._lock, refuse_disk_faults(self.folder):
            data_version = self._db.execute("PRAGMA data_version").fetchone()
            return (int(data_version[0]), *(self._table_versions[table] for table in tables))

    def changes_since(self, tables: Container[str], since: int) -> tuple[int, list[tuple[str, Row]] | None]:
        """The position in the list of changes now, and the rows of these tables written since an earlier position.

        None instead of the rows where the list does not go back so far, or a transaction was rolled back.
        """
        with self._lock:
            position = self._changes_start + len(self._changes)
            if since < self._changes_start:
                return position, None
            return position, [entry for entry in self._changes[since - self._changes_start :] if entry[0] in tables]

    def rows(self, sql: str, values: Sequence[Any] | dict[str, Any] = ()) -> list[Row]:
        """All rows of a query, as dictionaries."""
        with self._lock, refuse_disk_faults(self.folder):
            cursor = self._db.execute(sql, values)
            names = [column[0] for column in cursor.description or ()]
            return [dict(zip(names, row, strict=True)) for row in cursor]

    def rows_of(self, table: str, rest: str = "", values: Sequence[Any] | dict[str, Any] = ()) -> list[Row]:
        """Whole rows of one table, refused if a column cannot hold its value. ``rest``: what follows FROM table."""
        rows = self.rows(f'SELECT "{table}".* FROM "{table}" {rest}', values)
        if rows and not rows[0].keys() >= TABLES[table].columns.keys():
            raise ForeignDatabase(f"survey.db in {str(self.folder)!r} is damaged: {table} lacks a column.", PUT_BACK)
        valid = self._valid_rows[table]
        unchecked = {values: row for row in rows if (values := tuple(row.values())) not in valid}
        if unchecked:
            require_valid_rows(self.folder, table, unchecked.values(), self.words())
            if len(valid) > MOST_REMEMBERED:
                valid.clear()
            valid.update(unchecked)
        return rows

    def row(self, sql: str, values: Sequence[Any] = ()) -> Row | None:
        """The first row of a query, or None."""
        return next(iter(self.rows(sql, values)), None)

    @contextlib.contextmanager
    def change(self, verb: Verb, by: str = "", turns: str | None = None) -> Iterator[Change]:
        """One transaction for one act of a person; all or nothing. ``turns``: the act taken back or done again."""
        with self.together():
            yield Change(self._db, self._record_change, self._clock(), by, verb.name, turns)

    @contextlib.contextmanager
    def together(self) -> Iterator[None]:
        """One transaction around several acts: all or nothing."""
        with self._lock, refuse_disk_faults(self.folder):
            before = self._table_versions.total()
            try:
                with self._db.atomic():
                    yield
            except BaseException:
                if self._table_versions.total() != before:  # what was read meanwhile may have seen what is gone again
                    self._table_versions.update(list(self._table_versions))
                    self._forget_changes()
                raise
            if len(self._changes) > MOST_CHANGES_KEPT:
                self._forget_changes()

    def _record_change(self, table: str, row: Row) -> None:
        self._table_versions[table] += 1
        self._changes.append((table, row))

    def _forget_changes(self) -> None:
        self._changes_start += len(self._changes) + 1
        self._changes.clear()

    def copy_to(self, file: Path) -> None:
        """Write the whole database as it is now to a file, whole or not at all; others may go on meanwhile."""
        with self._lock, refuse_disk_faults(self.folder):
            _copy(self._db, file)

    def close(self) -> None:
        """Close the database."""
        with self._lock:
            self._db.close()


def create_store(
    folder: Path, clock: Callable[[], str], verb: Verb, fill: Callable[[Change], None], by: str = ""
) -> Store:
    """Make the folder and in it a database that ``fill`` fills, both in one transaction: all of it is there or nothing.

    What an earlier, interrupted attempt left in the folder is used again.

    Raises:
        AlreadyASurvey: a survey or other files are there.
        CannotWrite: the folder cannot be made or written.
    """
    with refuse_disk_faults(folder):
        _require_free_folder(folder)
        for room in layout.SUBFOLDERS:
            (folder / room).mkdir(parents=True, exist_ok=True)
        db = _connect(folder)
        try:
            with db.atomic():
                db.execute(f"PRAGMA application_id = {APPLICATION_ID}")  # a write: two makers take turns from here on
                if db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                    raise _already_a_survey(folder)
                migrations.apply(db)
                fill(Change(db, lambda *_: None, clock(), by, verb.name))
        except BaseException:
            db.close()
            raise
        return Store(folder, db, clock)


def open_store(folder: Path, clock: Callable[[], str]) -> Store:
    """Open a survey, bringing an older one up to date after keeping a snapshot of it.

    Raises:
        NotASurvey: no survey.db there, or an empty one.
        ForeignDatabase: survey.db is not one of ours, or damaged.
        NewerSurvey: a later Teachest wrote it.
        CannotWrite: it needs bringing up to date and cannot be written.
    """
    layout.require_survey(folder)
    with refuse_disk_faults(folder):
        _require_own_database(folder)
        db = _connect(folder)
        try:
            _require_known_steps(folder, db)
            if migrations.pending(db):
                _snapshot(folder, db, clock())
                with db.atomic():  # all steps or none
                    db.execute(f"PRAGMA application_id = {APPLICATION_ID}")  # a write: two openers take turns
                    migrations.apply(db)
        except BaseException:
            db.close()
            raise
        return Store(folder, db, clock)


def _require_free_folder(folder: Path) -> None:
    """Refuse a folder that is in use; the empty folders and database of an interrupted attempt are allowed."""
    if not folder.exists() and not folder.is_symlink():
        return
    if folder.is_dir():
        database = layout.database_path(folder)
        half_made = not database.exists() or database.stat().st_size == 0 or _journal_path(folder).exists()
        if not half_made:
            raise _already_a_survey(folder)
        if all(_is_left_over(entry) for entry in folder.iterdir()):
            return
    raise AlreadyASurvey(f"{str(folder)!r} is in use and is not an empty folder.", "Choose a new folder name.")


def _is_left_over(entry: Path) -> bool:
    if entry.name in layout.SUBFOLDERS:
        return entry.is_dir() and not any(entry.iterdir())
    return entry.name in (layout.DATABASE, _journal_path(entry.parent).name)


def _journal_path(folder: Path) -> Path:
    return folder / f"{layout.DATABASE}-journal"


def _already_a_survey(folder: Path) -> AlreadyASurvey:
    return AlreadyASurvey(
        f"The folder {str(folder)!r} is a survey already.", "Choose another folder, or go on with that one."
    )


def _connect(folder: Path) -> Database:
    path = layout.database_path(folder)
    connection = sqlite3.connect(str(path), timeout=_BUSY_SECONDS, check_same_thread=False)
    db = Database(connection, execute_plugins=False)
    db.execute("PRAGMA foreign_keys = ON")
    if _is_writable(path):
        db.execute(f"PRAGMA journal_mode = {_JOURNAL}")
        db.execute(f"PRAGMA synchronous = {_SYNCHRONOUS}")
    return db


def _is_writable(path: Path) -> bool:
    return os.access(path.parent, os.W_OK) and (not path.exists() or os.access(path, os.W_OK))


def _require_own_database(folder: Path) -> None:
    """Look at the head of survey.db alone: SQLite would already write to another program's database on opening it.

    The head is described in SQLite's documentation, Database File Format, section 1.3.
    """
    with layout.database_path(folder).open("rb") as stream:
        head = stream.read(_HEAD_BYTES)
    if not head.strip(b"\0"):
        raise NotASurvey(
            f"survey.db in {str(folder)!r} is empty: the making of the survey was broken off, or its content was lost.",
            NextStep.MAKE_OR_PUT_BACK,
        )
    if not head.startswith(_MAGIC):
        raise ForeignDatabase(
            f"survey.db in {str(folder)!r} is no database of Teachest's, or its beginning is damaged.", PUT_BACK
        )
    if int.from_bytes(head[_APPLICATION_ID], "big") != APPLICATION_ID:
        raise ForeignDatabase(
            f"survey.db in {str(folder)!r} was not made by Teachest.", "Name another folder; nothing was changed."
        )


def _require_known_steps(folder: Path, db: Database) -> None:
    """Refuse steps of the schema that were taken by a later Teachest."""
    ours = step_names(migrations)
    newer = [step.name for step in migrations.applied(db) if step.name not in ours]
    if newer:
        raise NewerSurvey(
            f"The survey in {str(folder)!r} was written by a later Teachest (it knows {newer[0]!r}).",
            "Bring this Teachest up to date; nothing was changed.",
        )
    if len(ours) == len(migrations.pending(db)):
        raise NotASurvey(
            f"The survey in {str(folder)!r} has no tables: its making was broken off.", NextStep.MAKE_AGAIN
        )


def _snapshot(folder: Path, db: Database, now: str) -> None:
    keep = folder / layout.SNAPSHOTS
    keep.mkdir(exist_ok=True)
    _copy(db, keep / ("before-update-" + now.replace(":", "").replace("-", "") + ".db"))


def _copy(db: Database, file: Path) -> None:
    """Copy a database; it has its name once it is whole and on the disk, and what could not be written is removed."""
    draft = file.with_name(f"{file.name}.{os.getpid()}.new")
    try:
        draft.unlink(missing_ok=True)
        db.execute("VACUUM INTO ?", [str(draft)])
        with draft.open("rb+") as stream:
            os.fsync(stream.fileno())
        os.replace(draft, file)
        sync_folders([file.parent])
    finally:
        draft.unlink(missing_ok=True)


def _as_row(cursor: sqlite3.Cursor, values: Sequence[Any]) -> Row:
    return dict(zip((column[0] for column in cursor.description), values, strict=True))


def _as_json(row: Row | None) -> str | None:
    return None if row is None else json.dumps(row, ensure_ascii=False, sort_keys=True)
