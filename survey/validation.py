"""Validation of what a person writes: text that can be shown everywhere, numbers that can be counted."""

from __future__ import annotations

import unicodedata

from survey.errors import BadValue

TEXT_LIMIT = 4000
"""Characters of one note, label, place or reason."""

QUANTITY_LIMIT = 10_000
"""More of one thing than any machine or any heap has."""

_LAYOUT = "\n\r\t"


def validate_text(what: str, value: str) -> str:
    """The text without blanks at its ends.

    Args:
        what: what the text is, as a sentence names it: ``note``, ``label``.

    Raises:
        BadValue: it is no text, longer than ``TEXT_LIMIT``, or holds what cannot be printed (NUL among it).
    """
    if not isinstance(value, str):
        raise BadValue(f"The {what} is no text.", "Write it in words.")
    text = value.strip()
    if len(text) > TEXT_LIMIT:
        raise BadValue(
            f"The {what} has {len(text):,} characters, and {TEXT_LIMIT:,} are kept at most.", "Say it more shortly."
        )
    if any(unicodedata.category(letter) in ("Cc", "Cs") and letter not in _LAYOUT for letter in text):
        raise BadValue(
            f"The {what} holds characters that cannot be printed.", "Write it again, in plain letters (UTF-8)."
        )
    return text


def validate_count(what: str, number: int, least: int = 1, most: int = QUANTITY_LIMIT) -> int:
    """The number, if it is a whole one within those bounds; True and 2.0 are none.

    Raises:
        BadValue: it is not.
    """
    if type(number) is not int or not least <= number <= most:
        raise BadValue(
            f"The {what} is a whole number from {least:,} to {most:,}.", "Write it again, in figures, without a point."
        )
    return number
