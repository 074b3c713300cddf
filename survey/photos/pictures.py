"""The smaller pictures of a survey: upright, sRGB, without metadata. Made from the originals when absent."""

from __future__ import annotations

import contextlib
import os
import threading
from pathlib import Path

from survey.errors import CannotWrite, DamagedPhoto, NextStep
from survey.photos import decode_child
from survey.photos.decode import Box, DecodedPhoto, crop_file, decode_photo, needs_child
from survey.photos.file_type import UnusableFile
from survey.photos.metadata import PhotoMetadata
from survey.store.files import refuse_write_faults
from survey.store.layout import Size, picture_path


def decode_safely(path: Path) -> DecodedPhoto:
    """Decode a picture once, in a child process unless it is a plain JPEG.

    Raises:
        NotTaken: it does not decode, or is larger than a photo can be.
    """
    if not needs_child(path):
        return decode_photo(path)
    answer, (thumb, view) = decode_child.POOL.ask({"path": os.path.abspath(path)})
    facts = PhotoMetadata(**answer.pop("facts"))
    return DecodedPhoto(**answer, facts=facts, thumb=thumb, view=view)


def write_pictures(folder: Path, sha256: str, developed: DecodedPhoto) -> None:
    """Put both smaller pictures in their place; a reader sees a whole picture or none."""
    for size, jpeg in (("thumb", developed.thumb), ("view", developed.view)):
        to = picture_path(folder, sha256, "thumb" if size == "thumb" else "view")
        to.parent.mkdir(parents=True, exist_ok=True)
        draft = to.with_name(f"{to.name}.{os.getpid()}-{threading.get_ident()}.new")
        try:
            draft.write_bytes(jpeg)
            os.replace(draft, to)
        except OSError:
            with contextlib.suppress(OSError):
                draft.unlink(missing_ok=True)
            raise


def get_picture(folder: Path, original: Path, sha256: str, size: Size) -> Path:
    """The smaller picture of a photo, made now if it is not there.

    Args:
        folder: the survey's folder.
        original: the photo as it came.
        size: ``thumb`` is 480 px on its long side, ``view`` 1,800 to 2,048; neither is ever larger than the original.

    Raises:
        DamagedPhoto: the original is gone or does not decode.
        CannotWrite: there is no room for it.
    """
    path = picture_path(folder, sha256, size)
    if not _is_whole(path):
        with _FaultsRefused(original):
            developed = decode_safely(original)
        with refuse_write_faults(folder):
            write_pictures(folder, sha256, developed)
    return path


def crop_picture(folder: Path, original: Path, sha256: str, box: Box, width_px: int) -> bytes:
    """A piece of a photo as an upright sRGB JPEG without metadata.

    Args:
        box: left, top, right, bottom as fractions of the upright picture; brought inside it and put in order.
        width_px: how wide at most; a piece is never enlarged.

    Raises:
        DamagedPhoto: the original is gone or does not decode.
    """
    left, right = sorted(min(max(at, 0.0), 1.0) for at in (box[0], box[2]))
    top, bottom = sorted(min(max(at, 0.0), 1.0) for at in (box[1], box[3]))
    inside = (left, top, right, bottom)
    with _FaultsRefused(original):
        with contextlib.suppress(CannotWrite):  # a full disk: the piece is cut from the original
            view = get_picture(folder, original, sha256, "view")
            if (right - left) * _width_px(view) >= width_px:
                return crop_file(view, inside, width_px)
        if not needs_child(original):
            return crop_file(original, inside, width_px)
        request = {"path": os.path.abspath(original), "box": inside, "width_px": width_px}
        return decode_child.POOL.ask(request)[1][0]


def _width_px(jpeg: Path) -> int:
    from PIL import Image

    with Image.open(jpeg, formats=("JPEG",)) as image:
        return image.width


def _is_whole(path: Path) -> bool:
    """There and not empty: after a power cut a renamed file may have lost its content."""
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


class _FaultsRefused(contextlib.AbstractContextManager[None]):
    """Turn the faults of an original into one refusal."""

    def __init__(self, original: Path) -> None:
        self._original = original

    def __exit__(self, kind: object, fault: BaseException | None, trace: object) -> None:
        if isinstance(fault, UnusableFile | FileNotFoundError | IsADirectoryError):
            reason = fault.message if isinstance(fault, UnusableFile) else "The file is gone."
            raise DamagedPhoto(
                f"The photo {self._original.name} cannot be shown. {reason}",
                NextStep.TAKE_IN_AGAIN,
            ) from fault
