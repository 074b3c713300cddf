"""Rebuilding what can be rebuilt: the smaller pictures, and the rows of photos that no row names."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from survey.errors import DamagedPhoto
from survey.photos.intake import KnownPhotos, adopt_orphans
from survey.photos.pictures import get_picture
from survey.store.database import Store
from survey.store.layout import Size, picture_path


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What was rebuilt: photos taken up that no row named, and smaller pictures made again."""

    adopted: int
    pictures: int


def rebuild_pictures(store: Store, ledger: KnownPhotos) -> Rebuilt:
    """Take up originals that no photo names, and make missing or damaged smaller pictures again; deletes no original.

    Raises:
        SurveyBusy: an intake is going on.
        CannotWrite: the folder cannot be written.
    """
    adopted = len(adopt_orphans(store.folder, ledger))
    made = 0
    for row in store.rows_of("photo", "WHERE gone_at IS NULL ORDER BY id"):
        for size in get_args(Size):
            file = picture_path(store.folder, row["sha256"], size)
            if not _is_whole_jpeg(file):
                file.unlink(missing_ok=True)
                with contextlib.suppress(DamagedPhoto):  # check reports it
                    get_picture(store.folder, store.folder / row["path"], row["sha256"], size)
                    made += 1
    return Rebuilt(adopted, made)


def _is_whole_jpeg(file: Path) -> bool:
    """Whether it decodes to its last line."""
    from PIL import Image

    try:
        with Image.open(file, formats=("JPEG",)) as image:
            image.load()
    except (OSError, ValueError, SyntaxError):
        return False
    return True
