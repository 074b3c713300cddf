"""Rules and readings in words, as data for whoever prints them."""

from __future__ import annotations

from dataclasses import dataclass

from survey.grading.facts import UNKNOWN, Measured, PartFacts
from survey.grading.readings import BOOK_SUFFIX, Limit, ReadingKind, state_of
from survey.grading.rows import Row
from survey.grading.rulebook import Rulebook
from survey.grading.tables import Between

_MEASURED: dict[str, str] = {
    "none": "not measured",
    "inside": "measured inside its limit",
    "over": "measured beyond its limit",
    "no-limit": "measured, but no limit to hold it against",
}
_FOUND: dict[str, str] = {
    "nothing": "nothing is recorded",
    "unseen": "nothing of it has been seen",
    "finish": "only its finish or the dirt on it is recorded",
    "substance": "something of the part itself is recorded",
}
_SEEN: dict[str, str] = {"bare": "seen bare", "paint": "seen through paint, plating or dirt", "unseen": "not seen"}


@dataclass(frozen=True, slots=True)
class HeldReading:
    """A reading of a part and what it was held against. ``value`` None: not taken. ``limit`` in words, with unit."""

    reading: str
    label: str
    unit: str
    value: float | None
    state: Measured
    limit: str
    source: str
    how: str


def when_in_words(row: Row) -> str:
    """When a row holds, as one phrase: ``crack 2, 3 or 4; on handlebar; safety``."""
    said = []
    findings = _any_of(row.words("finding"))
    steps = _any_of(row.words("step"))
    if findings or steps:
        said.append(f"{findings or 'any finding'} {steps}".strip())
    for column, before in (("component", "on "), ("class", "on "), ("material", "of "), ("duty", "")):
        if words := row.words(column):
            said.append(before + _any_of(words))
    for column, words_of in (("measured", _MEASURED), ("found", _FOUND), ("seen", _SEEN)):
        if words := row.words(column):
            said.append(" or ".join(words_of[str(word)] for word in sorted(words, key=str)))
    if words := row.words("speaks-of"):
        said.append("speaks of " + _any_of(words))
    if words := row.words("crack-test"):
        said.append("crack test " + " or ".join(_MEASURED[str(word)] for word in sorted(words, key=str)))
    if words := row.words("first"):
        said.append("so far " + _any_of(words))
    return "; ".join(said)


def within_in_words(within: Between, unit: str) -> str:
    """A limit in words: ``no more than 4 mm``."""
    said = []
    if within.least is not None:
        said.append(f"no less than {within.least:g}")
    if within.most is not None:
        said.append(f"no more than {within.most:g}")
    if within.below is not None:
        said.append(f"less than {within.below:g}")
    return f"{' and '.join(said)} {unit}"


def held_readings(rulebook: Rulebook, facts: PartFacts) -> tuple[HeldReading, ...]:
    """Every reading one takes on such a part, taken or not, with the limit it is held against.

    An unknown part has none: nobody can say what is measured on it.
    """
    if facts.component is None or facts.part_class == UNKNOWN:
        return ()
    return tuple(_held(kind, facts) for kind in rulebook.readings_for(facts.part_class) if kind.limit_for is None)


def _held(kind: ReadingKind, facts: PartFacts) -> HeldReading:
    limit = kind.limit(facts.component, facts.material)
    said = [_limit_in_words(limit, kind.unit)] if limit else []
    book = facts.readings.get(kind.id + BOOK_SUFFIX)
    if book is not None:
        said.append(f"{within_in_words(kind.within_book(book), kind.unit)} by the maker's book")
    return HeldReading(
        reading=kind.id,
        label=kind.label,
        unit=kind.unit,
        value=facts.readings.get(kind.id),
        state=state_of(kind, facts.readings, facts.component, facts.material, facts.duty),
        limit="; ".join(said) or "no limit on file",
        source=limit.source if limit else "",
        how=kind.how,
    )


def _limit_in_words(limit: Limit, unit: str) -> str:
    said = within_in_words(limit.within, unit)
    if limit.argument:
        return f"{said} (disputed: {limit.argument})"
    return said if limit.firm else f"{said} ({limit.sure})"


def _any_of(words: frozenset[str | int | float | bool] | None) -> str:
    listed = [str(word) for word in sorted(words or (), key=str)]
    return " or ".join(filter(None, (", ".join(listed[:-1]), *listed[-1:])))
