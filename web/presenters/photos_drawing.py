"""Pictures and marks as a page places them: sizes in pixels, places in per cent of the picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from survey.model.photos import Mark, Photo, Shape

LONGEST_PX = {"thumb": 480, "view": 1800}
"""The longer side of a derived picture; a smaller photo keeps its own size."""
WIDEST_CROP_PX = 2400
"""A piece of a photo, or the whole as a piece, is never wider."""


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A mark on a picture. ``label`` stands beside it; every place is in per cent of the picture.

    ``x``, ``y``: a pin's place, else the upper left corner; ``wide``, ``high`` of a box; ``path`` of an outline,
    in hundredths of the picture.
    """

    id: int
    shape: Shape
    label: str
    x: str
    y: str
    wide: str = ""
    high: str = ""
    path: str = ""


def fit_size(photo: Photo, size: str) -> tuple[int, int]:
    """Width and height in pixels of that photo's derived picture."""
    longest = max(photo.width, photo.height, 1)
    scale = min(1.0, LONGEST_PX[size] / longest)
    return max(1, round(photo.width * scale)), max(1, round(photo.height * scale))


def place_marks(marks: Sequence[Mark], labels: Mapping[int, str]) -> list[PlacedMark]:
    """The marks ready to be laid over their picture; ``labels``: finding id to what stands beside its marks."""
    return [place_mark(mark.shape, mark.points, mark.id, labels.get(mark.finding or 0, "")) for mark in marks]


def place_mark(shape: Shape, points: Sequence[tuple[float, float]], mark_id: int = 0, label: str = "") -> PlacedMark:
    """One mark, or one that is only proposed yet (a box with its first corner is drawn as a pin)."""
    left, top = min(x for x, _ in points), min(y for _, y in points)
    right, bottom = max(x for x, _ in points), max(y for _, y in points)
    at = _per_cent(left), _per_cent(top)
    if len(points) == 1:
        return PlacedMark(mark_id, "pin", label, *at)
    if shape == "box":
        return PlacedMark(mark_id, "box", label, *at, _per_cent(right - left), _per_cent(bottom - top))
    path = " ".join(f"{x * 100:.2f},{y * 100:.2f}" for x, y in points)
    return PlacedMark(mark_id, "outline", label, *at, path=path)


def _per_cent(fraction: float) -> str:
    return f"{fraction * 100:.2f}%"
