"""Photos taken close together: when somebody unpacks a box, the pictures come in runs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from survey.model.photos import Photo

PAUSE_ENDS_RUN = timedelta(minutes=3)
"""A longer pause between two pictures starts a new run (judgement: a part takes one or two minutes to lay out)."""


def sort_by_time(photos: Iterable[Photo]) -> list[Photo]:
    """By time taken, then by number; photos without a time last."""
    return sorted(photos, key=lambda photo: (photo.taken is None, photo.taken or "", photo.id))


def split_into_runs(photos: Iterable[Photo]) -> list[list[Photo]]:
    """Photos in order, cut wherever the pause is longer than ``PAUSE_ENDS_RUN``; those without a time are one run."""
    runs: list[list[Photo]] = []
    for photo in sort_by_time(photos):
        if runs and _goes_on(runs[-1], photo):
            runs[-1].append(photo)
        else:
            runs.append([photo])
    return runs


def _goes_on(run: Sequence[Photo], photo: Photo) -> bool:
    before = run[-1].taken
    if before is None or photo.taken is None:
        return before is None and photo.taken is None
    return datetime.fromisoformat(photo.taken) - datetime.fromisoformat(before) <= PAUSE_ENDS_RUN
