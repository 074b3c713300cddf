"""A photo page: what the photo shows, and what its marks mean."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from survey.model import FindingKind, GradedPart, Mark, Photo
from web.show.drawing import Drawn, drawn, numbers_of
from web.show.named import FindingLine, finding_line, name_of


@dataclass(frozen=True, slots=True)
class OnPhoto:
    """A part the photo shows, with those of its findings that were made on this photo, numbered as on the picture."""

    graded: GradedPart
    lines: tuple[FindingLine, ...]
    marked: bool


@dataclass(frozen=True, slots=True)
class MarkLine:
    """A mark in words, for taking it off: what it marks."""

    mark: Mark
    says: str


def on_photo(
    photo: Photo, marks: Sequence[Mark], parts: Iterable[GradedPart], kinds: Mapping[str, FindingKind]
) -> tuple[list[OnPhoto], list[Drawn], list[MarkLine]]:
    """The parts the photo shows, its marks to be drawn, and its marks in words."""
    shown = [one for one in parts if one.part.id in photo.parts]
    marked = {mark.finding for mark in marks}
    here = [f for one in shown for f in one.findings if photo.id in f.photos or f.id in marked]
    numbers = numbers_of(finding.id for finding in here)
    lines = {finding.id: finding_line(numbers[finding.id], finding, kinds[finding.kind]) for finding in here}
    entries = [
        OnPhoto(
            one,
            tuple(lines[finding.id] for finding in one.findings if finding.id in lines),
            any(mark.part == one.part.id and mark.finding is None for mark in marks),
        )
        for one in shown
    ]
    return entries, drawn(marks, numbers), [MarkLine(mark, _says(mark, lines, shown)) for mark in marks]


def _says(mark: Mark, lines: Mapping[int, FindingLine], shown: Iterable[GradedPart]) -> str:
    shape = {"pin": "Pin", "box": "Box", "outline": "Outline"}[mark.shape]
    if (line := lines.get(mark.finding or 0)) is not None:
        return f"{shape} {line.number}: {line.kind.lower()}"
    holder = next((name_of(one) for one in shown if one.part.id == mark.part), "")
    return f"{shape} on {holder}" if holder else f"{shape} of nothing in particular"
