"""Which pieces of which photos a part's entry shows. Pure: it requests crops and cuts none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from survey.document.picture import Box, CropRequest, DrawnMark, Picture
from survey.model.grading import Seen
from survey.model.parts import GradedPart
from survey.model.photos import Mark, Photo


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A finding in words. ``number`` counts within its part and is printed beside its mark."""

    number: int
    kind: str
    step: int
    seen: Seen
    label: str
    step_name: str
    looks_like: str
    how_seen: str
    note: str
    by: str
    on: str


SHAPE = 3 / 4
"""Height over width of a crop around marks, where the photo allows it."""

ROOM = 0.5
"""Least width of a crop as a fraction of the photo's longer side: enough to see where on the part the mark is."""

AIR = 2.2
"""How many times the marks' own extent a crop shows."""

SHARED = 1.3
"""How much wider than the wider of their own crops the crop that two marks share may be."""

UNMARKED = 3
"""Photos without marks that are printed of one part; the rest is counted. Marked ones are all printed."""

STRIP = 8.0
"""How many times as wide as high a picture is printed at most, and half as often as high as wide: a longer strip
would leave nothing to see, nor anything to set."""

BORDER = 0.003
"""A mark within this fraction of a crop's edge is drawn at the edge."""


@dataclass(frozen=True, slots=True)
class _Rect:
    """A rectangle in pixels of the upright photo."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    def joined(self, other: _Rect) -> _Rect:
        return _Rect(
            min(self.left, other.left),
            min(self.top, other.top),
            max(self.right, other.right),
            max(self.bottom, other.bottom),
        )


def crop_width_px(pictures: int) -> int:
    """How wide to cut when a report has that many pictures: fine print for few, quick and small for many.

    Printed 72 mm wide that is 310, 225 or 160 dots an inch. None asks for more than half of a picture that is
    1,800 pixels wide, so that the survey's own smaller pictures serve and no original need be opened.
    """
    if pictures <= 150:
        return 880
    return 640 if pictures <= 400 else 450


def choose_part_pictures(
    graded: GradedPart, label: str, findings: Sequence[FindingLine], photos: Mapping[int, Photo], width_px: int
) -> tuple[tuple[Picture, ...], int]:
    """A part's pictures: crops around its marks first, then whole photos; and how many photos are left out.

    A photo named by a finding, a look or the part but not in ``photos`` is passed over.
    """
    numbers = {finding.id: line.number for finding, line in zip(graded.findings, findings, strict=True)}
    lines = {line.number: line for line in findings}
    ordered = _order_photos(graded, photos)
    marked: list[Picture] = []
    plain: list[Picture] = []
    for photo in ordered:
        marks = [mark for mark in graded.marks if mark.photo == photo.id and mark.points]
        finding_numbers = _list_findings_on(graded, numbers, photo.id)
        if marks:
            for box, inside in _group_marks(photo, marks):
                marked.append(_make_picture(photo, box, inside, numbers, lines, label, width_px))
        else:
            plain.append(_make_whole_picture(photo, finding_numbers, lines, label, width_px))
    kept_plain = plain[: max(UNMARKED - len(marked), 1)]
    return (*marked, *kept_plain), len(plain) - len(kept_plain)


def _order_photos(graded: GradedPart, photos: Mapping[int, Photo]) -> list[Photo]:
    """Photos of findings, then marked ones, then the part's own, each once."""
    ids = [photo for finding in graded.findings for photo in finding.photos]
    ids += [mark.photo for mark in graded.marks]
    ids += [*graded.part.photos, *(photo for look in graded.looks for photo in look.photos)]
    return [photos[photo_id] for photo_id in dict.fromkeys(ids) if photo_id in photos]


def _list_findings_on(graded: GradedPart, numbers: Mapping[int, int], photo: int) -> list[int]:
    return [numbers[finding.id] for finding in graded.findings if photo in finding.photos]


def _group_marks(photo: Photo, marks: Sequence[Mark]) -> list[tuple[Box, list[Mark]]]:
    """Marks share a crop when that shows hardly less of each than a crop of its own."""
    groups: list[tuple[_Rect, list[Mark]]] = []
    for mark in marks:
        rect, members = _get_extent(photo, mark), [mark]
        other_groups = []
        for other, others in groups:
            widest_alone = max(_make_crop(photo, rect).width, _make_crop(photo, other).width)
            if _make_crop(photo, rect.joined(other)).width <= SHARED * widest_alone:
                rect, members = rect.joined(other), [*others, *members]
            else:
                other_groups.append((other, others))
        groups = [*other_groups, (rect, members)]
    return [(_make_box(photo, _make_crop(photo, rect)), members) for rect, members in groups]


