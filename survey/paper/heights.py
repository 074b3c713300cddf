"""How high the beginning of a part's entry will be on paper, near enough to place its pictures and keep it whole.

The beginning is the heading with the pictures and the facts; the rulings follow in a table that may go over to the
next page between two of them. Asking the typesetter to measure first took three times the time and twice the memory
of the setting itself. A guess does: pictures are known to the millimetre, and words are held together only where they
would still fit if they came out half as high again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from survey.paper.data import PartEntry, Picture

PICTURE_MM = 72.0
HIGHEST_MM = 78.0
TEXT_MM = 175.0
GUTTER_MM = 6.0
THIRD_MM = 54.0
CAPTION_MM = 7.5
LINE_MM = 4.2
HEAD_MM = 18.0
WRITING_MM = 9.0
TOGETHER_MM = 225.0
"""A beginning lower than this, its words taken half as high again as guessed, is not broken over pages. The lower of
the two papers has room for 241 mm."""

DOUBT = 1.5

_LETTERS_BESIDE = 58
_LETTERS_ALONE = 104
_LETTERS_NARROW = 32


@dataclass(frozen=True, slots=True)
class Placing:
    """How an entry begins: so many pictures beside its facts, the rest so many abreast below; whole or broken.

    ``wide_mm``: width of a picture beside the facts. ``pair``: those beside the facts stand abreast, not in a column.
    """

    beside: int
    wide_mm: float
    pair: bool
    abreast: int
    together: bool


def place_entry(part: PartEntry) -> Placing:
    """Pictures stand in a column beside the facts as far as the facts reach, further ones abreast below.

    Two that reach further than the facts stand abreast beside them, smaller, unless the facts are too many for the
    narrow place that is left.
    """
    if not part.pictures:
        return Placing(0, PICTURE_MM, False, 2, _whole(WRITING_MM + _facts_mm(part, _LETTERS_ALONE), 0, 0))
    facts_mm = WRITING_MM + _facts_mm(part, _LETTERS_BESIDE)
    heights = [picture_mm(picture, PICTURE_MM) for picture in part.pictures]
    beside, used_mm = 0, 0.0
    while beside < len(heights) and (beside == 0 or used_mm + 25 < facts_mm):
        used_mm += heights[beside]
        beside += 1
    if beside == 1 and len(heights) == 2:
        narrow_mm, high_mm = WRITING_MM + _facts_mm(part, _LETTERS_NARROW), _highest(part.pictures, THIRD_MM)
        if narrow_mm < 2 * high_mm:
            return Placing(2, THIRD_MM, True, 2, _whole(narrow_mm, high_mm, 0))
    left = part.pictures[beside:]
    abreast = 3 if len(left) > 2 else 2
    each_mm = (TEXT_MM - (abreast - 1) * GUTTER_MM) / abreast
    rows_mm = sum(GUTTER_MM + _highest(left[row : row + abreast], each_mm) for row in range(0, len(left), abreast))
    return Placing(beside, PICTURE_MM, False, abreast, _whole(facts_mm, used_mm, rows_mm))


def _whole(facts_mm: float, beside_mm: float, below_mm: float) -> bool:
    return HEAD_MM + max(DOUBT * facts_mm, beside_mm) + below_mm < TOGETHER_MM


def _highest(pictures: Sequence[Picture], width_mm: float) -> float:
    return max(picture_mm(picture, width_mm) for picture in pictures)


def picture_mm(picture: Picture, width_mm: float) -> float:
    """Height of a picture with its caption."""
    return min(width_mm * picture.aspect, HIGHEST_MM) + CAPTION_MM


def _facts_mm(part: PartEntry, letters: int) -> float:
    return sum(_lines(text, letters) * LINE_MM + 2 for text in _paragraphs(part))


def _lines(text: str, letters: int) -> int:
    return sum(math.ceil(len(line) / letters) for line in text.split("\n"))


def _paragraphs(part: PartEntry) -> Iterable[str]:
    if part.called:
        yield part.called
    for f in part.findings:
        yield f"{f.label} {f.step_name} step 1 of 4 {f.how_seen}\n{f.looks_like} {f.by} {f.on}\n{f.note}"
    for look in part.looks:
        yield f"Looked over, nothing wrong seen {look.how_seen} {look.note} {look.by} {look.on}"
    for reading in part.readings:
        yield f"Measured {reading.name} {reading.written} {reading.tool} {reading.by} {reading.on}"
    if part.gaps_inside:
        yield " ".join(f"{gap.label} {gap.word}" for gap in part.gaps_inside)
    if part.note:
        yield part.note
