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

from survey.document.picture import Picture
from survey.report.contents_printed import PartEntry

PICTURE_MM = 68.0
HIGHEST_MM = 74.0
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

_LETTERS_BESIDE = 61
_LETTERS_ALONE = 104
_LETTERS_NARROW = 32


@dataclass(frozen=True, slots=True)
class Placing:
    """How an entry begins: so many pictures beside its facts or ``above`` them, the others below, three abreast.

    ``pair``: those beside the facts are two, abreast; otherwise they are in a column. ``together``: whether the
    heading, the facts and the pictures beside or above them are held in one piece.
    """

    beside: int
    pair: bool
    above: int
    together: bool


def place_entry(part: PartEntry) -> Placing:
    """Where its pictures go: in a column beside many facts; abreast, smaller, where the facts are few."""
    alone_mm = WRITING_MM + _measure_facts_mm(part, _LETTERS_ALONE)
    pictures = part.pictures
    if not pictures:
        return Placing(0, False, 0, _fits_together(alone_mm, 0))
    beside_mm = WRITING_MM + _measure_facts_mm(part, _LETTERS_BESIDE)
    column, column_mm = _measure_column(pictures, beside_mm)
    if column > 1 or len(pictures) == 1:
        return Placing(column, False, 0, _fits_together(beside_mm, column_mm))
    if len(pictures) % 3 == 0:
        return Placing(0, False, 3, _fits_together(alone_mm, 0, _measure_row_mm(pictures[:3])))
    narrow_mm, pair_mm = WRITING_MM + _measure_facts_mm(part, _LETTERS_NARROW), _measure_row_mm(pictures[:2])
    if narrow_mm < 2 * pair_mm:
        return Placing(2, True, 0, _fits_together(narrow_mm, pair_mm))
    return Placing(1, False, 0, _fits_together(beside_mm, column_mm))


def _measure_column(pictures: Sequence[Picture], facts_mm: float) -> tuple[int, float]:
    """How many pictures one below the other the facts reach along, and how high those are."""
    count, used_mm = 0, 0.0
    while count < len(pictures) and (count == 0 or used_mm + 25 < facts_mm):
        used_mm += picture_mm(pictures[count], PICTURE_MM, HIGHEST_MM)
        count += 1
    return count, used_mm


def _measure_row_mm(pictures: Sequence[Picture]) -> float:
    """Height of pictures three abreast."""
    return GUTTER_MM + max(picture_mm(picture, THIRD_MM, THIRD_MM) for picture in pictures)


def _fits_together(facts_mm: float, beside_mm: float, above_mm: float = 0) -> bool:
    return HEAD_MM + max(DOUBT * facts_mm, beside_mm) + above_mm < TOGETHER_MM


def picture_mm(picture: Picture, width_mm: float, highest_mm: float) -> float:
    """Height of a picture with its caption; one that would be higher than that is printed narrower."""
    return min(width_mm * picture.aspect, highest_mm) + CAPTION_MM


def _measure_facts_mm(part: PartEntry, letters: int) -> float:
    return sum(_count_lines(text, letters) * LINE_MM + 2 for text in _list_paragraphs(part))


def _count_lines(text: str, letters: int) -> int:
    return sum(math.ceil(len(line) / letters) for line in text.split("\n"))


def _list_paragraphs(part: PartEntry) -> Iterable[str]:
    if part.called:
        yield part.called
    for finding in part.findings:
        step = f"{finding.label} {finding.step_name} step 1 of 4 {finding.how_seen}"
        yield f"{step}\n{finding.looks_like} {finding.by} {finding.on}\n{finding.note}"
    for look in part.looks:
        yield f"Looked over, nothing wrong seen {look.how_seen} {look.note} {look.by} {look.on}"
    if part.back:
        yield f"{part.back}: record what is seen. Its work passes nothing as fit."
    for reading in part.readings:
        yield f"Measured {reading.name} {reading.written} {reading.tool} {reading.by} {reading.on}"
    for stuck_line in part.stuck:
        yield f"Stuck {stuck_line.head} {stuck_line.text} Caution {stuck_line.caution}"
    if part.gaps_inside:
        yield " ".join(f"{gap.label} {gap.word}" for gap in part.gaps_inside)
    if part.note:
        yield part.note
