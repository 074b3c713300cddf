"""Reading what a form or an address says; whatever cannot be read is refused in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TypeVar

from survey.errors import BadValue
from survey.model.photos import Photo

LONGEST_TEXT = 4000
MOST_OF_A_KIND = 10_000
Point = tuple[float, float]

# Control characters, halves of surrogate pairs, and what turns the direction of the words around it: a name or a
# stamped number should read on the page as it was written.
_UNWRITTEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
_Word = TypeVar("_Word", bound=str)


def text(form: Mapping[str, str], name: str) -> str:
    """A text field, trimmed; empty when it was not sent.

    Raises:
        BadValue: longer than ``LONGEST_TEXT`` characters.
    """
    return as_written(form, name).strip()


def as_written(form: Mapping[str, str], name: str, most: int = LONGEST_TEXT) -> str:
    """A text field with the blanks around it; only characters that no keyboard has are left out.

    Raises:
        BadValue: longer than ``most`` characters.
    """
    said = _UNWRITTEN.sub("", form.get(name, "").replace("\r\n", "\n"))
    if len(said) > most:
        raise BadValue(f"That text has {len(said)} characters.", f"Keep it to {most}; nothing was saved.")
    return said


def maybe_number(form: Mapping[str, str], name: str) -> int | None:
    """A whole number, or None where the field is empty.

    Raises:
        BadValue: it is no whole number.
    """
    said = form.get(name, "").strip()
    if not said:
        return None
    if not (said.isascii() and said.isdigit() and len(said) < 12):
        raise BadValue(f"{said[:40]!r} is no whole number.", "Write it in figures, for example 3.")
    return int(said)


def number(form: Mapping[str, str], name: str) -> int:
    """A whole number that must be there.

    Raises:
        BadValue: it is missing or no whole number.
    """
    found = maybe_number(form, name)
    if found is None:
        raise BadValue("Something was left out of that form.", "Go back, fill it in, and send it again.")
    return found


def quantity(form: Mapping[str, str], name: str = "quantity") -> int:
    """How many of a thing; one where nothing was said.

    Raises:
        BadValue: no whole number from 1 to ``MOST_OF_A_KIND``.
    """
    found = maybe_number(form, name)
    if found is None:
        return 1
    if not 1 <= found <= MOST_OF_A_KIND:
        raise BadValue(f"{found} is no quantity.", f"Say a whole number from 1 to {MOST_OF_A_KIND:,}.")
    return found


def word(form: Mapping[str, str], name: str, allowed: tuple[_Word, ...]) -> _Word | None:
    """One of the allowed words, or None where nothing was said.

    Raises:
        BadValue: another word.
    """
    said = form.get(name, "").strip()
    for one in allowed:
        if said == one:
            return one
    if said:
        raise BadValue(f"{said[:40]!r} is not among the choices.", "Say one of: " + ", ".join(allowed) + ".")
    return None


def component(form: Mapping[str, str]) -> str | None:
    """The chosen component's id; None where it was said that nobody knows yet.

    Raises:
        BadValue: nothing was chosen.
    """
    said = text(form, "component")
    if not said:
        raise BadValue("Nobody said what the part is.", "Go back and choose what it is, or that nobody knows yet.")
    return None if said == "unknown" else said


def points(said: str) -> tuple[Point, ...]:
    """Places on a picture written ``0.25,0.5;0.4,0.6``: fractions across and down.

    Raises:
        BadValue: they cannot be read, or lie outside the picture.
    """
    try:
        pairs = [pair.split(",") for pair in said.split(";") if pair.strip()]
        found = tuple((float(across), float(down)) for across, down in pairs)
    except ValueError:
        raise BadValue("That place on the picture cannot be read.", "Mark it again.") from None
    if not all(0 <= edge <= 1 for pair in found for edge in pair):
        raise BadValue("That place lies outside the picture.", "Mark it again.")
    return found


def written_points(places: tuple[Point, ...]) -> str:
    """The form that ``points`` reads."""
    return ";".join(f"{across:.4f},{down:.4f}" for across, down in places)


def picked(args: Mapping[str, str], photo: Photo) -> Point | None:
    """Where a picture shown ``w`` pixels wide was clicked, as fractions; None when it was not.

    Raises:
        BadValue: the numbers do not make a place.
    """
    if "pick.x" not in args:
        return None
    wide = maybe_number(args, "w") or 0
    across, down = maybe_number(args, "pick.x"), maybe_number(args, "pick.y")
    if wide < 1 or across is None or down is None:
        raise BadValue("That place on the picture cannot be read.", "Mark it again.")
    high = max(1, round(wide * photo.height / photo.width))
    return min(1.0, across / wide), min(1.0, down / high)
