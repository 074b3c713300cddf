"""Queries for evidence on parts, and for parts kept as patterns."""

from __future__ import annotations

from survey.model.belonging import Evidence
from survey.store.database import Store
from survey.store.rows import fetch_rows_on_live_parts, from_row


def fetch_evidence(store: Store) -> list[Evidence]:
    """All evidence on live parts, by number."""
    return [from_row(Evidence, row) for row in fetch_rows_on_live_parts(store, "evidence")]


def fetch_patterns(store: Store) -> dict[int, str]:
    """The component each pattern is kept for, by part number."""
    return {
        row["part"]: row["component"]
        for row in store.rows_of("pattern", "JOIN part ON part.id = pattern.part WHERE part.gone_at IS NULL")
    }
