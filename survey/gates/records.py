"""The rows of the owner's answers to the gates."""

from __future__ import annotations

from survey.model.gates import GateAnswer
from survey.store.database import Store
from survey.store.rows import from_row


def fetch_gate_answers(store: Store) -> list[GateAnswer]:
    """The owner's word on the gates."""
    return [from_row(GateAnswer, row) for row in store.rows_of("gate_said")]
