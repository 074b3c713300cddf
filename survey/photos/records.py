"""The rows of photos and marks as nouns."""

from __future__ import annotations

from collections.abc import Sequence

from survey.model.photos import Mark, Photo
from survey.store.database import Row, Store
from survey.store.rows import from_row, group_links, make_id_filter


def fetch_photos(store: Store, ids: Sequence[int] | None = None) -> list[Photo]:
    """Photos by number (all, or those asked for); unknown numbers are left out."""
    only, values = make_id_filter("id", ids)
    rows = store.rows_of("photo", f"WHERE gone_at IS NULL{only} ORDER BY id", values)
    only, values = make_id_filter("photo", ids)
    links = store.rows(
        "SELECT part, photo FROM part_photo JOIN part ON part.id = part"
        f" WHERE part.gone_at IS NULL{only} ORDER BY part",
        values,
    )
    shows = group_links(links, "photo", "part")
    return [_photo(row, shows[row["id"]]) for row in rows]


def fetch_marks(store: Store, photo: int | None = None, parts: Sequence[int] | None = None) -> list[Mark]:
    """Marks by number: all, those on one photo, or those that point at the parts asked for."""
    only, values = make_id_filter("part", parts) if photo is None else (" AND photo = ?", [photo])
    return [from_row(Mark, row) for row in store.rows_of("mark", f"WHERE gone_at IS NULL{only} ORDER BY id", values)]


def _photo(row: Row, parts: tuple[int, ...]) -> Photo:
    state = "aside" if row["aside"] else "placed" if parts else "waiting"
    return from_row(Photo, row, state=state, parts=parts)
