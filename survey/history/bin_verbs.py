"""The bin: what was put aside, putting it back, and emptying it on purpose."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from survey.build_order.verbs import validate_pair
from survey.history.verbs import describe_row
from survey.outwork.verbs import require_draft, require_not_in_batch
from survey.safekeeping import lock
from survey.store.bin import (
    KINDS,
    BinRow,
    empty_bin_rows,
    find_bin_row,
    list_bin_rows,
    list_old_rows,
    put_row_back,
)
from survey.store.references import RowKey
from survey.store.survey import Survey, in_one_transaction, utc_now
from survey.store.tables import TABLES

BIN_KINDS = KINDS
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


def list_bin(survey: Survey) -> list[BinEntry]:
    """What is in the bin, the latest first; what went with another thing comes back with it and is not listed."""
    return [_entry(survey, row) for row in list_bin_rows(survey.store)]


@in_one_transaction
def put_back(survey: Survey, kind: str, name: int | str) -> None:
    """Put a thing from the bin back, with the marks and links that went with it.

    Args:
        name: its number, also as text; of a position its id.

    Raises:
        NoSuchThing: no such thing is in the bin.
        BadValue: what it belongs to is in the bin itself, or another has its place since.
        LoopInOrder: it is a pair that would make a circle with what was recorded since.
    """
    row = find_bin_row(survey.store, kind, name)
    if kind == "before_pair":
        validate_pair(survey, row["first"], row["after"])
    if kind == "batch_item":
        require_draft(survey, row["batch"])
        require_not_in_batch(survey, row["part"])
    if kind == "batch":
        for item in survey.store.rows(
            "SELECT part FROM batch_item WHERE batch = ? AND gone_at = ?", [name, row["gone_at"]]
        ):
            require_not_in_batch(survey, item["part"])
    put_row_back(survey.store, kind, row, survey.by, _items_of_batches_that_left(survey))


def _items_of_batches_that_left(survey: Survey) -> frozenset[RowKey]:
    """Items in the bin whose batch has left without them: they stay there when their part comes back."""
    rows = survey.store.rows(
        "SELECT batch_item.id FROM batch_item JOIN batch ON batch.id = batch_item.batch"
        " WHERE batch_item.gone_at IS NOT NULL AND batch.state != 'draft'"
    )
    return frozenset(("batch_item", (row["id"],)) for row in rows)


def empty_bin(survey: Survey, clock: Callable[[], str] = utc_now) -> list[BinEntry]:
    """Remove for good what has been in the bin for ``BIN_DAYS`` days, and delete such photos; returns what it was.

    The history keeps every row. What was done before can then no longer be taken back.

    Raises:
        SurveyBusy: another Teachest has the survey in hand, or makes a backup.
    """
    now = clock()
    before = (datetime.fromisoformat(now) - timedelta(days=BIN_DAYS)).strftime("%Y-%m-%dT%H:%M:%SZ")
    doing = "emptying the bin"
    entries = {(row.kind, row.id): _entry(survey, row) for row in list_old_rows(survey.store, before)}
    with lock.hold_lock(survey.folder, doing, now), lock.hold_lock(survey.folder, doing, now, lock.KEEPING):
        return [entries[row.kind, row.id] for row in empty_bin_rows(survey.store, before, survey.by)]


def _entry(survey: Survey, row: BinRow) -> BinEntry:
    return BinEntry(row.kind, row.id, row.gone_at, describe_row(survey, row.kind, row.row))
