"""Copies of survey.db in the survey's own folder: against a slip or a damaged file, not against a lost disk."""

from __future__ import annotations

import os
import re
from datetime import datetime, timedelta
from pathlib import Path

from survey.folder import layout
from survey.folder.plainly import plain_words
from survey.folder.store import Store

KEPT = 10
"""So many are kept; the oldest goes when another comes. Those made before an update are not counted."""

_NAME = re.compile(r"day-(\d{8}T\d{6}Z)\.db", re.ASCII)


def snapshot(store: Store, now: str) -> Path:
    """Copy the database as it stands now; a copy is whole or not there.

    Args:
        now: UTC time, by the second; a copy of the same second is not made twice.

    Raises:
        CannotWrite: the folder cannot be written.
    """
    room = store.folder / layout.SNAPSHOTS
    file = room / f"day-{now.replace(':', '').replace('-', '')}.db"
    with plain_words(store.folder):
        room.mkdir(exist_ok=True)
        draft = file.with_suffix(".new")
        draft.unlink(missing_ok=True)
        store.copy_to(draft)
        os.replace(draft, file)
        for old in _ours(room)[:-KEPT]:
            old.unlink()
    return file


def due(folder: Path, now: str) -> bool:
    """Whether the latest copy is a day old, or there is none."""
    latest = _ours(folder / layout.SNAPSHOTS)[-1:]
    return not latest or datetime.fromisoformat(latest[0].stem[4:]) + timedelta(days=1) <= datetime.fromisoformat(now)


def _ours(room: Path) -> list[Path]:
    return sorted(file for file in room.glob("day-*.db") if _NAME.fullmatch(file.name))
