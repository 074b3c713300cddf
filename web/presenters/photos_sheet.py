"""The contact sheet: photos in capture runs, some two hundred to a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from survey.model.photos import Photo

PAGE_PHOTOS = 200


@dataclass(frozen=True, slots=True)
class RunPiece:
    """A capture run, or the piece of a long one that stands on this page. ``total`` photos are in the whole run.

    ``singly``: these are photos taken one at a time that follow each other, put together to save room.
    """

    photos: tuple[Photo, ...]
    whole: tuple[Photo, ...]
    first: int
    singly: bool = False

    @property
    def total(self) -> int:
        """How many photos the whole run has."""
        return len(self.whole)

    @property
    def in_pieces(self) -> bool:
        """Whether the run goes over the edge of the page."""
        return len(self.photos) < self.total


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page of the contact sheet; pages count from 1."""

    pieces: tuple[RunPiece, ...]
    page: int
    pages: int
    total: int


@dataclass(frozen=True, slots=True)
class Place:
    """Where a photo stands: in its run, and which photos come before and after."""

    run: tuple[Photo, ...]
    position: int
    before: Photo | None
    after: Photo | None
    next_waiting: Photo | None


def make_sheet(runs: Sequence[Sequence[Photo]], page: int, size: int = PAGE_PHOTOS) -> Sheet:
    """That page of the runs; a run is only cut where it alone is longer than a page. A page too high is the last."""
    pages: list[list[RunPiece]] = [[]]
    for run, singly in _joined(runs):
        for start in range(0, len(run), size):
            piece = RunPiece(tuple(run[start : start + size]), tuple(run), start + 1, singly)
            held = sum(len(one.photos) for one in pages[-1])
            if held and held + len(piece.photos) > size:
                pages.append([])
            pages[-1].append(piece)
    shown = min(max(page, 1), len(pages))
    return Sheet(tuple(pages[shown - 1]), shown, len(pages), sum(len(run) for run in runs))


def _joined(runs: Sequence[Sequence[Photo]]) -> Iterator[tuple[list[Photo], bool]]:
    """The runs, with lone photos that follow each other made one run; whether it is such a one."""
    for (lone, _), pile in groupby(runs, lambda run: (len(run) == 1, run[0].taken is None)):
        if lone:
            singles = [run[0] for run in pile]
            yield singles, len(singles) > 1
        else:
            yield from ((list(run), False) for run in pile)


def find_place(photo_id: int, runs: Sequence[Sequence[Photo]]) -> Place:
    """Where the photo of that id stands among the runs."""
    everything = [photo for run in runs for photo in run]
    index = next(n for n, photo in enumerate(everything) if photo.id == photo_id)
    run = next(tuple(run) for run in runs if any(photo.id == photo_id for photo in run))
    later = everything[index + 1 :] + everything[:index]
    return Place(
        run=run,
        position=1 + next(n for n, photo in enumerate(run) if photo.id == photo_id),
        before=everything[index - 1] if index else None,
        after=everything[index + 1] if index + 1 < len(everything) else None,
        next_waiting=next((photo for photo in later if photo.state == "waiting"), None),
    )
