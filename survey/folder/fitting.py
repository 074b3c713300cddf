"""The query for trial fits."""

from __future__ import annotations

from survey.folder.rows import from_row, grouped
from survey.folder.store import Store
from survey.planning.fits import Fit


def fits(store: Store) -> list[Fit]:
    """Every trial fit of two parts that both stand, by number."""
    rows = store.rows_of(
        "fit",
        "JOIN part AS first ON first.id = fit.part JOIN part AS second ON second.id = fit.other"
        " WHERE fit.gone_at IS NULL AND first.gone_at IS NULL AND second.gone_at IS NULL ORDER BY fit.id",
    )
    photos = grouped(store.rows("SELECT fit, photo FROM fit_photo ORDER BY photo"), "fit", "photo")
    return [from_row(Fit, row, photos=photos[row["id"]]) for row in rows]
