"""What the camera wrote beside the picture: time, maker, whether a position is there. Pillow first, exifread second.

Meaning of the tags: CIPA DC-008 (Exif). A tag that does not read is no reason to refuse a photo, and no value is
made up: a time that cannot be is no time, and a zone is taken only where the camera wrote one.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any, BinaryIO, Literal

if TYPE_CHECKING:
    from PIL import Image

TEXT_LIMIT = 80
"""Characters kept of a maker's or model's name."""

# Tag numbers of CIPA DC-008.
MAKE, MODEL, ORIENTATION = 0x010F, 0x0110, 0x0112
EXIF_IFD, GPS_IFD = 0x8769, 0x8825
TAKEN_ORIGINAL, TAKEN_DIGITIZED = 0x9003, 0x9004
OFFSET_ORIGINAL, OFFSET_DIGITIZED = 0x9011, 0x9012
LATITUDE, LONGITUDE = 0x0002, 0x0004

_TIME = re.compile(r"(\d{4})[:\-/.](\d\d)[:\-/.](\d\d)[ T](\d\d):(\d\d):(\d\d)(?:[.,]\d*)?\s*", re.ASCII)
_OFFSET = re.compile(r"[+-](?:0\d|1[0-4]):[0-5]\d", re.ASCII)
_CLOCKS_DIFFER = timedelta(days=1)  # a zip file keeps wall-clock time of a zone that nobody wrote down
_FIRST_YEAR = 1900  # judgement: an earlier year is an unset clock, not a scan that was dated by hand


_EXIFREAD_NAMES = {
    MAKE: "Image Make",
    MODEL: "Image Model",
    TAKEN_ORIGINAL: "EXIF DateTimeOriginal",
    TAKEN_DIGITIZED: "EXIF DateTimeDigitized",
    OFFSET_ORIGINAL: "EXIF OffsetTimeOriginal",
    OFFSET_DIGITIZED: "EXIF OffsetTimeDigitized",
}


@dataclass(frozen=True, slots=True)
class PhotoMetadata:
    """What a photo says of itself. ``taken`` local wall clock ``YYYY-MM-DDTHH:MM:SS``; ``offset`` ``+HH:MM``."""

    taken: str | None = None
    taken_from: Literal["original", "digitized", "file"] | None = None
    offset: str | None = None
    make: str = ""
    model: str = ""
    has_position: bool = False


def clean_text(value: object) -> str:
    """A camera's text: cut at the first NUL, trimmed, UTF-8 before Latin-1, no control characters, capped."""
    if isinstance(value, str):
        return clean_text(_as_stored(value))
    if not isinstance(value, bytes):
        return ""
    raw = value.split(b"\0", 1)[0]
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
    plain = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(plain.split())[:TEXT_LIMIT].strip()


def _as_stored(text: str) -> bytes:
    """The bytes behind a text: Pillow reads ASCII tags as Latin-1 whatever they are."""
    try:
        return text.encode("latin-1")
    except UnicodeEncodeError:
        return text.encode("utf-8", "replace")


def clean_time(value: object) -> str | None:
    """The time as ``YYYY-MM-DDTHH:MM:SS``; None where it is blank, zero or no day of the calendar."""
    match = _TIME.fullmatch(clean_text(value))
    if not match:
        return None
    try:
        time = datetime(*(int(group) for group in match.groups()))  # type: ignore[arg-type]
    except ValueError:
        return None
    return time.isoformat() if time.year >= _FIRST_YEAR else None


def clean_offset(value: object) -> str | None:
    """The zone as ``+HH:MM``, or None."""
    text = clean_text(value)
    return text if _OFFSET.fullmatch(text) else None


def file_time(seconds: float) -> str | None:
    """A file's time as local wall clock, or None where no photo can have it.

    That is before any digital camera (FAT and zip files count from 1980: an unset clock), or yet to come.
    """
    try:
        time = datetime.fromtimestamp(seconds)
    except (OverflowError, OSError, ValueError):
        return None
    possible = datetime(1981, 1, 1) <= time <= datetime.now() + _CLOCKS_DIFFER
    return time.replace(microsecond=0).isoformat() if possible else None


def read_with_pillow(image: Image.Image) -> PhotoMetadata:
    """What Pillow reads of an opened picture; nothing where it stumbles."""
    try:
        return _from_exif(get_exif(image), _xmp_of(image))
    except Exception:  # a third party's reader on a stranger's bytes: any fault means "not known"
        return PhotoMetadata()


def get_exif(image: Image.Image) -> Image.Exif:
    """The Exif of a picture. Of a JPEG only the Exif block counts: Pillow would also take a turn from XMP."""
    from PIL import Image

    if image.format != "JPEG":
        return image.getexif()
    exif = Image.Exif()
    exif.load(image.info.get("exif", b""))
    return exif


def read_with_exifread(stream: BinaryIO) -> PhotoMetadata:
    """What the second reader finds in a file; nothing where it stumbles."""
    import exifread

    logging.getLogger("exifread").setLevel(logging.CRITICAL)
    try:
        tags = exifread.process_file(stream, details=False)
        located = _located(_values(tags, "GPS GPSLatitude")) and _located(_values(tags, "GPS GPSLongitude"))
        return _facts(lambda tag: _values(tags, _EXIFREAD_NAMES[tag]), located)
    except Exception:  # as above
        return PhotoMetadata()


def merge_metadata(first: PhotoMetadata, second: Callable[[], PhotoMetadata]) -> PhotoMetadata:
    """Fill what the first reader did not find from the second, which is read only when no time was found."""
    if first.taken:
        return first
    other = second()
    return replace(
        first,
        taken=other.taken,
        taken_from=other.taken_from,
        offset=other.offset,
        make=first.make or other.make,
        model=first.model or other.model,
        has_position=first.has_position or other.has_position,
    )


def _values(tags: Mapping[str, Any], name: str) -> object:
    return tags[name].values if name in tags else None


def _from_exif(exif: Image.Exif, xmp: bytes) -> PhotoMetadata:
    camera, place = _ifd(exif, EXIF_IFD), _ifd(exif, GPS_IFD)
    located = _located(place.get(LATITUDE)) and _located(place.get(LONGITUDE))
    return _facts(lambda tag: camera.get(tag, exif.get(tag)), located or b"GPSLatitude" in xmp)


def _facts(tag: Callable[[int], object], has_position: bool) -> PhotoMetadata:
    facts = PhotoMetadata(make=clean_text(tag(MAKE)), model=clean_text(tag(MODEL)), has_position=has_position)
    if taken := clean_time(tag(TAKEN_ORIGINAL)):
        return replace(facts, taken=taken, taken_from="original", offset=clean_offset(tag(OFFSET_ORIGINAL)))
    if taken := clean_time(tag(TAKEN_DIGITIZED)):
        return replace(facts, taken=taken, taken_from="digitized", offset=clean_offset(tag(OFFSET_DIGITIZED)))
    return facts


def _ifd(exif: Image.Exif, which: int) -> dict[int, Any]:
    try:
        return dict(exif.get_ifd(which))
    except Exception:  # a broken sub-block must not cost the others
        return {}


def _located(value: Any) -> bool:
    """Three angles of which the degrees are a number: a denominator of 0 says that there was no fix."""
    try:
        return len(value) == 3 and float(value[0]) == float(value[0])
    except (TypeError, ValueError, ZeroDivisionError):
        return False


def _xmp_of(image: Image.Image) -> bytes:
    xmp = image.info.get("xmp", b"")
    return xmp.encode("utf-8", "replace") if isinstance(xmp, str) else bytes(xmp)
