"""Restoring a backup: checked whole in memory first, built beside its place, and moved there by one renaming.

Of the archive only the JSON lines and the photos are read; its database is for other programs. The rows go into a new
database of this Teachest's making and are compared with the history among them, as ``check`` does.
"""

from __future__ import annotations

import contextlib
import ctypes
import hashlib
import os
import shutil
import sqlite3
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlite_utils import Database

from survey.errors import AlreadyASurvey, DamagedBackup, NewerSurvey, NextStep, Refusal
from survey.photos.staging import open_staging
from survey.safekeeping import archive, lock
from survey.safekeeping.archive import CHUNK_BYTES, Backup
from survey.safekeeping.integrity import find_database_faults
from survey.store import layout
from survey.store.column_checks import ClosedWords
from survey.store.database import Store, open_store
from survey.store.disk_faults import refuse_disk_faults
from survey.store.files import sync_folders
from survey.store.schema import APPLICATION_ID, migrations, step_names
from survey.store.tables import TABLES

_BUILDING = ".being-restored"
_NEXT = "Nothing was changed. Use another backup."
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2  # of renameat2(2), Linux


@dataclass(frozen=True, slots=True)
class Restored:
    """A survey that was put back. ``kept``: where the one it took the place of lies now, or None."""

    folder: Path
    kept: Path | None
    photos: int
    rows: int
    damaged: tuple[str, ...]


def restore_file(
    file: Path, to: Path, replace: bool, words: Callable[[], ClosedWords], clock: Callable[[], str]
) -> Restored:
    """Put a backup back as a survey in that folder.

    Args:
        to: a folder that is not there or empty; or, with ``replace``, the same survey, which is then kept beside under
            a name with the day in it.
        words: the closed words that come from outside the store.
        clock: gives UTC time as text.

    Raises:
        DamagedBackup: the backup is not whole or holds what no survey can.
        NewerSurvey: a later Teachest wrote it.
        AlreadyASurvey: the folder is in use for something else, or ``replace`` was not given.
        SurveyBusy: another Teachest has the survey in hand, or takes photos in.
        CannotWrite: the place cannot be written.
    """
    target = to.resolve()
    with (
        archive.open_backup(file) as backup,
        _rebuilt(backup, words, clock) as memory,
        refuse_disk_faults(target),
    ):
        old = _require_target(memory, target, replace, words, clock)
        building = target.with_name(f".{target.name}{_BUILDING}")
        with contextlib.ExitStack() as hands:
            if old:
                hands.enter_context(lock.hold_lock(target, "being replaced by a backup", clock()))
                hands.enter_context(lock.hold_lock(target, "being replaced by a backup", clock(), lock.KEEPING))
                hands.enter_context(open_staging(target, busy_seconds=0))
            building.mkdir(exist_ok=True)
            hands.enter_context(lock.hold_lock(building, "restoring", clock()))
            try:
                _build_folder(backup, memory, building)
            except BaseException:  # a full disk needs the room
                shutil.rmtree(building, ignore_errors=True)
                raise
        # Windows renames no folder in which a file is open, so the locks are let go first.
        kept = _put_in_place(building, target, clock() if old else "")
        rows = sum(len(memory.rows(f'SELECT 1 FROM "{table}"')) for table in TABLES)
        photos = sum(name.startswith(layout.ORIGINALS) for name in backup.manifest.files)
    return Restored(target, kept, photos, rows, backup.manifest.damaged)


@contextmanager
def _rebuilt(backup: Backup, words: Callable[[], ClosedWords], clock: Callable[[], str]) -> Iterator[Store]:
    """The survey's database made in memory from the rows, brought up to date and checked."""
    db = Database(memory=True, execute_plugins=False)
    try:
        _fill(db, backup)
        store = Store(Path("the backup"), db, clock)
        store.words = words
        for fault in [*find_database_faults(store), *_photo_faults(store, backup)]:
            raise DamagedBackup(f"The backup holds what no survey can: {fault}.", _NEXT)
        yield store
    finally:
        db.close()


def _fill(db: Database, backup: Backup) -> None:
    ours, theirs = step_names(migrations), list(backup.manifest.steps)
    if theirs[: len(ours)] == ours and len(theirs) > len(ours):
        raise NewerSurvey(
            f"The backup was written by a later Teachest (it knows {theirs[len(ours)]!r}).",
            "Bring this Teachest up to date; nothing was changed.",
        )
    if not theirs or ours[: len(theirs)] != theirs:
        raise DamagedBackup("The backup names steps of the schema that there never were.", _NEXT)
    try:
        db.execute("PRAGMA foreign_keys = ON")
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        migrations.apply(db, stop_before=ours[len(theirs) :])
        with db.atomic():
            db.execute("PRAGMA defer_foreign_keys = ON")
            for table in _tables(db, backup):
                _fill_table(db, backup, table)
        migrations.apply(db)
    except (sqlite3.Error, OverflowError, UnicodeEncodeError) as error:
        raise DamagedBackup(f"The backup holds rows that no survey can have ({error}).", _NEXT) from error


def _tables(db: Database, backup: Backup) -> Sequence[str]:
    there = {name for name in db.table_names() if not name.startswith(("_", "sqlite_"))}
    if there != set(backup.tables):
        raise DamagedBackup("The backup has not the tables that a survey has.", _NEXT)
    return backup.tables


