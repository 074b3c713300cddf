"""The query for trial fits."""

from __future__ import annotations

from survey.model.fits import Fit
from survey.store.database import Store
from survey.store.rows import from_row, group_links


def fetch_fits(store: Store) -> list[Fit]:
    """Every trial fit of two live parts, by number."""
    rows = store.rows_of(
        "fit",
        "JOIN part AS first ON first.id = fit.part JOIN part AS second ON second.id = fit.other"
        " WHERE fit.gone_at IS NULL AND first.gone_at IS NULL AND second.gone_at IS NULL ORDER BY fit.id",
    )
    photos = group_links(store.rows("SELECT fit, photo FROM fit_photo ORDER BY photo"), "fit", "photo")
    return [from_row(Fit, row, photos=photos[row["id"]]) for row in rows]
