"""The intake's view of the survey: which photos are known, and how a new one is recorded."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from survey.model.verb import Verb
from survey.store.database import Store

if TYPE_CHECKING:
    from survey.photos.intake import NewPhoto

TAKE_IN = Verb("take in", "Photos taken in", undoable=False)
"""Photos once taken in are put aside one by one, never by the boxful."""


class PhotoIndex:
    """A survey's photos, by their hashes. ``by``: who takes in, called when something is recorded."""

    def __init__(self, store: Store, by: Callable[[], str]) -> None:
        self._store = store
        self._by = by

    def known(self, sha256: str) -> int | None:
        """The photo of that hash, if it is in the survey."""
        row = self._store.row("SELECT id FROM photo WHERE sha256 = ?", [sha256])
        return None if row is None else int(row["id"])

    def lookalike(self, pixel_hash: str) -> int | None:
        """The first photo of the same pixels, if one is in the survey."""
        row = self._store.row("SELECT id FROM photo WHERE pixel_hash = ? ORDER BY id LIMIT 1", [pixel_hash])
        return None if row is None else int(row["id"])

    def record(self, arrivals: Sequence[NewPhoto]) -> list[int]:
        """Record photos in one transaction; their ids in the same order."""
        with self._store.change(TAKE_IN, self._by()) as change:
            return [int(change.insert("photo", _row(arrival, change.at))["id"]) for arrival in arrivals]


def _row(arrival: NewPhoto, now: str) -> dict[str, Any]:
    return {**asdict(arrival), "has_position": int(arrival.has_position), "added_at": now}
