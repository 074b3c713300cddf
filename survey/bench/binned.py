"""The bin: what was put aside, putting it back, and emptying it on purpose."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from survey.bench.acts import row_words
from survey.bench.order import prove_pair_fits
from survey.bench.outwork import prove_draft, prove_free
from survey.bench.survey import Survey, alone, utc_now
from survey.folder import binned as folder_bin
from survey.folder import lock
from survey.folder.holding import Named
from survey.folder.tables import TABLES

BIN_KINDS = folder_bin.KINDS
BIN_DAYS = 30
"""Days that a thing lies in the bin before it can be taken out for good."""

BIN_WORDS: Mapping[str, str] = {kind: TABLES[kind].noun for kind in BIN_KINDS}
"""What each of ``BIN_KINDS`` is called."""


@dataclass(frozen=True, slots=True)
class BinEntry:
    """Something in the bin: kind (one of ``BIN_KINDS``), number or id, UTC time it was put aside, what it is."""

    kind: str
    id: int | str
    gone_at: str
    words: str


def binned(survey: Survey) -> list[BinEntry]:
    """What is in the bin, the latest first; what went with another thing comes back with it and is not listed."""
    return [_entry(survey, one) for one in folder_bin.binned(survey.store)]


@alone
def put_back(survey: Survey, kind: str, name: int | str) -> None:
    """Put a thing from the bin back, with the marks and links that went with it.

    Args:
        name: its number, also as text; of a position its id.

    Raises:
        NoSuchThing: no such thing is in the bin.
        BadValue: what it belongs to is in the bin itself, or another stands in its place since.
        LoopInOrder: it is a pair that would go round in a circle with what was said since.
    """
    row = folder_bin.in_bin(survey.store, kind, name)
    if kind == "before_pair":
        prove_pair_fits(survey, row["first"], row["after"])
    if kind == "batch_item":
        prove_draft(survey, row["batch"])
        prove_free(survey, row["part"])
    if kind == "batch":
        for item in survey.store.rows(
            "SELECT part FROM batch_item WHERE batch = ? AND gone_at = ?", [name, row["gone_at"]]
        ):
            prove_free(survey, item["part"])
    folder_bin.put_back(survey.store, kind, row, survey.by, _left_since(survey))


def _left_since(survey: Survey) -> frozenset[Named]:
    """Items in the bin whose batch has left without them: they stay there when their part comes back."""
    rows = survey.store.rows(
        "SELECT batch_item.id FROM batch_item JOIN batch ON batch.id = batch_item.batch"
        " WHERE batch_item.gone_at IS NOT NULL AND batch.state != 'draft'"
    )
    return frozenset(("batch_item", (row["id"],)) for row in rows)


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
