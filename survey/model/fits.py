"""Trial fits of two parts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Result = Literal["goes", "packing", "does-not", "not-tried"]
FitSide = Literal["", "near", "off", "both"]

FIT_RESULTS: tuple[Result, ...] = ("goes", "packing", "does-not", "not-tried")

FIT_SIDES: tuple[FitSide, ...] = ("", "near", "off", "both")
"""Sides of the machine as one sits on it: near is left, off is right."""

FIT_WORDS: dict[Result, str] = {
    "goes": "Goes together",
    "packing": "Goes with packing",
    "does-not": "Does not go",
    "not-tried": "Not tried",
}

SIDE_WORDS: dict[FitSide, str] = {
    "": "",
    "near": "near side (left)",
    "off": "off side (right)",
    "both": "both sides",
}


@dataclass(frozen=True, slots=True)
class Fit:
    """A trial fit: ``other`` was put to ``part``, which takes it.

    ``packed``: what was between the two, ``side``: where. ``gap``: size of ``part`` between the faces that take the
    other, ``width``: of ``other`` over the faces that go in, both as written or empty. ``at``: UTC time; ``by``: who.
    """

    id: int
    part: int
    other: int
    result: Result
    side: FitSide = ""
    packed: str = ""
    gap: str = ""
    width: str = ""
    note: str = ""
    photos: tuple[int, ...] = ()
    by: str = ""
    at: str = ""

    @property
    def pair(self) -> frozenset[int]:
        """The two parts, whichever takes the other."""
        return frozenset((self.part, self.other))
