"""The rows of what is sent away as the nouns of planning."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal

from survey.folder.store import Row, Store
from survey.planning.outwork import Batch, BatchItem, Trade
from survey.planning.prices import Price


def batches(store: Store, trades: Mapping[str, Trade]) -> list[Batch]:
    """Every batch that stands with the items in it that stand, by number.

    Args:
        trades: every trade by id.
    """
    items: defaultdict[int, list[BatchItem]] = defaultdict(list)
    standing = "JOIN part ON part.id = batch_item.part WHERE batch_item.gone_at IS NULL AND part.gone_at IS NULL"
    for row in store.rows_of("batch_item", f"{standing} ORDER BY batch_item.id"):
        items[row["batch"]].append(_item(row))
    rows = store.rows_of("batch", "WHERE gone_at IS NULL ORDER BY id")
    return [_batch(row, trades[row["trade"]], tuple(items[row["id"]])) for row in rows]


def counted_off(store: Store, item: BatchItem) -> int:
    """How many pieces were taken off the count of an item's part since it was first looked over on its return."""
    row = store.row(_COUNTED_THEN, [str(item.part), str(item.id)])
    now = store.row("SELECT quantity FROM part WHERE id = ?", [item.part])
    return max(0, int(row["quantity"]) - int(now["quantity"])) if row and now else 0


_COUNTED_THEN = (
    "SELECT json_extract(before, '$.quantity') AS quantity FROM event WHERE entity = 'part' AND entity_id = ?"
    " AND before IS NOT NULL AND id > (SELECT min(id) FROM event WHERE entity = 'batch_item' AND entity_id = ?"
    " AND json_extract(after, '$.came_back') IS NOT NULL) ORDER BY id LIMIT 1"
)


def _batch(row: Row, trade: Trade, items: tuple[BatchItem, ...]) -> Batch:
    names = (
        "who",
        "contact",
        "state",
        "out_at",
        "promised",
        "back_at",
        "carriage",
        "out_by",
        "in_by",
        "anyway",
        "note",
    )
    return Batch(
        id=row["id"],
        trade=trade,
        insured=_decimal(row["insured"]),
        price=Price(_decimal(row["low"]), _decimal(row["likely"]), _decimal(row["high"])),
        agreed=bool(row["agreed"]),
        paid=_decimal(row["paid"]),
        answers=json.loads(row["answers"]),
        items=items,
        **{name: row[name] for name in names},
    )


def _item(row: Row) -> BatchItem:
    names = (
        "id", "batch", "part", "count", "tag", "finish", "plug", "keep_off", "hydrogen", "came_back", "back_at",
        "threads", "damage", "short_note", "note",
    )  # fmt: skip
    return BatchItem(
        before=tuple(json.loads(row["before"]).items()),
        after=tuple(json.loads(row["after"]).items()),
        photos=(row["photo_one"], row["photo_other"]),
        said=json.loads(row["said"]),
        checked_at=row["checked_at"] or "",
        **{name: row[name] for name in names},
    )


def _decimal(said: str | None) -> Decimal | None:
    return None if said is None else Decimal(said)
