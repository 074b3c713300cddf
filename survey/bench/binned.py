"""The bin: what was put aside, putting it back, and emptying it on purpose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from survey.bench.acts import row_words
from survey.bench.survey import Survey, standing, utc_now
from survey.folder import binned as folder_bin
from survey.folder import lock

BIN_KINDS = folder_bin.KINDS
BIN_DAYS = 30
"""Days that a thing lies in the bin before it can be taken out for good."""


@dataclass(frozen=True, slots=True)
class BinEntry:
    """Something in the bin: kind (one of ``BIN_KINDS``), number, UTC time it was put aside, and in words what it is."""

    kind: str
    id: int
    gone_at: str
    words: str


def remove_photo(survey: Survey, photo_id: int) -> None:
    """Put a photo in the bin, with its marks and off its parts and findings; its bytes stay until the bin is emptied.

    Raises:
        NoSuchThing: no such photo.
    """
    standing(survey, "photo", photo_id)
    with survey.store.change("remove photo", survey.by) as change:
        for table, other in (("part_photo", "part"), ("finding_photo", "finding"), ("look_photo", "look")):
            for row in survey.store.rows(f'SELECT "{other}" AS other FROM {table} WHERE photo = ?', [photo_id]):
                change.remove(table, [row["other"], photo_id])
        for row in survey.store.rows("SELECT id FROM mark WHERE photo = ? AND gone_at IS NULL", [photo_id]):
            change.update("mark", [row["id"]], {"gone_at": change.at})
        change.update("photo", [photo_id], {"gone_at": change.at})


def binned(survey: Survey) -> list[BinEntry]:
    """What is in the bin, the latest first; what went with another thing comes back with it and is not listed."""
    return [_entry(survey, one) for one in folder_bin.binned(survey.store)]


def put_back(survey: Survey, kind: str, number: int) -> None:
    """Put a thing from the bin back, with the marks and links that went with it.

    Raises:
        NoSuchThing: no such thing is in the bin.
        BadValue: what it belongs to is in the bin itself.
    """
    folder_bin.put_back(survey.store, kind, number, "put back", survey.by)


def empty_bin(survey: Survey, clock: Callable[[], str] = utc_now) -> list[BinEntry]:
    """Take out for good what has lain in the bin for ``BIN_DAYS`` days, and delete such photos; returns what it was.

    The history keeps every row. What was done before can then no longer be taken back.

    Raises:
        SurveyBusy: another Teachest has the survey in hand, or makes a backup.
    """
    now = clock()
    before = (datetime.fromisoformat(now) - timedelta(days=BIN_DAYS)).strftime("%Y-%m-%dT%H:%M:%SZ")
    doing = "emptying the bin"
    told = {(one.kind, one.id): _entry(survey, one) for one in folder_bin.old(survey.store, before)}
    with lock.held(survey.folder, doing, now), lock.held(survey.folder, doing, now, lock.KEEPING):
        return [told[one.kind, one.id] for one in folder_bin.empty(survey.store, before, survey.by)]


def _entry(survey: Survey, one: folder_bin.Binned) -> BinEntry:
    return BinEntry(one.kind, one.id, one.gone_at, row_words(survey, one.kind, one.row))
