"""The rows of what speaks for and against parts, and of what each is kept as a pattern for."""

from __future__ import annotations

from survey.folder.store import Row, Store
from survey.planning.belongs import Evidence


def evidence(store: Store) -> list[Evidence]:
    """All evidence on parts that stand, by number."""
    rows = store.rows_of(
        "evidence",
        "JOIN part ON part.id = evidence.part"
        " WHERE evidence.gone_at IS NULL AND part.gone_at IS NULL ORDER BY evidence.id",
    )
    return [_evidence(row) for row in rows]


def patterns(store: Store) -> dict[int, str]:
    """By part, the component it is kept as a pattern for."""
    return {
        row["part"]: row["component"]
        for row in store.rows_of("pattern", "JOIN part ON part.id = pattern.part WHERE part.gone_at IS NULL")
    }


def _evidence(row: Row) -> Evidence:
    return Evidence(row["id"], row["part"], row["kind"], row["note"], row["who"], row["photo"], row["by"], row["at"])
