"""One holder at a time: who has a survey's folder in hand for long, and whether the folder lies in a safe place.

A lock is a lock of the operating system on a file in the folder, so it goes with the process that held it, however
that ended. The file's content only says who it was. Ordinary commands take none: the database's own lock lets them
take turns.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from survey.errors import SurveyBusy
from survey.photos.staging import lock_descriptor

IN_USE = "in-use.lock"
"""Held as long as the survey is served, or taken apart and put together."""
KEEPING = "keeping.lock"
"""Held while a backup is made: what it copies is not taken away meanwhile."""

# Windows lets nobody read a byte that is locked, so the byte that stands for the lock lies behind what is read.
_LOCK_BYTE = 1 << 30
_LONGEST_NOTE = 1000

_NETWORK = frozenset({
    "9p", "afs", "ceph", "cifs", "davfs", "fuse.davfs", "fuse.glusterfs", "fuse.rclone", "fuse.sshfs", "lustre",
    "ncpfs", "nfs", "nfs4", "smb2", "smb3", "smbfs",
})  # fmt: skip
# Names and files that sync programs leave: common practice, no source.
_SYNC_FOLDERS = re.compile(r"dropbox|onedrive|google ?drive|icloud ?drive|mobile documents|nextcloud|owncloud", re.I)
_SYNC_FILES = (".dropbox", ".dropbox.cache", ".stfolder", ".sync", ".nextcloudsync.log", ".owncloudsync.log")
_REMOTE_DRIVE = 4  # DRIVE_REMOTE of GetDriveTypeW, Windows API reference


@dataclass(frozen=True, slots=True)
class Holder:
    """Who has a survey in hand: process number, UTC time since when, and what it does."""

    pid: int
    since: str
    doing: str


@contextmanager
def hold_lock(folder: Path, doing: str, now: str, name: str = IN_USE) -> Iterator[None]:
    """Have the folder in hand; ``doing``: a word for those who come meanwhile, ``now``: UTC time.

    A folder that cannot be written needs no lock, and where the file system knows none it is as if nobody else
    were there.

    Raises:
        SurveyBusy: somebody else has it; says who and since when.
    """
    descriptor = _open_lock_file(folder / name)
    if descriptor is None:
        yield
        return
    try:
        os.lseek(descriptor, _LOCK_BYTE, os.SEEK_SET)
        if not lock_descriptor(descriptor):
            raise _make_busy(folder, _read_holder(descriptor))
        _write_note(descriptor, json.dumps(asdict(Holder(os.getpid(), now, doing))).encode())
        try:
            yield
        finally:
            _write_note(descriptor, b"")
    finally:
        os.close(descriptor)


def _open_lock_file(file: Path) -> int | None:
    try:
        return os.open(file, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
    except OSError as error:
        if error.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
            return None
        raise


def _write_note(descriptor: int, note: bytes) -> None:
    with contextlib.suppress(OSError):  # the note is a courtesy; on a full disk the lock holds without it
        os.ftruncate(descriptor, 0)
        os.lseek(descriptor, 0, os.SEEK_SET)
        os.write(descriptor, note)
        os.lseek(descriptor, _LOCK_BYTE, os.SEEK_SET)


def _read_holder(descriptor: int) -> Holder | None:
    os.lseek(descriptor, 0, os.SEEK_SET)
    try:
        note = json.loads(os.read(descriptor, _LONGEST_NOTE))
        return Holder(int(note["pid"]), str(note["since"]), str(note["doing"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _make_busy(folder: Path, holder: Holder | None) -> SurveyBusy:
    who = f"process {holder.pid}, {holder.doing} since {holder.since}" if holder else "it does not say which"
    return SurveyBusy(
        f"Another Teachest has the survey in {str(folder)!r} in hand ({who}).",
        "Go on in that one, or end it (Ctrl-C in its window) and try again.",
    )


def find_folder_risk_in(folder: Path, mounts: Path = Path("/proc/self/mounts")) -> str:
    """Why the folder is a poor home for a database, in one sentence; empty where nothing is known against it.

    Args:
        mounts: the system's list of mounted file systems; where there is none, network drives show by their names.
    """
    place = folder.resolve()
    if _on_network(place, mounts):
        return (
            f"{str(folder)!r} lies on a network drive, where locks and the order of writing cannot be relied on:"
            " keep the survey on a disk of this machine and put backups there."
        )
    for above in (place, *place.parents):
        if _SYNC_FOLDERS.match(above.name) or any((above / name).exists() for name in _SYNC_FILES):
            return (
                f"{str(folder)!r} lies in {str(above)!r}, which a sync program seems to watch; it may copy or put back"
                " survey.db half written: keep the survey elsewhere and put backups there."
            )
    return ""


def _on_network(place: Path, mounts: Path) -> bool:
    if place.drive.startswith("\\\\"):
        return True
    if sys.platform == "win32":
        import ctypes

        return bool(ctypes.windll.kernel32.GetDriveTypeW(place.anchor) == _REMOTE_DRIVE)
    try:
        lines = mounts.read_text("utf-8", "replace").splitlines()
    except OSError:
        return False
    kinds = {_unescape(words[1]): words[2] for words in map(str.split, lines) if len(words) > 2}
    return next((kinds[str(above)] for above in (place, *place.parents) if str(above) in kinds), "") in _NETWORK


def _unescape(path: str) -> str:
    """A path as fstab(5) writes it: blanks and backslashes as octal numbers."""
    return re.sub(r"\\([0-7]{3})", lambda match: chr(int(match[1], 8)), path)
