"""Rules, limits and readings in words, for pages and papers."""

from __future__ import annotations

from dataclasses import dataclass

from survey.grading.facts import UNKNOWN, Measured, PartFacts
from survey.grading.readings import BOOK_SUFFIX, Limit, ReadingKind, assess_reading
from survey.grading.rows import Row
from survey.grading.rulebook import Rulebook
from survey.grading.tables import Between

_MEASURED_WORDS: dict[str, str] = {
    "none": "not measured",
    "inside": "measured inside its limit",
    "over": "measured beyond its limit",
    "no-limit": "measured, but no limit to hold it against",
}
_FOUND_WORDS: dict[str, str] = {
    "nothing": "nothing is recorded",
    "unseen": "nothing of it has been seen",
    "finish": "only its finish or the dirt on it is recorded",
    "substance": "something of the part itself is recorded",
}
_SEEN_WORDS: dict[str, str] = {
    "bare": "seen bare",
    "paint": "seen through paint, plating or dirt",
    "unseen": "not seen",
}


@dataclass(frozen=True, slots=True)
class ComparedReading:
    """A reading of a part and the limit it is compared with. ``value``: None if not taken. ``limit``: in words."""

    reading: str
    label: str
    unit: str
    value: float | None
    state: Measured
    limit: str
    source: str
    how: str


def describe_row_when(row: Row) -> str:
    """When a row applies, as one phrase: ``crack 2, 3 or 4; on handlebar; safety``."""
    phrases = []
    findings = _join_with_or(row.words("finding"))
    steps = _join_with_or(row.words("step"))
    if findings or steps:
        phrases.append(f"{findings or 'any finding'} {steps}".strip())
    for column, before in (("component", "on "), ("class", "on "), ("material", "of "), ("duty", "")):
        if words := row.words(column):
            phrases.append(before + _join_with_or(words))
    for column, words_of in (("measured", _MEASURED_WORDS), ("found", _FOUND_WORDS), ("seen", _SEEN_WORDS)):
        if words := row.words(column):
            phrases.append(" or ".join(words_of[str(word)] for word in sorted(words, key=str)))
    if words := row.words("speaks-of"):
        phrases.append("speaks of " + _join_with_or(words))
    if words := row.words("crack-test"):
        phrases.append("crack test " + " or ".join(_MEASURED_WORDS[str(word)] for word in sorted(words, key=str)))
    if words := row.words("first"):
        phrases.append("so far " + _join_with_or(words))
    return "; ".join(phrases)


def describe_interval(within: Between, unit: str) -> str:
    """A limit in words: ``no more than 4 mm``."""
    bounds = []
    if within.least is not None:
        bounds.append(f"no less than {within.least:g}")
    if within.most is not None:
        bounds.append(f"no more than {within.most:g}")
    if within.below is not None:
        bounds.append(f"less than {within.below:g}")
    return f"{' and '.join(bounds)} {unit}"


def list_compared_readings(rulebook: Rulebook, facts: PartFacts) -> tuple[ComparedReading, ...]:
    """Every kind of reading for the part, taken or not, with the limit it is compared with.

    A part without a known class has none.
    """
    if facts.component is None or facts.part_class == UNKNOWN:
        return ()
    return tuple(
        _compare_reading(kind, facts) for kind in rulebook.readings_for(facts.part_class) if kind.limit_for is None
    )


def _compare_reading(kind: ReadingKind, facts: PartFacts) -> ComparedReading:
    limit = kind.limit(facts.component, facts.material)
    limits = [_describe_limit(limit, kind.unit)] if limit else []
    makers_figure = facts.readings.get(kind.id + BOOK_SUFFIX)
    if makers_figure is not None:
        limits.append(f"{describe_interval(kind.within_book(makers_figure), kind.unit)} by the maker's book")
    return ComparedReading(
        reading=kind.id,
        label=kind.label,
        unit=kind.unit,
        value=facts.readings.get(kind.id),
        state=assess_reading(kind, facts.readings, facts.component, facts.material, facts.duty),
        limit="; ".join(limits) or "no limit on file",
        source=limit.source if limit else "",
        how=kind.how,
    )


def _describe_limit(limit: Limit, unit: str) -> str:
    within = describe_interval(limit.within, unit)
    if limit.argument:
        return f"{within} (disputed: {limit.argument})"
    return within if limit.firm else f"{within} ({limit.sure})"


def _join_with_or(words: frozenset[str | int | float | bool] | None) -> str:
    listed = [str(word) for word in sorted(words or (), key=str)]
    return " or ".join(filter(None, (", ".join(listed[:-1]), *listed[-1:])))
