"""Writing a backup of a survey that may be in use, from one copy of the database; it is read again before it counts."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from survey.errors import AlreadyASurvey, ForeignDatabase, NextStep
from survey.safekeeping import archive
from survey.safekeeping.archive import (
    CHUNK_BYTES,
    DIGEST_CHARACTERS,
    MANIFEST,
    SEAL,
    SNAPSHOT,
    FileEntry,
    Manifest,
)
from survey.safekeeping.integrity import find_database_faults
from survey.store import layout
from survey.store.database import Store, open_store
from survey.store.files import refuse_write_faults, sync_folders
from survey.store.schema import migrations, step_names
from survey.store.tables import TABLES, get_key_columns

_NO_TIME = (1980, 1, 1, 0, 0, 0)  # the first that a zip file can name: two backups of the same are the same
_DRAFT_PREFIX = ".backup-"


@dataclass(frozen=True, slots=True)
class WrittenBackup:
    """A backup that was made and read again.

    ``photos``: originals in it. ``rows``: of all tables. ``damaged``: originals that were gone or changed already.
    """

    path: Path
    bytes: int
    photos: int
    rows: int
    damaged: tuple[str, ...]


def write_backup(store: Store, to: Path, made_by: str, clock: Callable[[], str]) -> WrittenBackup:
    """Write a backup; others may go on reading and writing meanwhile, and what they write after the start is not in it.

    It is written under another name, brought onto the disk, read again from end to end, and only then named.

    Args:
        made_by: name and version of the program.
        clock: gives UTC time as text.

    Raises:
        AlreadyASurvey: something of that name is there.
        ForeignDatabase: the database is damaged; a backup of it could not be put back.
        CannotWrite: the place cannot be written.
    """
    if to.exists() or to.is_symlink():
        raise AlreadyASurvey(f"{str(to)!r} is there already.", "Give the backup a name of its own, with the day in it.")
    with refuse_write_faults(to.parent), tempfile.TemporaryDirectory(prefix=_DRAFT_PREFIX, dir=to.parent) as room:
        copy = Path(room) / "copy"
        copy.mkdir()
        store.copy_to(layout.database_path(copy))
        draft = Path(room) / "backup.zip"
        manifest, rows = _write(store, copy, draft, made_by, clock)
        with archive.open_backup(draft):
            pass
        size = draft.stat().st_size
        os.replace(draft, to)
        sync_folders([to.parent])
    photos = sum(name.startswith(layout.ORIGINALS) for name in manifest.files)
    return WrittenBackup(to, size, photos, rows, manifest.damaged)


def _write(store: Store, copy: Path, draft: Path, made_by: str, clock: Callable[[], str]) -> tuple[Manifest, int]:
    with _open_copy(copy, store, clock) as copied_store, draft.open("w+b") as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as into:
            writer = _Writer(into)
            with layout.database_path(copy).open("rb") as stream:
                writer.add(SNAPSHOT, stream, os.fstat(stream.fileno()).st_size)
            rows = sum(writer.add_rows(copied_store, table) for table in TABLES)
            damaged = tuple(writer.add_originals(store.folder, copied_store))
            name = str((copied_store.row("SELECT name FROM machine") or {"name": ""})["name"])
            steps = tuple(step_names(migrations))
            manifest = Manifest(clock(), made_by, name, steps, damaged, dict(writer.files))
            writer.add_bytes(MANIFEST, manifest.written())
            into.comment = SEAL + b"0" * DIGEST_CHARACTERS
        digest = archive.compute_seal(out)
        out.seek(-DIGEST_CHARACTERS, os.SEEK_END)
        out.write(digest.encode())
        out.flush()
        os.fsync(out.fileno())
    return manifest, rows


@contextmanager
def _open_copy(copy: Path, of: Store, clock: Callable[[], str]) -> Iterator[Store]:
    """The copy of the database, opened and found sound."""
    copied_store = open_store(copy, clock)
    copied_store.words = of.words
    try:
        for fault in find_database_faults(copied_store):
            raise ForeignDatabase(
                f"survey.db in {str(of.folder)!r} is damaged, and a backup of it could not be put back: {fault}.",
                NextStep.CHECK_SURVEY,
            )
        yield copied_store
    finally:
        copied_store.close()


class _Writer:
    """Puts entries into a zip file and remembers size and hash of each."""

    def __init__(self, into: zipfile.ZipFile) -> None:
        self._into = into
        self.files: dict[str, FileEntry] = {}

    def add(self, name: str, stream: IO[bytes], size: int) -> str:
        """Copy a stream of about that size; the SHA-256 of what was copied."""
        entry = _entry(name, size)
        digest, copied = hashlib.sha256(), 0
        with self._into.open(entry, "w") as out:
            while chunk := stream.read(CHUNK_BYTES):
                out.write(chunk)
                digest.update(chunk)
                copied += len(chunk)
        self.files[name] = FileEntry(copied, digest.hexdigest())
        return digest.hexdigest()

    def add_bytes(self, name: str, content: bytes) -> None:
        """Put one small entry in whole."""
        self._into.writestr(_entry(name, len(content)), content)
        self.files[name] = FileEntry(len(content), hashlib.sha256(content).hexdigest())

    def add_rows(self, copied_store: Store, table: str) -> int:
        """Put a table in as JSON lines, in the order of its keys; how many rows it has."""
        rows = copied_store.rows(
            f'SELECT * FROM "{table}" ORDER BY ' + ", ".join(f'"{key}"' for key in get_key_columns(table))
        )
        lines = "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows)
        self.add_bytes(f"data/{table}.jsonl", lines.encode("utf-8"))
        return len(rows)

    def add_originals(self, folder: Path, copied_store: Store) -> Iterator[str]:
        """Put every photo in as it came; yields those that are gone or no longer what they were."""
        for photo in copied_store.rows_of("photo", "ORDER BY path"):
            try:
                with (folder / photo["path"]).open("rb") as stream:
                    digest = self.add(photo["path"], stream, os.fstat(stream.fileno()).st_size)
            except FileNotFoundError:
                digest = ""
            if digest != photo["sha256"]:
                yield photo["path"]


def _entry(name: str, size: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _NO_TIME)
    entry.file_size = size  # zipfile takes the long form for a long one
    entry.external_attr = 0o100644 << 16
    return entry
