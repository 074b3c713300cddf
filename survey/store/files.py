"""Files made safe on the disk, and the disk's faults while writing as one refusal."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from survey.errors import CannotWrite


def sync_folders(folders: Iterable[Path]) -> None:
    """Make the names in folders safe on disk, where the system has a way to (Windows has none and needs none)."""
    if sys.platform == "win32":
        return
    for folder in folders:
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextmanager
def refuse_write_faults(where: Path) -> Iterator[None]:
    """Turn the disk's faults while writing into one refusal."""
    try:
        yield
    except OSError as error:
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            raise CannotWrite(
                "The disk is full.", "Make room and do it again; what was done so far is kept."
            ) from error
        raise CannotWrite(
            f"The folder {str(where)!r} cannot be written ({error.strerror or error}).",
            "Check that it is yours to write and not on a read-only disk.",
        ) from error
