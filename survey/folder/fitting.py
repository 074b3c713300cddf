"""The rows of trial fits as the nouns of planning."""

from __future__ import annotations

from collections import defaultdict

from survey.folder.store import Row, Store
from survey.planning.fits import Fit


def fits(store: Store) -> list[Fit]:
    """Every trial fit of two parts that both stand, by number."""
    rows = store.rows_of(
        "fit",
        "JOIN part AS first ON first.id = fit.part JOIN part AS second ON second.id = fit.other"
        " WHERE fit.gone_at IS NULL AND first.gone_at IS NULL AND second.gone_at IS NULL ORDER BY fit.id",
    )
    shown: defaultdict[int, list[int]] = defaultdict(list)
    for link in store.rows("SELECT fit, photo FROM fit_photo ORDER BY photo") if rows else ():
        shown[link["fit"]].append(link["photo"])
    return [_fit(row, tuple(shown[row["id"]])) for row in rows]


def _fit(row: Row, photos: tuple[int, ...]) -> Fit:
    return Fit(
        id=row["id"],
        part=row["part"],
        other=row["other"],
        result=row["result"],
        side=row["side"],
        packed=row["packed"],
        gap=row["gap"],
        width=row["width"],
        note=row["note"],
        photos=photos,
        by=row["by"],
        at=row["at"],
    )
