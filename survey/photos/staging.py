"""The way in: a file is streamed to incoming/ while it is hashed, made safe on disk, and renamed into originals/."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import io
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from survey.errors import SurveyBusy
from survey.photos.file_type import SUFFIXES, UnusableFile
from survey.photos.sources import FILE_BYTES, Offered, require_picture
from survey.store import layout
from survey.store.files import refuse_write_faults, sync_folders

CHUNK_BYTES = 1 << 20

BUSY_SECONDS = 30.0

_RUN = "run-"


@dataclass(frozen=True, slots=True)
class StagedFile:
    """A file in incoming/ whose bytes are known: ``file`` there, ``path`` where it will be kept."""

    offered: Offered
    file: Path
    sha256: str
    bytes: int
    path: str


def original_path(sha256: str, kind: str) -> str:
    """Where an original is kept, relative to the survey's folder, with forward slashes."""
    return f"{layout.ORIGINALS}/{sha256[:2]}/{sha256}.{SUFFIXES[kind]}"


@contextmanager
def open_staging(folder: Path, busy_seconds: float | None = None) -> Iterator[tuple[Path, bool]]:
    """A fresh folder inside incoming/ for one intake at a time, and whether an earlier intake was broken off.

    What an earlier one left there is cleared: it was never acknowledged. The new folder is itself the mark that tells
    the next intake of this one, if it should die; it goes only when all went well.

    Args:
        busy_seconds: how long another intake is waited for; ``BUSY_SECONDS`` unless given.

    Raises:
        SurveyBusy: another intake into this survey goes on and on.
        CannotWrite: the folder cannot be written.
    """
    incoming = folder / layout.INCOMING
    with refuse_write_faults(folder):
        incoming.mkdir(parents=True, exist_ok=True)
        lock = (incoming / "lock").open("ab")
    with lock:
        _wait_for(lock.fileno(), folder, BUSY_SECONDS if busy_seconds is None else busy_seconds)
        with refuse_write_faults(folder):
            left = clear_staging(incoming)
            room = Path(tempfile.mkdtemp(prefix=_RUN, dir=incoming))
            sync_folders([incoming])
        try:
            yield room, left
        except BaseException:
            empty_folder(room)  # a full disk needs the space; the folder stays as the mark
            raise
        shutil.rmtree(room, ignore_errors=True)


def has_unfinished_intake(folder: Path) -> bool:
    """Whether an intake was broken off, or is going on at this moment: only the lock tells which."""
    try:
        return any(entry.name != "lock" for entry in (folder / layout.INCOMING).iterdir())
    except OSError:
        return False


def empty_folder(room: Path) -> None:
    """Remove the files of an intake that is being broken off, as far as they can be."""
    for file in room.iterdir():
        with contextlib.suppress(OSError):
            file.unlink()


def clear_staging(incoming: Path) -> bool:
    """Remove what broken-off intakes left in incoming/; whether there was anything. Only with the lock in hand."""
    left = False
    for entry in incoming.iterdir():
        if entry.name == "lock":
            continue
        left = True
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        else:
            entry.unlink()
    return left


def _wait_for(descriptor: int, folder: Path, busy_seconds: float) -> None:
    end = time.monotonic() + busy_seconds
    while not lock_descriptor(descriptor):
        if time.monotonic() > end:
            raise SurveyBusy(
                f"Photos are being taken into {str(folder)!r} by another Teachest.",
                "Wait until it is done; then again.",
            )
        time.sleep(0.02)


def lock_descriptor(descriptor: int) -> bool:
    """Whether the lock is ours now. Where a file system knows no locks, it is as if nobody else were there."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno not in (errno.EAGAIN, errno.EACCES, errno.EDEADLK)
    return True


def stage_file(offered: Offered, room: Path) -> StagedFile:
    """Stream a file into the room while hashing it. Not yet made safe on disk: it may be known already.

    Raises:
        NotTaken: it is no picture, cannot be read, or is too large.
        CannotWrite: there is no room, or the folder cannot be written.
    """
    digest, size, kind = hashlib.sha256(), 0, ""
    with refuse_write_faults(room):
        descriptor, name = tempfile.mkstemp(dir=room)
    file = Path(name)
    try:
        with open(descriptor, "wb", buffering=0) as out, offered.opened() as stream:
            while chunk := stream.read(CHUNK_BYTES):
                kind = kind or require_picture(chunk, offered)
                size += len(chunk)
                if size > FILE_BYTES:
                    raise UnusableFile(
                        "too-large", f"The file is larger than {FILE_BYTES >> 20} megabytes; no photo is."
                    )
                digest.update(chunk)
                with refuse_write_faults(room):
                    _write_whole(out, chunk)
        if not kind:
            raise UnusableFile("empty", "The file is empty.")
    except BaseException:
        file.unlink(missing_ok=True)
        raise
    # The time is kept with the file, so that one which is adopted later still has it; 1970 stands for none.
    at = datetime.fromisoformat(offered.file_time).timestamp() if offered.file_time else 0.0
    os.utime(file, (at, at))
    sha256 = digest.hexdigest()
    return StagedFile(offered, file, sha256, size, original_path(sha256, kind))


def _write_whole(out: io.RawIOBase, chunk: bytes) -> None:
    """Write all of it. Without a buffer: on a full disk the closing of the file would try, and fail, once more."""
    left = memoryview(chunk)
    while left:
        left = left[out.write(left) :]


def sync_file(staged: StagedFile) -> None:
    """Bring a staged file's bytes onto the disk itself."""
    with refuse_write_faults(staged.file), staged.file.open("rb+") as stream:
        os.fsync(stream.fileno())


def move_to_originals(folder: Path, staged_files: Sequence[StagedFile]) -> None:
    """Rename files that are safe on disk into originals/, and make the renaming safe too."""
    touched: set[Path] = set()
    with refuse_write_faults(folder):
        for staged in staged_files:
            to = folder / staged.path
            if not to.parent.is_dir():
                to.parent.mkdir(parents=True, exist_ok=True)
                touched.add(to.parent.parent)
            os.replace(staged.file, to)
            touched.add(to.parent)
        sync_folders(touched)


def is_original_intact(folder: Path, staged: StagedFile) -> bool:
    """Whether the survey's own copy is there and still has its hash."""
    try:
        with (folder / staged.path).open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest() == staged.sha256
    except OSError:
        return False
