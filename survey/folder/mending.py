"""Rebuilding what can be rebuilt: the smaller pictures, and the rows of photos that no row names."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from survey.errors import DamagedPhoto
from survey.folder import pictures
from survey.folder.intake import Ledger, mend
from survey.folder.store import Store


@dataclass(frozen=True, slots=True)
class Mended:
    """What was rebuilt: photos taken up that no row named, and smaller pictures made again."""

    adopted: int
    pictures: int


def rebuild(store: Store, ledger: Ledger) -> Mended:
    """Take up originals that no photo names, and make missing or damaged smaller pictures again; deletes no original.

    Raises:
        SurveyBusy: an intake is going on.
        CannotWrite: the folder cannot be written.
    """
    adopted = len(mend(store.folder, ledger))
    made = 0
    for row in store.rows_of("photo", "WHERE gone_at IS NULL ORDER BY id"):
        for size in get_args(pictures.Size):
            file = pictures.picture_file(store.folder, row["sha256"], size)
            if not _is_whole_jpeg(file):
                file.unlink(missing_ok=True)
                with contextlib.suppress(DamagedPhoto):  # check tells of it
                    pictures.picture(store.folder, store.folder / row["path"], row["sha256"], size)
                    made += 1
    return Mended(adopted, made)


def _is_whole_jpeg(file: Path) -> bool:
    """Whether it decodes to its last line."""
    from PIL import Image

    try:
        with Image.open(file, formats=("JPEG",)) as image:
            image.load()
    except (OSError, ValueError, SyntaxError):
        return False
    return True
