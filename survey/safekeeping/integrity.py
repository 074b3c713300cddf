"""Finding damage in a survey's folder; nothing is changed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

from survey.store import layout
from survey.store.column_checks import find_row_faults
from survey.store.database import Row, Store
from survey.store.tables import TABLES, get_key_columns


def find_database_faults(store: Store) -> list[str]:
    """What is wrong with the database; empty when it is whole.

    First what SQLite's own checks of integrity and foreign keys find. SQLite keeps no checksums: a byte that changed
    inside a value passes them. So every value is checked against what its column may hold, and every row against its
    last state in the history.
    """
    lines = [str(value) for row in store.rows("PRAGMA integrity_check") for value in row.values()]
    faults = [line for line in lines if line != "ok"]
    for row in store.rows("PRAGMA foreign_key_check"):
        faults.append(f"a row of {row['table']} names a row of {row['parent']} that is not there")
    if not faults:
        faults += _find_value_faults(store)
    return faults


def _find_value_faults(store: Store) -> Iterator[str]:
    words = store.words()
    events = store.rows("SELECT * FROM event ORDER BY id")
    broken = [fault for event in events for fault in find_row_faults("event", event, words)]
    yield from broken
    last_states = {} if broken else {(event["entity"], event["entity_id"]): event["after"] for event in events}
    for table in TABLES.keys() - {"event"}:
        for row in store.rows(f'SELECT * FROM "{table}"'):
            yield from find_row_faults(table, row, words)
            name = "/".join(str(row[key]) for key in get_key_columns(table))
            yield from (
                () if broken else _find_differences(row, last_states.pop((table, name), None), f"{table} {name}")
            )
    yield from (f"{table} {name} is gone" for (table, name), after in last_states.items() if after is not None)
    if not store.rows("SELECT id FROM machine"):
        yield "it does not say what machine the survey is of"


def _find_differences(row: Row, after: str | None, name: str) -> Iterator[str]:
    if after is None:
        yield f"{name} is not known to the history"
        return
    for column, value in json.loads(after).items():
        if row.get(column) != value:
            yield f"{column} of {name} is not what the history last made it"


def find_damaged_originals(store: Store) -> Iterator[tuple[str, str]]:
    """Each original that is gone or whose bytes no longer give its hash: (relative path, what is wrong)."""
    for row in store.rows("SELECT path, sha256 FROM photo ORDER BY id"):
        original = store.folder / str(row["path"])
        try:
            digest = _sha256(original)
        except FileNotFoundError:
            yield row["path"], "the original is gone"
        except (OSError, ValueError) as error:
            yield row["path"], f"the original cannot be read ({getattr(error, 'strerror', None) or error})"
        else:
            if digest != row["sha256"]:
                yield row["path"], "the original's bytes have changed since it was taken in"


def _sha256(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def find_stray_originals(store: Store) -> Iterator[tuple[str, bool]]:
    """Files among the originals that no photo names: (relative path, whether its name is the hash of its bytes)."""
    known = {row["path"] for row in store.rows("SELECT path FROM photo")}
    for file in sorted((store.folder / layout.ORIGINALS).rglob("*")):
        relative = file.relative_to(store.folder).as_posix()
        if file.is_file() and relative not in known:
            yield relative, _sha256(file) == file.stem
