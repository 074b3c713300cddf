"""Rows of the database as the model's nouns."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from survey.errors import ForeignDatabase
from survey.folder.holding import References
from survey.folder.plainly import PUT_BACK
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
    return {
        "id": component.id,
        "ordinal": ordinal,
        "label": component.label,
        "assembly": component.assembly,
        "inside": component.inside,
        "quantity": component.quantity,
        "duty": component.duty,
        "class": component.part_class,
        "material": component.material,
        "other_materials": json.dumps(component.other_materials),
        "finish": component.finish,
        "names": json.dumps(component.names, ensure_ascii=False),
        "often_missing": int(component.often_missing),
        "faults": json.dumps(component.faults, ensure_ascii=False),
        "likely": json.dumps(component.likely),
        "sizes": json.dumps(component.sizes, ensure_ascii=False),
        "everywhere": int(component.everywhere),
        "own": int(component.own),
    }


def schedule(store: Store) -> list[Component]:
    """Every component of the survey's schedule, in its order."""
    return [_component(row) for row in store.rows_of("component", "WHERE gone_at IS NULL ORDER BY ordinal, id")]


def machine(store: Store) -> Machine:
    """The machine, with its numbers as stamped."""
    rows = store.rows_of("machine", "WHERE id = 1")
    if not rows:
        raise ForeignDatabase(
            f"The survey in {str(store.folder)!r} does not say what machine it is of: survey.db is damaged.",
            PUT_BACK,
        )
    numbers = tuple(
        Number(n["id"], n["place"], n["text"], n["note"])
        for n in store.rows_of("number", "WHERE gone_at IS NULL ORDER BY id")
    )
    return Machine(**{name: value for name, value in rows[0].items() if name != "id"}, numbers=numbers)


def position_notes(store: Store) -> dict[str, PositionNote]:
    """What the owner said of positions, by component id."""
    return {
        row["component"]: PositionNote(row["component"], row["state"], row["note"]) for row in store.rows_of("position")
    }


def photos(store: Store, ids: Sequence[int] | None = None) -> list[Photo]:
    """Photos by number (all, or those asked for); unknown numbers are left out."""
    if ids is None:
        rows = store.rows_of("photo", "WHERE gone_at IS NULL ORDER BY id")
        links = store.rows(_LINKS + "ORDER BY part")
    else:
        asked = json.dumps(list(ids))
        chosen = "IN (SELECT value FROM json_each(?))"
        rows = store.rows_of("photo", f"WHERE gone_at IS NULL AND id {chosen} ORDER BY id", [asked])
        links = store.rows(f"{_LINKS} AND photo {chosen} ORDER BY part", [asked])
    shows = _grouped(links, "photo", "part")
    return [_photo(row, shows[row["id"]]) for row in rows]


def parts(store: Store, ids: Sequence[int] | None = None) -> list[Part]:
    """Parts by number: all, or those asked for; unknown numbers are left out."""
    chosen, values = _chosen("part", ids)
    photo_links = _grouped(
        store.rows(
            "SELECT part, photo FROM part_photo JOIN photo ON photo.id = photo"
            f" WHERE gone_at IS NULL{chosen} ORDER BY photo",
            values,
        ),
        "part",
        "photo",
    )
    chosen, values = _chosen("id", ids)
    return [
        Part(
            row["id"],
            row["component"],
            row["label"],
            row["quantity"],
            row["inside"],
            row["material"],
            row["box"],
            row["note"],
            photo_links[row["id"]],
        )
        for row in store.rows_of("part", f"WHERE gone_at IS NULL{chosen} ORDER BY id", values)
    ]


def findings(store: Store, parts: Sequence[int] | None = None) -> list[Finding]:
    """Findings on parts that stand, by number: all, or those on the parts asked for."""
    chosen, values = _chosen("finding.part", parts)
    shown = _grouped(
        store.rows(
            "SELECT finding, photo FROM finding_photo JOIN finding ON finding.id = finding"
            f" WHERE TRUE{chosen} ORDER BY photo",
            values,
        ),
        "finding",
        "photo",
    )
    return [
        Finding(r["id"], r["part"], r["kind"], r["step"], r["seen"], r["note"], r["by"], r["at"], shown[r["id"]])
        for r in store.rows_of("finding", _OF_STANDING_PARTS.format(table="finding", chosen=chosen), values)
    ]


def looks(store: Store, parts: Sequence[int] | None = None) -> list[Look]:
    """Looks that found nothing wrong, by number: all, or those at the parts asked for."""
    chosen, values = _chosen("look.part", parts)
    shown = _grouped(store.rows("SELECT look, photo FROM look_photo ORDER BY photo"), "look", "photo")
    return [
        Look(r["id"], r["part"], r["seen"], r["note"], r["by"], r["at"], shown[r["id"]])
        for r in store.rows_of("look", _OF_STANDING_PARTS.format(table="look", chosen=chosen), values)
    ]


