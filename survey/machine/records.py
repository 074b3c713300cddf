"""The machine's rows as its nouns."""

from __future__ import annotations

from survey.errors import ForeignDatabase
from survey.model.machine import Machine, Number
from survey.store.database import Store
from survey.store.disk_faults import PUT_BACK
from survey.store.rows import from_row


def fetch_machine(store: Store) -> Machine:
    """The machine, with its numbers as stamped."""
    rows = store.rows_of("machine", "WHERE id = 1")
    if not rows:
        raise ForeignDatabase(
            f"The survey in {str(store.folder)!r} does not say what machine it is of: survey.db is damaged.",
            PUT_BACK,
        )
    numbers = store.rows_of("number", "WHERE gone_at IS NULL ORDER BY id")
    return from_row(Machine, rows[0], numbers=tuple(from_row(Number, row) for row in numbers))
