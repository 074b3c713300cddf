"""Sizes as restorers write them: read exactly, kept exactly, written back either way.

``1/4 in``, ``1 3/16"``, ``.250"``, ``6,35 mm``, ``5 thou``, ``2 ft 3 in``, ``26 tpi``, ``47 1/2 deg``, ``1.5 %``,
``33 off``. Values are fractions, never floats, so that a quarter of an inch is 6.35 mm and not nearly so.

The inch is 25.4 mm exactly (international yard and pound agreement of 1 July 1959; BS 350, ISO 31-1).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from survey.errors import BadSize

Dimension = Literal["length", "pitch", "ratio", "angle", "count"]

MM_PER_INCH = Fraction(254, 10)

LONGEST = 60
"""Characters of a size as it is written; no size anybody writes has half as many."""

LARGEST = Fraction(10**6)
"""Nothing on a machine is a million of anything: beyond this a size is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of measurement.

    ``per``: how many base units one of it is; the bases are mm, mm between threads, one, degree and piece.
    ``turned``: the more of it, the smaller the size (threads to the inch).
    ``spellings``: other ways it is written, lower case; the id itself always counts.
    """

    id: str
    dimension: Dimension
    per: Fraction
    spellings: tuple[str, ...] = ()
    turned: bool = False


_UNITS = (
    Unit("in", "length", MM_PER_INCH, ("in.", "inch", "inches", "ins", '"')),
    Unit("mm", "length", Fraction(1), ("mm.", "millimetre", "millimetres", "millimeter", "millimeters")),
    Unit("thou", "length", MM_PER_INCH / 1000, ("thous", "thousandth", "thousandths")),
    Unit("cm", "length", Fraction(10), ("cm.", "centimetre", "centimetres", "centimeter", "centimeters")),
    Unit("ft", "length", MM_PER_INCH * 12, ("ft.", "foot", "feet", "'")),
    Unit("m", "length", Fraction(1000), ("metre", "metres", "meter", "meters")),
    Unit("µm", "length", Fraction(1, 1000), ("um", "micron", "microns")),
    Unit("tpi", "pitch", MM_PER_INCH, ("t.p.i.", "threads per inch", "threads to the inch"), turned=True),
    Unit("mm pitch", "pitch", Fraction(1), ("pitch mm",)),
    Unit("%", "ratio", Fraction(1, 100), ("per cent", "percent", "pc")),
    Unit("thou per inch", "ratio", Fraction(1, 1000), ("thou per inch of bore", "thou to the inch")),
    Unit("deg", "angle", Fraction(1), ("degree", "degrees", "deg.", "°")),
    Unit("min", "angle", Fraction(1, 60), ("minute", "minutes", "arcmin", "'")),
    Unit(
        "off", "count", Fraction(1), ("pcs", "pieces", "piece", "teeth", "links", "cracks", "crack", "leaks", "strands")
    ),
)

UNITS: dict[str, Unit] = {unit.id: unit for unit in _UNITS}
"""Every unit by its id. ``off`` counts pieces, as on a drawing: 33 off."""

EXAMPLES = "1/4 in, 1 3/16 in, .250 in, 6.35 mm, 5 thou, 26 tpi, 60 deg, 1.5 % or 33 off"

# Compound sizes: which smaller unit may follow a larger one, and how many of it make one of the larger.
_FOLLOWS = {"ft": ("in", 12), "deg": ("min", 60)}

# The units no fraction is meant in unless it is written beside it.
_METRIC = frozenset(("mm", "cm", "m", "µm", "mm pitch"))

_AMBIGUOUS = {
    "mil": "a thousandth of an inch to some and a millimetre to others",
    "mils": "thousandths of an inch to some and millimetres to others",
}

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip

# Everything a keyboard or a phone puts where a restorer means a plain mark.
_NORMAL_MARKS = str.maketrans({
    "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "⁄": "/", "∕": "/", "º": "°", "μ": "µ",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "–": "-", "‑": "-", "−": "-", "×": "x",
})  # fmt: skip

_NUMBER = re.compile(
    r"""(?P<whole>\d+)[ -]+(?P<above>\d+)/(?P<below>\d+)    # 1 3/16, 1-3/16
      | (?P<over>\d+)/(?P<under>\d+)                         # 3/16
      | (?P<decimal>\d+[.,]\d+|[.,]\d+|\d+\.?)               # 6.35  6,35  .250  6
    """,
    re.VERBOSE | re.ASCII,
)
_BARE = re.compile(r"[\d.,/ -]+", re.ASCII)
_UNIT_TEXT = re.compile(r"""[^\d.,/ -][^\d,/"']*|["']""", re.ASCII)
_THREAD = re.compile(r"m\s?\d+(\.\d+)?(\s?x\s?[\d.]+)?|[\d./# ]+(x|-)\s?\d+|\d+\s?ba", re.ASCII)


@dataclass(frozen=True, slots=True)
class Size:
    """A size read from what somebody wrote.

    ``value`` is exact, in the base unit of its dimension: mm (length), mm between threads (pitch), one (ratio:
    1.5 % is 3/200), degree (angle), piece (count). ``unit`` is the unit it was written in (an id of ``UNITS``; of a
    compound size the larger), ``written`` the text itself.
    """

    value: Fraction
    dimension: Dimension
    unit: str
    written: str

    @property
    def mm(self) -> Fraction:
        """The length in mm, or the pitch in mm; exact. BadSize for a size that is neither."""
        if self.dimension not in ("length", "pitch"):
            raise BadSize(f"“{self.written}” is {_NOUNS[self.dimension]}, which has no millimetres.", "Write a length.")
        return self.value

    @property
    def inches(self) -> Fraction:
        """The length or pitch in inches; exact. BadSize for a size that is neither."""
        return self.mm / MM_PER_INCH

    @property
    def tpi(self) -> Fraction:
        """Threads to the inch of a pitch; exact. BadSize for anything else."""
        if self.dimension != "pitch":
            raise BadSize(f"“{self.written}” is {_NOUNS[self.dimension]}, not the pitch of a thread.", "Write 26 tpi.")
        return MM_PER_INCH / self.value

    def to(self, unit: str) -> Fraction:
        """The exact number of ``unit`` (an id of ``UNITS``) in this size; BadSize when it measures something else."""
        wanted = _find_unit(unit, self.written)
        if wanted.dimension != self.dimension:
            raise BadSize(
                f"“{self.written}” is {_NOUNS[self.dimension]} and {_NOUNS[wanted.dimension]} is wanted.",
                f"Write it in {_list_unit_ids(wanted.dimension)}.",
            )
        return wanted.per / self.value if wanted.turned else self.value / wanted.per


_NOUNS = {"length": "a length", "pitch": "a pitch", "ratio": "a share", "angle": "an angle", "count": "a count"}
_SPELLINGS = {spelling: unit for unit in _UNITS for spelling in (unit.id, *unit.spellings) if spelling != "'"}
_SPELLINGS["'"] = UNITS["ft"]


def _list_unit_ids(dimension: Dimension | None = None) -> str:
    """The unit ids a person may write, for a sentence."""
    ids = [unit.id for unit in _UNITS if dimension in (None, unit.dimension)]
    return " or ".join(ids) if len(ids) < 3 else f"{', '.join(ids[:-1])} or {ids[-1]}"


def _find_unit(text: str, whole: str) -> Unit:
    """The unit spelt ``text`` in the size ``whole``."""
    spelling = " ".join(text.lower().split())
    if spelling in _AMBIGUOUS:
        raise BadSize(f"In “{whole}” the word “{spelling}” is {_AMBIGUOUS[spelling]}.", "Write thou or mm.")
    if spelling not in _SPELLINGS:
        raise BadSize(f"“{text.strip()}” in “{whole}” is not a unit known here.", f"Use {_list_unit_ids()}.")
    return _SPELLINGS[spelling]


def _normalize(text: str) -> str:
    """The text with the marks of phones and word processors turned into plain ones."""
    plain = text.strip().translate(_NORMAL_MARKS).replace("''", '"')
    for sign, fraction in _VULGAR.items():
        plain = re.sub(rf"(?<=\d){sign}", f" {fraction}", plain).replace(sign, fraction)
    return plain


def _read_number(match: re.Match[str], whole: str) -> Fraction:
    """The exact value of one number of the size ``whole``."""
    if match["decimal"] is not None:
        text: str = match["decimal"]
        if re.fullmatch(r"[1-9]\d{0,2},\d{3}", text, re.ASCII):
            raise BadSize(
                f"“{text}” in “{whole}” may mean {text.replace(',', '')} or {text.replace(',', '.')}.",
                "Write it without the comma, or with a point.",
            )
        return Fraction(text.replace(",", ".").rstrip("."))
    above, below = int(match["above"] or match["over"]), int(match["below"] or match["under"])
    if below == 0:
        raise BadSize(f"“{whole}” divides by nothing.", "Write the fraction again, as in 3/16 in.")
    if match["whole"] is None:
        return Fraction(above, below)
    if above >= below:
        raise BadSize(f"In “{whole}” the fraction {above}/{below} is a whole or more.", "Write it like 1 3/16 in.")
    return int(match["whole"]) + Fraction(above, below)


def _split_pieces(plain: str, written: str) -> list[tuple[Fraction, str]]:
    """The number-and-unit pairs of a size; the unit text of the last may be empty."""
    pieces: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(plain):
        number = _NUMBER.match(plain, at)
        if number is None:
            raise BadSize(f"“{written}” is not a size that can be read.", f"Write it like {EXAMPLES}.")
        unit_at = len(plain) - len(plain[number.end() :].lstrip(" "))
        unit = _UNIT_TEXT.match(plain, unit_at)
        pieces.append((_read_number(number, written), unit[0].strip() if unit else ""))
        end = unit.end() if unit else unit_at
        at = len(plain) - len(plain[end:].lstrip(" "))
        if not unit and at < len(plain):
            raise BadSize(f"“{written}” has two numbers where one is wanted.", f"Write it like {EXAMPLES}.")
    return pieces


def _join_pieces(pieces: list[tuple[Fraction, str]], written: str) -> tuple[Fraction, Unit]:
    """The value in base units of two pairs that make one size (2 ft 3 in), and the larger unit."""
    (many, larger_text), (few, smaller_text) = pieces
    larger = _find_unit(larger_text, written)
    follower, at_most = _FOLLOWS.get(larger.id, ("", 0))
    minute_mark = larger.id == "deg" and smaller_text == "'"
    smaller = UNITS["min"] if minute_mark else _find_unit(smaller_text or follower or larger_text, written)
    if smaller.id != follower:
        raise BadSize(f"“{written}” joins units that do not go together.", "Write 2 ft 3 in, or one number and unit.")
    if many.denominator != 1 or few >= at_most:
        raise BadSize(
            f"“{written}” cannot be read as {larger.id} and {smaller.id}.",
            f"Write a whole number of {larger.id} and less than {at_most} {smaller.id}.",
        )
    return many * larger.per + few * smaller.per, larger


def parse_size(text: str, default_unit: str | None = None) -> Size:
    """Read one size as somebody wrote it.

    Args:
        text: what was written; surrounding blanks and the odd marks of phone keyboards do not matter.
        default_unit: an id of ``UNITS`` meant where the text has a bare number; None where a unit must be written.
            A bare fraction is never taken as millimetres.

    Returns:
        The size, exact.

    Raises:
        BadSize: it cannot be read, means two things, or names a thread; the sentence says which and what is allowed.
    """
    written = text.strip()
    if len(written) > LONGEST:  # before anything else reads it: a number of a million digits takes minutes
        raise BadSize(f"“{written[:20]}…” is too long for a size.", f"Write it like {EXAMPLES}.")
    plain = _normalize(written)
    if not plain:
        raise BadSize("No size is written.", f"Write it like {EXAMPLES}.")
    if plain.startswith("-"):
        raise BadSize(f"“{written}” is less than nothing.", "Write how much it is; say which way in the note.")
    if _THREAD.fullmatch(plain.lower()):
        raise BadSize(
            f"“{written}” names a thread, which is more than one size.",
            "Write the outside diameter and the pitch each on its own, such as 6 mm and 26 tpi.",
        )
    pieces = _split_pieces(plain, written)
    if len(pieces) > 2:
        raise BadSize(f"“{written}” has more than two numbers with units.", f"Write it like {EXAMPLES}.")
    if len(pieces) == 2:
        value, unit = _join_pieces(pieces, written)
    else:
        if "/" in plain and not pieces[0][1] and default_unit in _METRIC:
            # Nobody divides a millimetre by sixteen: 3/16 taken for 0.1875 mm would be a false reading.
            raise BadSize(f"“{written}” has no unit, and a fraction is mostly of an inch.", f"Write {written} in.")
        value, unit = _convert_piece(pieces[0], default_unit, written)
    _require_plausible(value, unit, written)
    return Size(value=value, dimension=unit.dimension, unit=unit.id, written=written)


def _convert_piece(piece: tuple[Fraction, str], default_unit: str | None, written: str) -> tuple[Fraction, Unit]:
    """The value in base units of one number and its unit, and that unit."""
    number, unit_text = piece
    if not unit_text and default_unit is None:
        raise BadSize(f"“{written}” has no unit.", f"Write one after the number: {_list_unit_ids()}.")
    unit = _find_unit(unit_text or default_unit or "", written)
    if unit.turned and number == 0:
        raise BadSize(f"“{written}” is no thread: no turns to the inch.", "Count the threads over an inch: 26 tpi.")
    return (unit.per / number if unit.turned else number * unit.per), unit


def _require_plausible(value: Fraction, unit: Unit, written: str) -> None:
    """Refuse a size that no part can have: a million of anything, an eighth of a piece."""
    if value > LARGEST:
        raise BadSize(f"“{written}” is larger than anything on a machine.", "Write the size again, with its unit.")
    if unit.dimension == "count" and value.denominator != 1:
        raise BadSize(f"“{written}” is not a whole number of pieces.", "Write how many whole ones there are.")


def find_nearest_fraction(inches: Fraction, parts: int = 64) -> tuple[Fraction, Fraction]:
    """The nearest ``1/parts`` of an inch and what is left over, both in inches; below nought if rounded up."""
    rounded = Fraction(round(inches * parts), parts)
    return rounded, inches - rounded


def format_decimal(value: Fraction, places: int) -> str:
    """``value`` to at most ``places`` decimals, halves away from nought as on a drawing, no trailing noughts."""
    scaled = abs(value) * 10**places
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    digits = str(whole).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".") if places else digits
    return f"-{text}" if value < 0 and whole else text


