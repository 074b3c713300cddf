"""The rows of what is stuck as the nouns of the gauge."""

from __future__ import annotations

import json

from survey.folder.store import Row, Store
from survey.gauge.stuck import Stuck


def stuck_things(store: Store) -> list[Stuck]:
    """Every stuck thing on a part that stands, by number."""
    rows = store.rows_of(
        "stuck",
        "JOIN part ON part.id = stuck.part WHERE stuck.gone_at IS NULL AND part.gone_at IS NULL ORDER BY stuck.id",
    )
    return [_stuck(row) for row in rows]


def _stuck(row: Row) -> Stuck:
    return Stuck(
        id=row["id"],
        part=row["part"],
        what=row["what"],
        thing=row["thing"],
        conditions=tuple(json.loads(row["conditions"])),
        tried=tuple(json.loads(row["tried"])),
        holds=row["holds"],
        note=row["note"],
        out=bool(row["out"]),
        by=row["by"],
        at=row["at"],
    )
