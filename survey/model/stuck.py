"""Stuck, seized and snapped things on parts."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stuck:
    """A stuck thing on a part as its owner recorded it. ``out``: it is out now. ``at``: UTC time; ``by``: who."""

    id: int
    part: int
    what: str
    thing: str
    conditions: tuple[str, ...] = ()
    tried: tuple[str, ...] = ()
    holds: str = ""
    note: str = ""
    out: bool = False
    by: str = ""
    at: str = ""
