"""Reading a survey's folder over for damage; nothing is changed."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from survey.folder import layout
from survey.folder.store import Store


def database_faults(store: Store) -> list[str]:
    """What SQLite's own integrity and foreign key proofs find; empty when the database is whole."""
    said = [str(value) for row in store.rows("PRAGMA integrity_check") for value in row.values()]
    faults = [line for line in said if line != "ok"]
    for row in store.rows("PRAGMA foreign_key_check"):
        faults.append(f"a row of {row['table']} names a row of {row['parent']} that is not there")
    return faults


def damaged_originals(store: Store) -> Iterator[tuple[str, str]]:
    """Each original that is gone or whose bytes no longer give its hash: (relative path, what is wrong)."""
    for row in store.rows("SELECT path, sha256 FROM photo ORDER BY id"):
        original = store.folder / row["path"]
        try:
            with original.open("rb") as stream:
                found = hashlib.file_digest(stream, "sha256").hexdigest()
        except FileNotFoundError:
            yield row["path"], "the original is gone"
        except OSError as error:
            yield row["path"], f"the original cannot be read ({error.strerror or error})"
        else:
            if found != row["sha256"]:
                yield row["path"], "the original's bytes have changed since it was taken in"


def stray_originals(store: Store) -> Iterator[str]:
    """Files among the originals that no photo names: relative paths."""
    known = {row["path"] for row in store.rows("SELECT path FROM photo")}
    for file in sorted((store.folder / layout.ORIGINALS).rglob("*")):
        relative = file.relative_to(store.folder).as_posix()
        if file.is_file() and relative not in known:
            yield relative
