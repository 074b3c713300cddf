"""Copies of survey.db in the survey's own folder: against a slip or a damaged file, not against a lost disk."""

from __future__ import annotations

import re
import shutil
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from survey.store import layout
from survey.store.database import Store
from survey.store.disk_faults import refuse_disk_faults

SNAPSHOTS_KEPT = 10
"""So many of each kind are kept; the oldest goes when another comes. Those made before an update are not counted."""

SPARE_BYTES = 256 << 20
"""With less room than that (judgement) nothing is copied before photos come in."""

SnapshotReason = Literal["day", "intake"]
"""What a copy was made for: the day, or before photos came in."""

_NAME = re.compile(r"(day|intake)-(\d{8}T\d{6}Z)\.db", re.ASCII)
_A_DAY, _AN_HOUR = timedelta(days=1), timedelta(hours=1)


def write_snapshot(store: Store, now: str, why: SnapshotReason = "day") -> Path:
    """Copy the database as it is now; a copy is whole or not there.

    Args:
        now: UTC time, by the second; a copy of the same second is not made twice.

    Raises:
        CannotWrite: the folder cannot be written.
    """
    room = store.folder / layout.SNAPSHOTS
    file = room / f"{why}-{now.replace(':', '').replace('-', '')}.db"
    with refuse_disk_faults(store.folder):
        room.mkdir(exist_ok=True)
        for leftover in room.glob("*.new"):  # of a process that was killed
            if leftover.stat().st_mtime + _AN_HOUR.total_seconds() < time.time():
                leftover.unlink()
        store.copy_to(file)
        for _, old in _list_snapshots(room, why)[:-SNAPSHOTS_KEPT]:
            old.unlink()
    return file


def is_snapshot_due(folder: Path, now: str) -> bool:
    """Whether the day's latest copy is a day old, or there is none."""
    return _is_older(_list_snapshots(folder / layout.SNAPSHOTS, "day"), now, _A_DAY)


def is_snapshot_due_before_intake(store: Store, now: str) -> bool:
    """Whether there is something to lose, room to spare, and no copy of the last hour.

    Photos that come one by one are one intake. Where room is scarce the photos have it.
    """
    if shutil.disk_usage(store.folder).free < SPARE_BYTES:
        return False
    if not _is_older(_list_snapshots(store.folder / layout.SNAPSHOTS, "day", "intake"), now, _AN_HOUR):
        return False
    return store.row("SELECT 1 FROM event WHERE verb != 'make survey' LIMIT 1") is not None


def _is_older(copies: list[tuple[str, Path]], now: str, age: timedelta) -> bool:
    return not copies or datetime.fromisoformat(copies[-1][0]) + age <= datetime.fromisoformat(now)


def _list_snapshots(room: Path, *kinds: SnapshotReason) -> list[tuple[str, Path]]:
    """The snapshots made for those reasons, each with its time, the oldest first."""
    matches = [(_NAME.fullmatch(file.name), file) for file in room.glob("*.db")]
    return sorted((match[2], file) for match, file in matches if match and match[1] in kinds)