def readings(store: Store, parts: Sequence[int] | None = None) -> list[Reading]:
    """Readings by number: all, or those of the parts asked for."""
    chosen, values = _chosen("reading.part", parts)
    return [
        Reading(
            r["id"],
            r["part"],
            r["name"],
            r["value"],
            r["unit"],
            r["written"],
            r["tool"],
            r["uncertainty"],
            r["by"],
            r["at"],
        )
        for r in store.rows_of("reading", _OF_STANDING_PARTS.format(table="reading", chosen=chosen), values)
    ]


def own_grades(store: Store) -> dict[int, OwnGrade]:
    """The owner's own grades by part number."""
    return {
        r["part"]: OwnGrade(r["part"], r["grade"], r["reason"], r["by"], r["at"]) for r in store.rows_of("own_grade")
    }


def marks(store: Store, photo: int | None = None, parts: Sequence[int] | None = None) -> list[Mark]:
    """Marks by number: all, those on one photo, or those that point at the parts asked for."""
    where, values = _chosen("part", parts) if photo is None else (" AND photo = ?", [photo])
    return [
        Mark(r["id"], r["photo"], r["part"], r["finding"], r["shape"], _points(r["points"]))
        for r in store.rows_of("mark", f"WHERE gone_at IS NULL{where} ORDER BY id", values)
    ]


def events(store: Store, entity: str | None = None, entity_id: str | None = None) -> list[Event]:
    """The history in order: all of it, of one table, or of one row."""
    where = " AND ".join(
        clause for clause, given in (("entity = ?", entity), ("entity_id = ?", entity_id)) if given is not None
    )
    values = [given for given in (entity, entity_id) if given is not None]
    rows = store.rows_of("event", f"{'WHERE ' + where if where else ''} ORDER BY id", values)
    return [_event(row) for row in rows]


def batch_events(store: Store, batch: str, most: int = -1) -> list[Event]:
    """What one act changed, in order; all of it, or the first so many."""
    return [_event(row) for row in store.rows_of("event", "WHERE batch = ? ORDER BY id LIMIT ?", [batch, most])]


def last_events(store: Store, acts: int) -> list[Event]:
    """The events of the last so many acts, in order."""
    rows = store.rows_of(
        "event",
        "WHERE batch IN (SELECT batch FROM event GROUP BY batch ORDER BY min(id) DESC LIMIT ?) ORDER BY id",
        [acts],
    )
    return [_event(row) for row in rows]


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
    return [_event(row) for row in rows]


def _event(row: Row) -> Event:
    return Event(
        row["id"], row["at"], row["batch"], row["by"], row["verb"], row["entity"], row["entity_id"],
        _object(row["before"]), _object(row["after"]), row["turns"],
    )  # fmt: skip


_LINKS = "SELECT part, photo FROM part_photo JOIN part ON part.id = part WHERE part.gone_at IS NULL "
_OF_STANDING_PARTS = (
    "JOIN part ON part.id = {table}.part"
    " WHERE {table}.gone_at IS NULL AND part.gone_at IS NULL{chosen} ORDER BY {table}.id"
)


def _component(row: Row) -> Component:
    return Component(
        id=row["id"],
        label=row["label"],
        assembly=row["assembly"],
        inside=row["inside"],
        quantity=row["quantity"],
        duty=row["duty"],
        part_class=row["class"],
        material=row["material"],
        other_materials=_words(row["other_materials"]),
        finish=row["finish"],
        names=_words(row["names"]),
        often_missing=bool(row["often_missing"]),
        faults=_words(row["faults"]),
        likely=_words(row["likely"]),
        sizes=_words(row["sizes"]),
        everywhere=bool(row["everywhere"]),
        own=bool(row["own"]),
    )


def _photo(row: Row, shows: tuple[int, ...]) -> Photo:
    return Photo(
        id=row["id"],
        sha256=row["sha256"],
        name=row["name"],
        format=row["format"],
        width=row["width"],
        height=row["height"],
        bytes=row["bytes"],
        path=row["path"],
        taken=row["taken"],
        taken_from=row["taken_from"],
        offset=row["offset"],
        make=row["make"],
        model=row["model"],
        has_position=bool(row["has_position"]),
        state="aside" if row["aside"] else "placed" if shows else "waiting",
        note=row["note"],
        box=row["box"],
        parts=shows,
    )


def _chosen(column: str, ids: Sequence[int] | None) -> tuple[str, list[Any]]:
    """What narrows a question to these numbers, and the value it takes; nothing where all are asked for."""
    if ids is None:
        return "", []
    return f" AND {column} IN (SELECT value FROM json_each(?))", [json.dumps(list(ids))]


def _grouped(rows: list[Row], by: str, of: str) -> defaultdict[int, tuple[int, ...]]:
    lists: defaultdict[int, list[int]] = defaultdict(list)
    for row in rows:
        lists[row[by]].append(row[of])
    return defaultdict(tuple, {key: tuple(values) for key, values in lists.items()})


def _words(text: str) -> tuple[str, ...]:
    return tuple(json.loads(text))


def _points(text: str) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in json.loads(text))


def _object(text: str | None) -> dict[str, Any] | None:
    if text is None:
        return None
    found: dict[str, Any] = json.loads(text)
    return found
