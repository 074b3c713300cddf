"""Tests that are repeated: a few times in every run, in full number with ``TEACHEST_MANY=1``, which tells the figures.

``TEACHEST_MANY=1 python -m pytest -m long_form`` runs all of them and nothing else.
"""

from __future__ import annotations

import os

MANY = os.environ.get("TEACHEST_MANY") == "1"
TOLD: list[str] = []
"""What was counted and measured; printed at the end of a run in full number."""


def times(everyday: int, full: int) -> int:
    """How often."""
    return full if MANY else everyday


def tell(figures: str) -> None:
    """Have this printed at the end."""
    TOLD.append(figures)
