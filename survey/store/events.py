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
    """The events of one act, in order; all of them, or the first ``most``."""
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
    """What changed the part or any row that names it, in order."""
    names_part = " OR ".join(
        f"(entity = '{reference.table}' AND json_extract(coalesce(after, before), '$.{reference.column}') = :number)"
        for reference in References(store).to("part")
        if reference.table != "part"
    )
    rows = store.rows_of(
        "event",
        f"WHERE (entity = 'part' AND entity_id = :id) OR {names_part} ORDER BY id",
        {"id": str(part), "number": part},
    )
    return [from_row(Event, row) for row in rows]
