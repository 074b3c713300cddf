"""The survey as open data: every table as CSV and as JSON lines, and the photos under names that can be read."""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from survey.errors import AlreadyASurvey, DamagedPhoto
from survey.photos import pictures
from survey.store.database import Row, Store
from survey.store.disk_faults import refuse_disk_faults
from survey.store.tables import TABLES, get_key_columns

_LONGEST_NAME = 60
CsvText = Callable[[Sequence[str], Iterable[Mapping[str, object]]], str]


@dataclass(frozen=True, slots=True)
class Exported:
    """What was written: the folder, photos, rows of all tables, and the originals that could not be read."""

    folder: Path
    photos: int
    rows: int
    damaged: tuple[str, ...]


def write_export(store: Store, to: Path, originals: bool, csv_text: CsvText) -> Exported:
    """Write every table, the history among them, into a new folder; it is there whole or not at all.

    Args:
        originals: copy the photos as they came, with the place and all else the camera wrote into them; if not, upright
            copies of up to 2,048 px that carry none of it.
        csv_text: columns and rows as CSV in which no spreadsheet finds a formula.

    Raises:
        AlreadyASurvey: something is in that place.
        CannotWrite: the place cannot be written.
    """
    target = to.resolve()
    with refuse_disk_faults(target):
        if target.exists() and (not target.is_dir() or any(target.iterdir())):
            raise AlreadyASurvey(f"{str(to)!r} is in use.", "Name a new folder for the export.")
        with tempfile.TemporaryDirectory(prefix=".export-", dir=target.parent) as room:
            building = Path(room) / "export"
            for name in ("tables", "lines", "photos"):
                (building / name).mkdir(parents=True)
            rows = sum(_write_table(store, building, table, csv_text) for table in TABLES)
            photos, damaged = _write_photos(store, building / "photos", originals)
            if target.exists():
                target.rmdir()
            os.replace(building, target)
    return Exported(target, photos, rows, damaged)


def _write_table(store: Store, building: Path, table: str, csv_text: CsvText) -> int:
    rows = store.rows_of(table, "ORDER BY " + ", ".join(f'"{key}"' for key in get_key_columns(table)))
    lines = "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows)
    (building / "lines" / f"{table}.jsonl").write_text(lines, "utf-8")
    text = csv_text(tuple(TABLES[table].columns), rows)
    (building / "tables" / f"{table}.csv").write_text(text, "utf-8-sig", newline="")
    return len(rows)


def _write_photos(store: Store, room: Path, originals: bool) -> tuple[int, tuple[str, ...]]:
    damaged, written = [], 0
    for photo in store.rows_of("photo", "WHERE gone_at IS NULL ORDER BY id"):
        original = store.folder / photo["path"]
        try:
            file = original if originals else pictures.get_picture(store.folder, original, photo["sha256"], "view")
            shutil.copyfile(file, room / _readable_name(store, photo, file.suffix))
            written += 1
        except (DamagedPhoto, FileNotFoundError):
            damaged.append(str(photo["path"]))
    return written, tuple(damaged)


def _readable_name(store: Store, photo: Row, suffix: str) -> str:
    """``0012 2026-06-06 Handlebar.jpg``: number, day and what it shows, in letters that every file system takes."""
    parts = store.rows(
        "SELECT coalesce(nullif(part.label, ''), component.label, '') AS said FROM part_photo JOIN part"
        " ON part.id = part_photo.part LEFT JOIN component ON component.id = part.component"
        " WHERE part_photo.photo = ? AND part.gone_at IS NULL ORDER BY part.id",
        [photo["id"]],
    )
    shows = re.sub(r"[^0-9A-Za-z]+", " ", " ".join(row["said"] for row in parts)).strip()[:_LONGEST_NAME].strip()
    return " ".join(filter(None, [f"{photo['id']:04}", (photo["taken"] or "")[:10], shows])) + suffix