def _get_extent(photo: Photo, mark: Mark) -> _Rect:
    across = [min(max(x, 0.0), 1.0) * photo.width for x, _ in mark.points]
    down = [min(max(y, 0.0), 1.0) * photo.height for _, y in mark.points]
    return _Rect(min(across), min(down), max(across), max(down))


def _make_crop(photo: Photo, rect: _Rect) -> _Rect:
    """The piece around a rectangle: with air, of the usual shape, inside the photo."""
    least = ROOM * max(photo.width, photo.height)
    width = max(AIR * (rect.right - rect.left), AIR * (rect.bottom - rect.top) / SHAPE, least)
    width, height = min(width, photo.width), min(width * SHAPE, photo.height)
    left = min(max((rect.left + rect.right - width) / 2, 0), photo.width - width)
    top = min(max((rect.top + rect.bottom - height) / 2, 0), photo.height - height)
    return _Rect(left, top, left + width, top + height).joined(rect)


def _make_box(photo: Photo, rect: _Rect) -> Box:
    return (
        round(rect.left / photo.width, 4),
        round(rect.top / photo.height, 4),
        round(rect.right / photo.width, 4),
        round(rect.bottom / photo.height, 4),
    )


def _make_picture(
    photo: Photo,
    box: Box,
    marks: Sequence[Mark],
    numbers: Mapping[int, int],
    lines: Mapping[int, FindingLine],
    label: str,
    width_px: int,
) -> Picture:
    drawn_marks = tuple(_draw_mark(mark, box, numbers) for mark in marks)
    shown_numbers = sorted({mark.number for mark in drawn_marks if mark.number is not None})
    finding_text = "; ".join(f"mark {number}, {lines[number].label.lower()}" for number in shown_numbers)
    alt = f"Photo {photo.id} of {label}" + (f": {finding_text}" if finding_text else ", the part marked")
    return Picture(
        _make_request(photo, box, width_px),
        drawn_marks,
        _get_printed_aspect(photo, box),
        alt,
        _make_caption(photo, box, shown_numbers),
    )


def _make_whole_picture(
    photo: Photo, numbers: list[int], lines: Mapping[int, FindingLine], label: str, width_px: int
) -> Picture:
    box = (0.0, 0.0, 1.0, 1.0)
    finding_text = "; ".join(f"finding {number}, {lines[number].label.lower()}" for number in numbers)
    alt = f"Photo {photo.id} of {label}" + (f": {finding_text}" if finding_text else "")
    return Picture(
        _make_request(photo, box, width_px),
        (),
        _get_printed_aspect(photo, box),
        alt,
        _make_caption(photo, box, numbers),
    )


def _make_request(photo: Photo, box: Box, width_px: int) -> CropRequest:
    # A crop holds no more than the photo does: requesting more only makes the file larger.
    available_px = max(1, round((box[2] - box[0]) * photo.width))
    share = 0.62 if _get_printed_aspect(photo, box) > 1 else 1.0
    return CropRequest(photo.id, box, min(round(width_px * share), available_px))


def _draw_mark(mark: Mark, box: Box, numbers: Mapping[int, int]) -> DrawnMark:
    points = tuple(
        (_clamp((x - box[0]) / (box[2] - box[0])), _clamp((y - box[1]) / (box[3] - box[1]))) for x, y in mark.points
    )
    number = numbers.get(mark.finding) if mark.finding is not None else None
    return DrawnMark(mark.shape, points, number)


def _clamp(fraction: float) -> float:
    return round(min(max(fraction, BORDER), 1 - BORDER), 4)


def _get_printed_aspect(photo: Photo, box: Box) -> float:
    """Height over width as printed."""
    return round(min(max(_get_aspect(photo, box), 1 / STRIP), STRIP / 2), 4)


def _get_aspect(photo: Photo, box: Box) -> float:
    return (box[3] - box[1]) * photo.height / ((box[2] - box[0]) * photo.width)


def _make_caption(photo: Photo, box: Box, numbers: Sequence[int]) -> str:
    date_text = f", {photo.taken[:10]}" if photo.taken else ""
    finding_text = f", finding{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}" if numbers else ""
    strip_text = "" if 1 / STRIP <= _get_aspect(photo, box) <= STRIP / 2 else ", a long strip, not in its true shape"
    return f"Photo {photo.id}{date_text}{finding_text}{strip_text}"
