"""A width as it is written on the bench, with what its last figure leaves open."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from survey.errors import BadSize
from survey.units import MM_PER_INCH, UNITS, Size, parse_size

COVERS = 2
"""Standard uncertainties in a half-width of some 95 %."""

_APART = re.compile(r"\+/-|\+-|±")

_FRACTION = re.compile(r"\d+\s*/\s*(\d+)", re.ASCII)

_FIGURES = re.compile(r"\d+(?:[.,](\d+))?|[.,](\d+)", re.ASCII)

# Only the figure below the line shows how fine a fraction was read.
_WRITTEN_OUT = str.maketrans(
    {"\u2044": "/"} | {sign: f"1/{below}" for sign, below in zip("½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞", "233445555668888", strict=True)}
)


@dataclass(frozen=True, slots=True)
class Width:
    """A measured gap or width. ``within_mm``: half-width of some 95 %, in mm; ``said``: its owner gave it."""

    size: Size
    within_mm: float
    said: bool

    @property
    def mm(self) -> Fraction:
        """The length in mm, exact as written."""
        return self.size.mm


def parse_width(written: str) -> Width:
    """A length as somebody measured it, with how sure it is: ``112.4 mm``, ``4 7/16 in ± 1/64 in``, ``5 mm +- 0.1``.

    Raises:
        BadSize: it is no length, has no unit, or what stands after the ± is none.
    """
    value, *rest = _APART.split(written)
    size = parse_size(value)
    if size.dimension != "length":
        raise BadSize(f"“{written}” is no length.", "Write how wide it is, like 112.4 mm or 4 7/16 in.")
    if len(rest) > 1:
        raise BadSize(f"“{written}” has more than one ±.", "Write it like 112.4 mm ± 0.1 mm.")
    if rest:
        within = parse_size(rest[0], size.unit)
        if within.dimension != "length" or within.value >= size.value:
            raise BadSize(f"“{rest[0].strip()}” cannot be how sure “{value.strip()}” is.", "Write a small length.")
        return Width(size, float(within.mm), True)
    return Width(size, COVERS * float(_last_figure_mm(value, size)) / 2 / math.sqrt(3), False)


def _last_figure_mm(value: str, size: Size) -> Fraction:
    """What the last figure written stands for, in mm: 0.1 mm of 112.4 mm, a sixteenth of an inch of 4 7/16 in."""
    unit = UNITS[size.unit]
    plain = value.translate(_WRITTEN_OUT)
    fraction = _FRACTION.search(plain)
    if fraction is not None:
        per = MM_PER_INCH if unit.id == "ft" else unit.per  # 2 ft 3 1/2 in ends in inches
        return per / int(fraction[1])
    figures = list(_FIGURES.finditer(plain))
    places = len(figures[-1][1] or figures[-1][2] or "") if figures else 0
    per = MM_PER_INCH if unit.id == "ft" and len(figures) > 1 else unit.per
    return per * Fraction(1, 10**places)
