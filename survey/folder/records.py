"""Queries for what was found, as the model's records."""

from __future__ import annotations

from collections.abc import Sequence

from survey.errors import ForeignDatabase
from survey.folder.holding import References
from survey.folder.plainly import PUT_BACK
from survey.folder.rows import from_row, grouped, only_ids, rows_on_live_parts, to_row
from survey.folder.store import Row, Store
from survey.model import (
    Component,
    Event,
    Finding,
    Look,
    Machine,
    Mark,
    Number,
    OwnGrade,
    Part,
    Photo,
    PositionNote,
    Reading,
)


def component_row(component: Component, ordinal: int) -> Row:
    """The row that keeps a component at that place of the schedule."""
    return {**to_row(component), "ordinal": ordinal}


def schedule(store: Store) -> list[Component]:
    """Every component of the survey's schedule, in its order."""
    return [
        from_row(Component, row) for row in store.rows_of("component", "WHERE gone_at IS NULL ORDER BY ordinal, id")
    ]


def machine(store: Store) -> Machine:
    """The machine, with its numbers as stamped."""
    rows = store.rows_of("machine", "WHERE id = 1")
    if not rows:
        raise ForeignDatabase(
            f"The survey in {str(store.folder)!r} does not say what machine it is of: survey.db is damaged.",
            PUT_BACK,
        )
    numbers = store.rows_of("number", "WHERE gone_at IS NULL ORDER BY id")
    return from_row(Machine, rows[0], numbers=tuple(from_row(Number, row) for row in numbers))


def position_notes(store: Store) -> dict[str, PositionNote]:
    """What the owner said of positions, by component id."""
    return {row["component"]: from_row(PositionNote, row) for row in store.rows_of("position")}


def photos(store: Store, ids: Sequence[int] | None = None) -> list[Photo]:
    """Photos by number (all, or those asked for); unknown numbers are left out."""
    only, values = only_ids("id", ids)
    rows = store.rows_of("photo", f"WHERE gone_at IS NULL{only} ORDER BY id", values)
    only, values = only_ids("photo", ids)
    links = store.rows(
        "SELECT part, photo FROM part_photo JOIN part ON part.id = part"
        f" WHERE part.gone_at IS NULL{only} ORDER BY part",
        values,
    )
    shows = grouped(links, "photo", "part")
    return [_photo(row, shows[row["id"]]) for row in rows]


def parts(store: Store, ids: Sequence[int] | None = None) -> list[Part]:
    """Parts by number: all, or those asked for; unknown numbers are left out."""
    only, values = only_ids("part", ids)
    links = store.rows(
        f"SELECT part, photo FROM part_photo JOIN photo ON photo.id = photo WHERE gone_at IS NULL{only} ORDER BY photo",
        values,
    )
    photos = grouped(links, "part", "photo")
    only, values = only_ids("id", ids)
    rows = store.rows_of("part", f"WHERE gone_at IS NULL{only} ORDER BY id", values)
    return [from_row(Part, row, photos=photos[row["id"]]) for row in rows]


def findings(store: Store, parts: Sequence[int] | None = None) -> list[Finding]:
    """Findings on parts that stand, by number: all, or those on the parts asked for."""
    only, values = only_ids("finding.part", parts)
    links = store.rows(
        "SELECT finding, photo FROM finding_photo JOIN finding ON finding.id = finding"
        f" WHERE TRUE{only} ORDER BY photo",
        values,
    )
    photos = grouped(links, "finding", "photo")
    return [from_row(Finding, row, photos=photos[row["id"]]) for row in rows_on_live_parts(store, "finding", parts)]


def looks(store: Store, parts: Sequence[int] | None = None) -> list[Look]:
    """Looks that found nothing wrong, by number: all, or those at the parts asked for."""
    photos = grouped(store.rows("SELECT look, photo FROM look_photo ORDER BY photo"), "look", "photo")
    return [from_row(Look, row, photos=photos[row["id"]]) for row in rows_on_live_parts(store, "look", parts)]


def readings(store: Store, parts: Sequence[int] | None = None) -> list[Reading]:
    """Readings by number: all, or those of the parts asked for."""
    return [from_row(Reading, row) for row in rows_on_live_parts(store, "reading", parts)]


def own_grades(store: Store) -> dict[int, OwnGrade]:
    """The owner's own grades by part number."""
    return {row["part"]: from_row(OwnGrade, row) for row in store.rows_of("own_grade")}


def marks(store: Store, photo: int | None = None, parts: Sequence[int] | None = None) -> list[Mark]:
    """Marks by number: all, those on one photo, or those that point at the parts asked for."""
    only, values = only_ids("part", parts) if photo is None else (" AND photo = ?", [photo])
    return [from_row(Mark, row) for row in store.rows_of("mark", f"WHERE gone_at IS NULL{only} ORDER BY id", values)]


def events(store: Store, entity: str | None = None, entity_id: str | None = None) -> list[Event]:
    """The history in order: all of it, of one table, or of one row."""
    where = " AND ".join(
        clause for clause, given in (("entity = ?", entity), ("entity_id = ?", entity_id)) if given is not None
    )
    values = [given for given in (entity, entity_id) if given is not None]
    rows = store.rows_of("event", f"{'WHERE ' + where if where else ''} ORDER BY id", values)
    return [from_row(Event, row) for row in rows]


def batch_events(store: Store, batch: str, most: int = -1) -> list[Event]:
    """What one act changed, in order; all of it, or the first so many."""
    return [
        from_row(Event, row) for row in store.rows_of("event", "WHERE batch = ? ORDER BY id LIMIT ?", [batch, most])
    ]


def last_events(store: Store, acts: int) -> list[Event]:
    """The events of the last so many acts, in order."""
    rows = store.rows_of(
        "event",
        "WHERE batch IN (SELECT batch FROM event GROUP BY batch ORDER BY min(id) DESC LIMIT ?) ORDER BY id",
        [acts],
    )
    return [from_row(Event, row) for row in rows]


def events_of_part(store: Store, part: int) -> list[Event]:
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


def _photo(row: Row, parts: tuple[int, ...]) -> Photo:
    state = "aside" if row["aside"] else "placed" if parts else "waiting"
    return from_row(Photo, row, state=state, parts=parts)
