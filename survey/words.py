"""How closed words and readings are worded for people: the same on the page, on paper and on the command line."""

from __future__ import annotations

from datetime import date

from survey.errors import BadSize
from survey.model.grading import Outcome, Seen
from survey.model.parts import GradedPart, Reading
from survey.model.schedule import Duty, GapState
from survey.units import format_both_ways, parse_size

OUTCOME_WORDS: dict[Outcome, str] = {
    "reuse": "Reuse",
    "repair": "Repair",
    "replace": "Replace",
    "examine-first": "Examine first",
    "take-a-reading": "Take a reading",
    "not-looked-at": "Not looked at",
}

SEEN_WORDS: dict[Seen, str] = {
    "bare": "on the bare part",
    "paint": "through paint, plating or dirt",
    "unseen": "not seen: suspected or told",
}

GAP_WORDS: dict[GapState, str] = {
    "missing": "Missing",
    "wrong": "Here but wrong",
    "short": "Short",
    "unseen": "Inside, not seen",
    "not-looked": "Not looked for",
}

DUTY_WORDS: dict[Duty, str] = {
    "safety": "safety part",
    "running": "running part",
    "cosmetic": "looks and comfort",
    "paperwork": "paperwork",
}

STATE_WORDS: dict[str, str] = {
    "here": "Here",
    **{str(state): words for state, words in GAP_WORDS.items()},
    "not-fitted": "Not fitted to this machine",
}

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def format_size_both_ways(written: str) -> str:
    """A size in inches and mm; of several joined by ``x`` each that can be read (``1/4 in x 26 tpi``)."""
    return " x ".join(_convert_piece(piece) for piece in written.split(" x "))


def _convert_piece(piece: str) -> str:
    try:
        return format_both_ways(parse_size(piece))
    except BadSize:
        return piece.strip()


def format_reading(reading: Reading) -> str:
    """As written and in the other system; only as written where an older Teachest read it otherwise than this one."""
    try:
        return format_both_ways(parse_size(reading.written, default_unit=reading.unit))
    except BadSize:
        return reading.written


def format_part_name(graded: GradedPart) -> str:
    """What a part is called: its owner's own name for it, else its component's."""
    return graded.part.label or (graded.component.label if graded.component else "not known yet")


def format_count(count: int, one: str, more: str = "") -> str:
    """``1 photo``, ``1,204 photos``; ``more``: of several, where that is not ``one`` with an s."""
    return f"{count:,} {one if count == 1 else more or one + 's'}"


def capitalize(text: str) -> str:
    """The text with a capital first letter; the rest as it is, so that names keep theirs."""
    return text[:1].upper() + text[1:]


def format_day(day: str) -> str:
    """``2026-06-03`` as ``3 June 2026``; empty for empty."""
    if not day:
        return ""
    date_ = date.fromisoformat(day)
    return f"{date_.day} {_MONTHS[date_.month - 1]} {date_.year}"
