"""Evidence for and against a part's belonging."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Evidence:
    """Something recorded for or against a part. ``who``: its source. ``at``: UTC time; ``by``: who recorded it."""

    id: int
    part: int
    kind: str
    note: str = ""
    who: str = ""
    photo: int | None = None
    by: str = ""
    at: str = ""
