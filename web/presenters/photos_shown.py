"""A photo page: what the photo shows, and what its marks mean."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from string import ascii_lowercase

from survey.model.parts import FindingKind, GradedPart
from survey.model.photos import Mark, Photo
from web.presenters.parts import FindingLine, get_name, make_finding_lines
from web.presenters.photos_drawing import PlacedMark, place_marks


@dataclass(frozen=True, slots=True)
class ShownPart:
    """A part the photo shows, with those of its findings that were made on this photo, labelled as on the picture."""

    graded: GradedPart
    lines: tuple[FindingLine, ...]


@dataclass(frozen=True, slots=True)
class MarkLine:
    """A mark in words, for taking it off: what it marks."""

    mark: Mark
    says: str


def describe_photo(
    photo: Photo, marks: Sequence[Mark], parts: Iterable[GradedPart], kinds: Mapping[str, FindingKind]
) -> tuple[list[ShownPart], list[PlacedMark], list[MarkLine]]:
    """The parts the photo shows, its marks to be drawn, and its marks in words."""
    shown = [one for one in parts if one.part.id in photo.parts]
    marked = {mark.finding for mark in marks}
    here = {f.id for one in shown for f in one.findings if photo.id in f.photos or f.id in marked}
    entries = [
        ShownPart(one, tuple(line for line in make_finding_lines(one, kinds, letter) if line.finding.id in here))
        for one, letter in zip(shown, _letters(shown, here), strict=True)
    ]
    lines = {line.finding.id: line for entry in entries for line in entry.lines}
    labels = {finding: line.label for finding, line in lines.items()}
    return entries, place_marks(marks, labels), [MarkLine(mark, _says(mark, lines, shown)) for mark in marks]


def _letters(shown: Sequence[GradedPart], here: Set[int]) -> list[str]:
    """A letter for each part where the findings of several stand in one picture; their numbers would be alike."""
    told = [one.part.id for one in shown if any(finding.id in here for finding in one.findings)]
    if len(told) < 2:
        return ["" for _ in shown]
    return [_letter(told.index(one.part.id)) if one.part.id in told else "" for one in shown]


def _letter(number: int) -> str:
    more, last = divmod(number, len(ascii_lowercase))
    return (_letter(more - 1) if more else "") + ascii_lowercase[last]


def _says(mark: Mark, lines: Mapping[int, FindingLine], shown: Iterable[GradedPart]) -> str:
    shape = {"pin": "Pin", "box": "Box", "outline": "Outline"}[mark.shape]
    if (line := lines.get(mark.finding or 0)) is not None:
        return f"{shape} {line.label}: {line.kind.lower()}"
    holder = next((get_name(one) for one in shown if one.part.id == mark.part), "")
    return f"{shape} on {holder}" if holder else f"{shape} of nothing in particular"
