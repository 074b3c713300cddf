"""Pictures as they are printed: which piece of which photo, and the marks drawn on it.

Places on a picture are fractions 0..1, x to the right and y down. Nothing here holds a photo's position or camera.
"""

from __future__ import annotations

from dataclasses import dataclass

from survey.model.photos import Shape

Box = tuple[float, float, float, float]
"""Left, top, right, bottom as fractions of the upright photo."""


@dataclass(frozen=True, slots=True)
class CropRequest:
    """A piece of a photo, ``width_px`` wide, to be cut as an upright JPEG. The writers draw the marks on it."""

    photo: int
    box: Box
    width_px: int


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """A mark on a crop; ``points`` are fractions of the crop. ``number``: of its finding, None for the part."""

    shape: Shape
    points: tuple[tuple[float, float], ...]
    number: int | None


@dataclass(frozen=True, slots=True)
class Picture:
    """A crop as it is printed. ``aspect`` is height over width; ``alt`` says in words what it shows."""

    crop: CropRequest
    marks: tuple[DrawnMark, ...]
    aspect: float
    alt: str
    caption: str
