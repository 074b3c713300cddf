"""The spacer between two parts, from the gap of the one and the width of the other.

Uncertainties of two independent readings combine in quadrature: u(gap - width) is the root of u(gap) squared plus
u(width) squared (JCGM 100:2008, 5.1.2, equation 10, with sensitivities 1 and -1). A reading
without an uncertainty of its own is taken to be as sure as its last figure: half-width of the figure over root 3 is its
standard uncertainty (4.3.7, F.2.2.1), and twice that covers some 95 % (6.2, 6.3.3). The tool and the hand may well be
worse; the sentence says so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from survey.errors import BadSize
from survey.units import MM_PER_INCH, Size, format_both_ways, format_decimal
from survey.widths import Width

Outcome = Literal["spacer", "meets", "too-wide"]


@dataclass(frozen=True, slots=True)
class Spacer:
    """The difference of the two readings. ``left_mm``: gap less width, negative if the part is too wide.

    ``within_mm``: half-width of some 95 %. ``sides``: how many sides it is split over; ``each_mm`` and
    ``each_within_mm`` are for one side. ``said``: both uncertainties were written by the owner, not taken from the
    figures.
    """

    gap: Width
    width: Width
    left_mm: Fraction
    within_mm: float
    sides: int
    outcome: Outcome
    said: bool

    @property
    def each_mm(self) -> Fraction:
        """The spacer of one side, in mm."""
        return self.left_mm / self.sides

    @property
    def each_within_mm(self) -> float:
        """Half-width of some 95 % of one side's spacer, in mm: both are cut from the same difference."""
        return self.within_mm / self.sides


def make_spacer(gap: Width, width: Width, sides: int = 1) -> Spacer:
    """The spacer that fills the gap round the part, on one side or split over both.

    Raises:
        BadSize: ``sides`` is neither 1 nor 2.
    """
    if sides not in (1, 2):
        raise BadSize(f"A gap is filled on one side or on two, not on {sides}.", "Say 1 or 2.")
    left = gap.mm - width.mm
    within = math.hypot(gap.within_mm, width.within_mm)
    outcome: Outcome = "meets" if abs(left) <= within else "spacer" if left > 0 else "too-wide"
    return Spacer(gap, width, left, within, sides, outcome, gap.said and width.said)


def describe_spacer(spacer: Spacer) -> str:
    """The spacer, or why none helps, in a sentence or two."""
    length = _mm_and_inches(abs(spacer.left_mm))
    within = f"give or take {_mm(spacer.within_mm)}"
    if spacer.outcome == "too-wide":
        sentence = f"The part is {length} too wide, {within}: no spacer helps, and no bolt is to draw it in."
    elif spacer.outcome == "meets":
        sentence = (
            f"The two meet within what was measured: {_mm(float(spacer.left_mm))}, {within}. Measure finer first."
        )
    elif spacer.sides == 1:
        sentence = f"A spacer of {length}, {within}."
    else:
        each = f"{_mm_and_inches(spacer.each_mm)} on each side, give or take {_mm(spacer.each_within_mm)}"
        sentence = f"Spacers of {each}: {length} in all."
    return sentence if spacer.said else f"{sentence} As sure as the last figure written; tool and hand may be worse."


def _mm_and_inches(mm: Fraction) -> str:
    """A length in mm, followed by inches if it is a 64th of an inch or more."""
    if mm * 64 < MM_PER_INCH:
        return _mm(float(mm))
    return format_both_ways(Size(mm, "length", "mm", f"{format_decimal(mm, 2)} mm"))


def _mm(value: float) -> str:
    return f"{format_decimal(Fraction(value), 2)} mm"
