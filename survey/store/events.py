"""The rows of the history as events."""

from __future__ import annotations

from survey.model.history import Event
from survey.store.database import Store
from survey.store.references import References
from survey.store.rows import from_row


def fetch_events(store: Store, entity: str | None = None, entity_id: str | None = None) -> list[Event]:
    """The history in order: all of it, of one table, or of one row."""
    where = " AND ".join(
        clause for clause, given in (("entity = ?", entity), ("entity_id = ?", entity_id)) if given is not None
    )
    values = [given for given in (entity, entity_id) if given is not None]
    rows = store.rows_of("event", f"{'WHERE ' + where if where else ''} ORDER BY id", values)
    return [from_row(Event, row) for row in rows]


def fetch_batch_events(store: Store, batch: str, most: int = -1) -> list[Event]:
    """What one act changed, in order; all of it, or the first so many."""
    return [
        from_row(Event, row) for row in store.rows_of("event", "WHERE batch = ? ORDER BY id LIMIT ?", [batch, most])
    ]


def fetch_last_events(store: Store, acts: int) -> list[Event]:
    """The events of the last so many acts, in order."""
    rows = store.rows_of(
        "event",
        "WHERE batch IN (SELECT batch FROM event GROUP BY batch ORDER BY min(id) DESC LIMIT ?) ORDER BY id",
        [acts],
    )
    return [from_row(Event, row) for row in rows]


def fetch_events_of_part(store: Store, part: int) -> list[Event]:
    """What changed the part or anything that hangs on it, in order."""
    naming = " OR ".join(
        f"(entity = '{one.table}' AND json_extract(coalesce(after, before), '$.{one.column}') = :number)"
        for one in References(store).to("part")
        if one.table != "part"
    )
    rows = store.rows_of(
        "event",
        f"WHERE (entity = 'part' AND entity_id = :id) OR {naming} ORDER BY id",
        {"id": str(part), "number": part},
    )
    return [from_row(Event, row) for row in rows]
