"""How high a part's entry will be on paper, near enough to place its pictures and to keep it in one piece.

Asking the typesetter to measure each entry first took three times the time and twice the memory of the setting
itself. A guess does: an entry is held together only while the guess is well under a page, so that one out by half
still fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from survey.paper.data import PartEntry, Picture

PICTURE_MM = 72.0
HIGHEST_MM = 78.0
STRIP_MM = 84.0
CAPTION_MM = 7.5
LINE_MM = 4.2
HEAD_AND_ROOM_MM = 27.0
TOGETHER_MM = 160.0
"""An entry guessed lower than this is not broken over pages: two thirds of the lower of the two papers."""

_LETTERS_BESIDE = 58
_LETTERS_ALONE = 104


@dataclass(frozen=True, slots=True)
class Placing:
    """How an entry is laid out: so many pictures beside its words, the rest below; in one piece or broken."""

    beside: int
    together: bool


def place_entry(part: PartEntry) -> Placing:
    """Pictures stand beside the words as far as the words reach, further ones two abreast below."""
    words_mm = _words_mm(part, _LETTERS_BESIDE if part.pictures else _LETTERS_ALONE)
    heights = [picture_mm(picture, PICTURE_MM) for picture in part.pictures]
    beside, used_mm = 0, 0.0
    while beside < len(heights) and (beside == 0 or used_mm + 25 < words_mm):
        used_mm += heights[beside]
        beside += 1
    below = [picture_mm(picture, STRIP_MM) for picture in part.pictures[beside:]]
    rows_mm = sum(max(below[row : row + 2]) for row in range(0, len(below), 2))
    return Placing(beside, HEAD_AND_ROOM_MM + max(words_mm, used_mm) + rows_mm < TOGETHER_MM)


def picture_mm(picture: Picture, width_mm: float) -> float:
    """Height of a picture with its caption."""
    return min(width_mm * picture.aspect, HIGHEST_MM) + CAPTION_MM


def _words_mm(part: PartEntry, letters: int) -> float:
    return sum(_lines(text, letters) * LINE_MM + 2 for text in _paragraphs(part))


def _lines(text: str, letters: int) -> int:
    return sum(math.ceil(len(line) / letters) for line in text.split("\n"))


def _paragraphs(part: PartEntry) -> Iterable[str]:
    for f in part.findings:
        yield f"{f.label} {f.step_name} step 1 of 4 {f.how_seen}\n{f.looks_like} {f.by} {f.on}\n{f.note}"
    for look in part.looks:
        yield f"Looked over, nothing wrong seen {look.how_seen} {look.note} {look.by} {look.on}"
    for reading in part.readings:
        yield f"Measured {reading.name} {reading.written} {reading.tool} {reading.by} {reading.on}"
    for r in part.rulings:
        argument = f"\nRestorers differ {r.argument}" if r.disputed else ""
        caution = f"\nCaution {r.caution}" if r.caution else ""
        yield f"{r.word}\n{r.because} Do {r.remedy} Who {r.trade}{caution}{argument}\n{r.rule} {r.sure} {r.source}"
    if part.own_grade is not None:
        yield f"The owner's own grade\n{part.own_grade.reason} {part.own_grade.by}\n"
    if part.gaps_inside:
        yield " ".join(f"{gap.label} {gap.word}" for gap in part.gaps_inside)
    if part.note:
        yield part.note
