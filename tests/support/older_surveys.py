"""Surveys as an older Teachest would have kept them."""

from __future__ import annotations

import contextlib
import json
import shutil
import sqlite3
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from survey.store import layout
from survey.store.schema import APPLICATION_ID, migrations, step_names

STEPS = step_names(migrations)

Held = dict[str, list[dict[str, Any]]]


def older(full: Path, steps: int, folder: Path) -> Path:
    """That survey as a Teachest would have kept it that knew only so many steps of the schema."""
    shutil.copytree(full, folder, ignore=shutil.ignore_patterns("*.db"))
    with (
        contextlib.closing(Database(layout.database_path(folder), execute_plugins=False)) as db,
        contextlib.closing(sqlite3.connect(layout.database_path(full))) as now,
    ):
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        migrations.apply(db, stop_before=STEPS[steps:])
        shape = {name: [one.name for one in db[name].columns] for name in db.table_names() if name[0] != "_"}
        shape.pop("sqlite_sequence")
        with db.atomic():
            db.execute("PRAGMA defer_foreign_keys = ON")
            for table, columns in shape.items():
                db[table].insert_all(row for row in told(now, table, columns) if known(row, table, shape))
    return folder


def told(now: sqlite3.Connection, table: str, columns: list[str]) -> Held:
    names = ", ".join(f'"{name}"' for name in columns)
    return [dict(zip(columns, row, strict=True)) for row in now.execute(f'SELECT {names} FROM "{table}"')]


def known(row: dict[str, Any], table: str, shape: dict[str, list[str]]) -> bool:
    """Whether a row could be there; an event is cut to the columns that there were."""
    if table != "event":
        return True
    columns = shape.get(row["entity"], ())
    for side in ("before", "after"):
        if row[side]:
            row[side] = json.dumps({name: value for name, value in json.loads(row[side]).items() if name in columns})
    return bool(columns)