def _fill_table(db: Database, backup: Backup, table: str) -> None:
    columns = [column.name for column in db[table].columns]
    names, placeholders = ", ".join(f'"{name}"' for name in columns), ", ".join("?" for _ in columns)
    for row in backup.rows(table):
        if row.keys() != set(columns):
            raise DamagedBackup(f"A row of {table} in the backup has not the columns of that table.", _NEXT)
        db.execute(f'INSERT INTO "{table}" ({names}) VALUES ({placeholders})', [row[name] for name in columns])


def _photo_faults(store: Store, backup: Backup) -> Iterator[str]:
    """Each photo is there as its hash says, unless it was damaged before; and there is none besides."""
    manifest, paths = backup.manifest, set()
    for row in store.rows("SELECT path, sha256 FROM photo"):
        paths.add(row["path"])
        entry = manifest.files.get(row["path"])
        hash_named = Path(row["path"]).stem == row["sha256"]
        if not hash_named or ((entry is None or entry.sha256 != row["sha256"]) and row["path"] not in manifest.damaged):
            yield f"{row['path']} is gone or is not what the survey says"
    for name in manifest.files:
        if name.startswith(layout.ORIGINALS) and name not in paths:
            yield f"no photo of the survey names {name}"


def _require_target(
    memory: Store, target: Path, replace: bool, words: Callable[[], ClosedWords], clock: Callable[[], str]
) -> bool:
    """Whether a survey is to be replaced; refuses a folder that must not be.

    Raises:
        AlreadyASurvey: see ``restore_file``.
    """
    if not target.exists() or (target.is_dir() and not any(target.iterdir())):
        return False
    try:
        present = open_store(target, clock)
    except Refusal as refusal:
        raise AlreadyASurvey(
            f"{str(target)!r} is in use, and not as a survey that can be read.",
            "Name a new folder; what is there is left as it is.",
        ) from refusal
    try:
        same = _identity(present) == _identity(memory)
    finally:
        present.close()
    if not same:
        raise AlreadyASurvey(f"{str(target)!r} holds another survey than the backup.", "Name a new folder.")
    if not replace:
        raise AlreadyASurvey(
            f"{str(target)!r} holds this survey already.",
            NextStep.NAME_FOLDER_OR_REPLACE,
        )
    return True


def _identity(store: Store) -> str:
    """What tells one survey from every other: the act that made it, a number drawn by lot."""
    return str((store.row("SELECT batch FROM event ORDER BY id LIMIT 1") or {"batch": ""})["batch"])


def _build_folder(backup: Backup, memory: Store, building: Path) -> None:
    """Make the whole folder, on the disk itself; what an earlier restoring left there is cleared."""
    for entry in building.iterdir():
        if entry.name != lock.IN_USE:
            shutil.rmtree(entry) if entry.is_dir() and not entry.is_symlink() else entry.unlink()
    for room in layout.SUBFOLDERS:
        (building / room).mkdir()
    memory.copy_to(layout.database_path(building))
    with layout.database_path(building).open("rb+") as database:
        os.fsync(database.fileno())
    for name, file_entry in backup.manifest.files.items():
        if name.startswith(layout.ORIGINALS):
            _copy_photo(backup, name, file_entry.sha256, building / name)
    sync_folders([*(path for path in (building / layout.ORIGINALS).rglob("*") if path.is_dir()), building])


def _copy_photo(backup: Backup, name: str, sha256: str, to: Path) -> None:
    to.parent.mkdir(exist_ok=True)
    digest = hashlib.sha256()
    with backup.opened(name) as stream, to.open("xb") as out:
        while chunk := stream.read(CHUNK_BYTES):
            digest.update(chunk)
            out.write(chunk)
        out.flush()
        os.fsync(out.fileno())
    if digest.hexdigest() != sha256:
        raise DamagedBackup(f"{name} in the backup changed while it was read.", _NEXT)


def _put_in_place(building: Path, target: Path, now: str) -> Path | None:
    """Move the new folder to its place; ``now`` is the time if a survey is there, which then lies where is returned.

    Where the system can exchange two names at once there is no moment without a survey in its place. Where it cannot,
    a power cut between two renamings leaves both beside it, whole; the same restoring again then fills the place.
    """
    if not now:
        if target.exists():
            target.rmdir()
        building.rename(target)
        sync_folders([target.parent])
        return None
    day = now.removesuffix("Z").replace("T", " ").replace(":", "")
    kept = target.with_name(f"{target.name} as it was {day}")
    for count in range(2, 1000):
        if not kept.exists():
            break
        kept = target.with_name(f"{target.name} as it was {day} ({count})")
    building.rename(kept)  # that name is where the replaced survey is found after the exchange
    if not _exchanged(kept, target):
        kept.rename(building)
        target.rename(kept)
        building.rename(target)
    sync_folders([target.parent])
    return kept


def _exchanged(one: Path, other: Path) -> bool:
    if not sys.platform.startswith("linux"):
        return False
    call = getattr(ctypes.CDLL(None), "renameat2", None)
    if call is None:
        return False
    return bool(call(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _RENAME_EXCHANGE) == 0)
