"""What the survey is of: the machine and its stamped numbers."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Number:
    """A stamped, cast or written number exactly as read, and where it is."""

    id: int
    place: str
    text: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Machine:
    """What the survey is of. ``surveyor``: who looks. ``currency``: of every price of the survey (ISO 4217)."""

    name: str
    kind: str
    maker: str = ""
    model: str = ""
    year: str = ""
    engine: str = ""
    bought: str = ""
    surveyor: str = ""
    note: str = ""
    numbers: tuple[Number, ...] = ()
    currency: str = "GBP"