def format_fraction(value: Fraction) -> str:
    """A fraction as it is written at the bench: ``1 3/16``, ``1/4``, ``2``."""
    whole, rest = divmod(value, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def format_mm(size: Size, places: int = 2) -> str:
    """A length in millimetres for people: ``6.35 mm``."""
    return f"{format_decimal(size.mm, places)} mm"


def format_inches(size: Size) -> str:
    """A length in inches for people: the exact fraction down to 64ths, else the nearest 64th and the error.

    ``1/4 in``; ``15/64 in less 0.013 mm``: the size is that much under the 64th it is nearest to.
    """
    nearest, left_mm = find_nearest_fraction(size.inches)[0], find_nearest_fraction(size.inches)[1] * MM_PER_INCH
    if not left_mm:
        return f"{format_fraction(nearest)} in"
    sign, error = ("plus" if left_mm > 0 else "less"), format_decimal(abs(left_mm), 3)
    if error == "0":
        error = "under 0.001"
    return f"{format_fraction(nearest)} in {sign} {error} mm"


def format_both_ways(size: Size) -> str:
    """A length or pitch in the unit it was written in first and the other system after it.

    ``1/4 in (6.35 mm)``, ``6 mm (15/64 in plus 0.047 mm)``, ``26 tpi (0.977 mm)``. Anything else comes back as
    written; a bare number is given the unit it was taken in.
    """
    if size.dimension == "pitch":
        tpi, pitch = f"{format_decimal(size.tpi, 2)} tpi", f"{format_decimal(size.value, 3)} mm"
        return f"{tpi} ({pitch})" if size.unit == "tpi" else f"{pitch} ({tpi})"
    written = f"{size.written} {size.unit}" if _BARE.fullmatch(size.written) else size.written
    if size.dimension != "length":
        return written
    inch = size.unit in ("in", "thou", "ft")
    return f"{written} ({format_mm(size, 3)})" if inch else f"{written} ({format_inches(size)})"
