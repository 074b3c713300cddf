"""Faults of SQLite and of the disk turned into refusals, one clear sentence each."""

from __future__ import annotations

import contextlib
import errno
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from survey.errors import BadValue, CannotWrite, ForeignDatabase, Refusal, SurveyBusy

PUT_BACK = "If it is your survey, put back a copy of survey.db; the folder snapshots may hold one."


@contextlib.contextmanager
def refuse_disk_faults(folder: Path) -> Iterator[None]:
    """Turn faults of SQLite and of the disk into one refusal each."""
    try:
        yield
    except Refusal:
        raise
    except sqlite3.Error as error:
        raise _refusal_for(folder, error) from error
    except UnicodeDecodeError as error:
        raise ForeignDatabase(f"survey.db in {str(folder)!r} is damaged: it holds broken text.", PUT_BACK) from error
    except (OverflowError, UnicodeEncodeError) as error:
        raise _cannot_be_stored() from error
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise _disk_full() from error
        raise CannotWrite(
            f"{str(folder)!r} cannot be opened or written: {error.strerror or error}.",
            "Check the folder's permissions.",
        ) from error


def _refusal_for(folder: Path, error: sqlite3.Error) -> Refusal:
    code = getattr(error, "sqlite_errorcode", None)
    primary = None if code is None else code & 0xFF
    if primary in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return SurveyBusy(
            f"The survey in {str(folder)!r} is being written by another Teachest.", "Wait a moment and try again."
        )
    if primary == sqlite3.SQLITE_FULL:
        return _disk_full()
    if primary in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return CannotWrite(
            f"The survey in {str(folder)!r} cannot be written ({error}); nothing was changed.",
            "Check that the folder is not read-only.",
        )
    if isinstance(error, sqlite3.DataError | sqlite3.InterfaceError) or "binding parameter" in str(error):
        return _cannot_be_stored()
    if isinstance(error, sqlite3.IntegrityError) and code != sqlite3.SQLITE_CONSTRAINT_TRIGGER:
        return BadValue(f"The survey cannot keep that ({error}); nothing was changed.", "Say it in other words.")
    return ForeignDatabase(f"survey.db in {str(folder)!r} cannot be read as a Teachest survey ({error}).", PUT_BACK)


def _disk_full() -> CannotWrite:
    return CannotWrite("The disk is full; nothing was changed.", "Make room and do it again.")


def _cannot_be_stored() -> BadValue:
    """What no column can hold: a number of more than 64 bits, text that is no Unicode, a value of another type."""
    return BadValue(
        "A number is too large, or a text has characters that are none; nothing was changed.", "Write it again."
    )
