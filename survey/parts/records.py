"""Queries for parts, findings, looks, readings and own grades, as the model's records."""

from __future__ import annotations

from collections.abc import Sequence

from survey.model.parts import Finding, Look, OwnGrade, Part, Reading
from survey.store.database import Store
from survey.store.rows import fetch_rows_on_live_parts, from_row, group_links, make_id_filter


def fetch_parts(store: Store, ids: Sequence[int] | None = None) -> list[Part]:
    """Parts by number: all, or those with these numbers; unknown numbers are left out."""
    only, values = make_id_filter("part", ids)
    links = store.rows(
        f"SELECT part, photo FROM part_photo JOIN photo ON photo.id = photo WHERE gone_at IS NULL{only} ORDER BY photo",
        values,
    )
    photos = group_links(links, "part", "photo")
    only, values = make_id_filter("id", ids)
    rows = store.rows_of("part", f"WHERE gone_at IS NULL{only} ORDER BY id", values)
    return [from_row(Part, row, photos=photos[row["id"]]) for row in rows]


def fetch_findings(store: Store, parts: Sequence[int] | None = None) -> list[Finding]:
    """Findings on live parts, by number: all, or those on these parts."""
    only, values = make_id_filter("finding.part", parts)
    links = store.rows(
        "SELECT finding, photo FROM finding_photo JOIN finding ON finding.id = finding"
        f" WHERE TRUE{only} ORDER BY photo",
        values,
    )
    photos = group_links(links, "finding", "photo")
    return [
        from_row(Finding, row, photos=photos[row["id"]]) for row in fetch_rows_on_live_parts(store, "finding", parts)
    ]


def fetch_looks(store: Store, parts: Sequence[int] | None = None) -> list[Look]:
    """Looks that found nothing wrong, by number: all, or those at these parts."""
    photos = group_links(store.rows("SELECT look, photo FROM look_photo ORDER BY photo"), "look", "photo")
    return [from_row(Look, row, photos=photos[row["id"]]) for row in fetch_rows_on_live_parts(store, "look", parts)]


def fetch_readings(store: Store, parts: Sequence[int] | None = None) -> list[Reading]:
    """Readings by number: all, or those of these parts."""
    return [from_row(Reading, row) for row in fetch_rows_on_live_parts(store, "reading", parts)]


def fetch_own_grades(store: Store) -> dict[int, OwnGrade]:
    """The owner's own grades by part number."""
    return {row["part"]: from_row(OwnGrade, row) for row in store.rows_of("own_grade")}
