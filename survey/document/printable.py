"""Which letters the shipped fonts have, read from the fonts themselves, and text made of nothing else.

A PDF that is to be read aloud must not hold a letter without a shape, and an owner's note may hold any. The
format read is OpenType's ``cmap`` table, subtable formats 4 and 12 (ISO/IEC 14496-22, section 5.2.1).
"""

from __future__ import annotations

import re
import struct
import unicodedata
from functools import cache
from pathlib import Path

LONGEST_HEADING = 90
"""Letters of a name that is set as a heading; the whole of a longer one is printed below it."""


def shorten(name: str, most: int = LONGEST_HEADING) -> str:
    """The name on one line, cut at a word where it has more letters than that."""
    line = " ".join(name.split())
    if len(line) <= most:
        return line
    cut = line[: most - 1]
    return (cut.rsplit(" ", 1)[0] if " " in cut[most // 2 :] else cut).rstrip(" ,;.") + "…"


FONTS = Path(__file__).parent / "fonts"
FALLBACK = "DejaVuSans.ttf"
SQUARE = "\N{WHITE SQUARE}"

_BREAK = "\N{ZERO WIDTH SPACE}"
_PIECE = 12
_TOO_LONG = re.compile(r"\S{25,}")

# Invisible and harmless to lose: controls, joiners, direction marks, and what Unicode has not given out.
_DROPPED = {"Cc", "Cf", "Cs", "Co", "Cn"}


def make_printable(text: str) -> str:
    """The text with every letter the fonts have kept, and an empty square for every other.

    Line ends stay, tabs become spaces, controls and direction marks go, letters are composed (NFC).
    """
    if text.isascii() and text.isprintable():
        return text
    have = covered()
    text = unicodedata.normalize("NFC", text).replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    return "".join(_print_letter(letter, have) for letter in text)


def make_breakable(text: str) -> str:
    """The text with places to break a line inside words too long for one, such as a pasted address."""
    return _TOO_LONG.sub(lambda word: _BREAK.join(_split_word(word.group())), text)


def _split_word(word: str) -> list[str]:
    return [word[at : at + _PIECE] for at in range(0, len(word), _PIECE)]


def _print_letter(letter: str, have: frozenset[int]) -> str:
    if letter == "\n":
        return letter
    kind = unicodedata.category(letter)
    if kind in _DROPPED or "VARIATION SELECTOR" in unicodedata.name(letter, ""):
        return ""
    if kind in ("Zl", "Zp"):
        return "\n"
    if ord(letter) in have:
        return letter
    return " " if kind == "Zs" else SQUARE


@cache
def covered() -> frozenset[int]:
    """Code points that every face can print, by itself or by falling back."""
    faces = [_read_code_points(path) for path in sorted(FONTS.glob("*.otf"))]
    letters = frozenset.intersection(*faces) | _read_code_points(FONTS / FALLBACK)
    return frozenset(code for code in letters if unicodedata.category(chr(code)) not in _DROPPED)


def _read_code_points(path: Path) -> frozenset[int]:
    font = path.read_bytes()
    (tables,) = struct.unpack_from(">H", font, 4)
    start = 0
    for index in range(tables):
        tag, _, offset, _ = struct.unpack_from(">4sIII", font, 12 + 16 * index)
        if tag == b"cmap":
            start = offset
    (count,) = struct.unpack_from(">H", font, start + 2)
    found: set[int] = set()
    for index in range(count):
        _, _, offset = struct.unpack_from(">HHI", font, start + 4 + 8 * index)
        found |= _read_subtable(font, start + offset)
    return frozenset(found)


def _read_subtable(font: bytes, at: int) -> set[int]:
    (form,) = struct.unpack_from(">H", font, at)
    if form == 12:
        (groups,) = struct.unpack_from(">I", font, at + 12)
        runs = [struct.unpack_from(">III", font, at + 16 + 12 * group) for group in range(groups)]
        return {code for first, last, glyph in runs for code in range(first, last + 1) if glyph + code - first}
    return _read_segments(font, at) if form == 4 else set()


def _read_segments(font: bytes, at: int) -> set[int]:
    """Format 4: runs of code points, each shifted by a delta or looked up in an array."""
    (double,) = struct.unpack_from(">H", font, at + 6)
    found: set[int] = set()
    for index in range(0, double, 2):
        (last,) = struct.unpack_from(">H", font, at + 14 + index)
        first, delta = (struct.unpack_from(">H", font, at + 16 + double * n + index)[0] for n in (1, 2))
        here = at + 16 + 3 * double + index
        (jump,) = struct.unpack_from(">H", font, here)
        for code in range(first, min(last, 0xFFFE) + 1):
            glyph = struct.unpack_from(">H", font, here + jump + 2 * (code - first))[0] if jump else code
            if (glyph + delta) & 0xFFFF if glyph or not jump else 0:
                found.add(code)
    return found
