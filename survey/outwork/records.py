"""Queries for batches of outwork."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from survey.model.outwork import Batch, BatchItem, Trade
from survey.store.database import Row, Store
from survey.store.rows import fetch_rows_on_live_parts, from_row


def fetch_batches(store: Store, trades: Mapping[str, Trade]) -> list[Batch]:
    """Every live batch with its live items, by number.

    Args:
        trades: every trade by id.
    """
    items: defaultdict[int, list[BatchItem]] = defaultdict(list)
    for row in fetch_rows_on_live_parts(store, "batch_item"):
        items[row["batch"]].append(_item(row))
    return [
        from_row(Batch, row, trade=trades[row["trade"]], items=tuple(items[row["id"]]))
        for row in store.rows_of("batch", "WHERE gone_at IS NULL ORDER BY id")
    ]


def count_taken_off(store: Store, item: BatchItem) -> int:
    """How many pieces were taken off the count of an item's part since it was first looked over on its return."""
    row = store.row(_COUNTED_THEN, [str(item.part), str(item.id)])
    now = store.row("SELECT quantity FROM part WHERE id = ?", [item.part])
    return max(0, int(row["quantity"]) - int(now["quantity"])) if row and now else 0


_COUNTED_THEN = (
    "SELECT json_extract(before, '$.quantity') AS quantity FROM event WHERE entity = 'part' AND entity_id = ?"
    " AND before IS NOT NULL AND id > (SELECT min(id) FROM event WHERE entity = 'batch_item' AND entity_id = ?"
    " AND json_extract(after, '$.came_back') IS NOT NULL) ORDER BY id LIMIT 1"
)


def _item(row: Row) -> BatchItem:
    photos = (row["photo_one"], row["photo_other"])
    return from_row(BatchItem, row, photos=photos, checked_at=row["checked_at"] or "")
