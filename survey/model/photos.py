"""Photos: what was taken in, its marks, and how each file of an intake ended."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

PhotoState = Literal["waiting", "placed", "aside"]
Shape = Literal["pin", "box", "outline"]

SHAPES: tuple[Shape, ...] = ("pin", "box", "outline")


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """A picture that was taken in, by its file alone. width and height in pixels of the upright picture.

    ``format``: jpeg, mpo, heif, avif, png, webp or tiff. ``path``: the original, relative to the survey folder, with
    forward slashes. ``taken``: local time or None; ``taken_from``: ``original``, ``digitized``, ``file`` or None;
    ``offset``: ``+HH:MM`` or None.
    """

    sha256: str
    name: str
    format: str
    width: int
    height: int
    bytes: int
    path: str
    taken: str | None
    taken_from: str | None
    offset: str | None
    make: str
    model: str
    has_position: bool


@dataclass(frozen=True, slots=True)
class Photo(PhotoFile):
    """A picture of the survey, with what its owner recorded of it."""

    id: int
    state: PhotoState
    note: str = ""
    box: str = ""
    parts: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Mark:
    """A pin (1 point), box (2 corners) or outline (3 or more points) on a photo."""

    id: int
    photo: int
    part: int | None
    finding: int | None
    shape: Shape
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """A file that was not taken in: stable ``reason`` slug and a sentence."""

    path: str
    reason: str
    message: str


@dataclass(frozen=True, slots=True)
class Taken:
    """A file that is in the survey (newly or already): its photo id, the path it came from, its hash."""

    photo: int
    path: str
    sha256: str


@dataclass(frozen=True, slots=True)
class IntakeResult:
    """How every file of one intake ended. ``warned`` files are in ``added`` or ``already`` too."""

    added: tuple[Taken, ...] = ()
    already: tuple[Taken, ...] = ()
    refused: tuple[Refused, ...] = ()
    warned: tuple[Refused, ...] = field(default=())
