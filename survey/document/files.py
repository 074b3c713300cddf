"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from pathlib import Path

from survey.errors import CannotWrite


def write_whole(to: Path, content: bytes) -> None:
    """Write beside the target, make sure it is on disk, then rename over it.

    Raises:
        CannotWrite: the folder is not there, is read-only or full; the file that was there is unchanged.
    """
    temporary = to.with_name(f".{to.name}.{secrets.token_hex(4)}.part")
    try:
        with temporary.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(to)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise CannotWrite(
            f"{to} could not be written: {error.strerror or 'the disk refused it'}.",
            "Choose a folder that is there, that you may write to and that has room.",
        ) from error
