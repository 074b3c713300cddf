"""The spacer between two parts, from the gap of the one and the width of the other.

Uncertainties of two readings that have nothing to do with each other combine in quadrature: u(gap - width) is the root
of u(gap) squared and u(width) squared (JCGM 100:2008, 5.1.2, equation 10, with sensitivities 1 and -1). A reading
whose owner does not say how sure it is counts as sure as its last figure: half-width of the figure over root 3 is its
standard uncertainty (4.3.7, F.2.2.1), and twice that covers some 95 % (6.2, 6.3.3). The tool and the hand may well be
worse; that is said with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from survey.errors import BadSize
from survey.units import MM_PER_INCH, Size, both_ways, decimal_text
from survey.widths import Width

Outcome = Literal["spacer", "meets", "too-wide"]


@dataclass(frozen=True, slots=True)
class Spacer:
    """What the two readings leave. ``left_mm``: gap less width, below nought where the part is too wide.

    ``within_mm``: half-width of some 95 %. ``sides``: over how many it is split; ``each_mm`` and ``each_within_mm`` are
    of one of them. ``said``: both uncertainties were said and not taken from the figures.
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


def describe_spacer(found: Spacer) -> str:
    """What to make of it, in a sentence or two."""
    much = _both(abs(found.left_mm))
    within = f"give or take {_mm(found.within_mm)}"
    if found.outcome == "too-wide":
        told = f"The part is {much} too wide, {within}: no spacer helps, and no bolt is to draw it in."
    elif found.outcome == "meets":
        told = f"The two meet within what was measured: {_mm(float(found.left_mm))}, {within}. Measure finer first."
    elif found.sides == 1:
        told = f"A spacer of {much}, {within}."
    else:
        each = f"{_both(found.each_mm)} on each side, give or take {_mm(found.each_within_mm)}"
        told = f"Spacers of {each}: {much} in all."
    return told if found.said else f"{told} As sure as the last figure written; tool and hand may be worse."


def _both(mm: Fraction) -> str:
    """A length in mm, and in inches after it where it is a 64th of one or more."""
    if mm * 64 < MM_PER_INCH:
        return _mm(float(mm))
    return both_ways(Size(mm, "length", "mm", f"{decimal_text(mm, 2)} mm"))


def _mm(value: float) -> str:
    return f"{decimal_text(Fraction(value), 2)} mm"
