"""A part's findings numbered and its rulings put together, so that every page and paper tells them alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from survey.model.grading import Ruling
from survey.model.parts import Finding, GradedPart


@dataclass(frozen=True, slots=True)
class Reason:
    """A ruling told once. ``answers``: numbers of the findings it answers; none when it speaks of the whole part."""

    ruling: Ruling
    answers: tuple[int, ...]


def numbers_of(findings: Iterable[Finding]) -> dict[int, int]:
    """Finding id to its number: findings count from 1 within their part, in the order they were recorded."""
    return {finding.id: number for number, finding in enumerate(findings, start=1)}


def reasons(one: GradedPart) -> tuple[Reason, ...]:
    """Each rule that fired once, with every finding it answers, in the verdict's own order (hardest first)."""
    numbers = numbers_of(one.findings)
    fired: dict[str, tuple[Ruling, set[int]]] = {}
    for ruling in one.verdict.rulings:
        _, answers = fired.setdefault(ruling.rule, (ruling, set()))
        answers.update(numbers[f.id] for f in one.findings if (f.kind, f.step, f.seen) == ruling.finding)
    return tuple(Reason(ruling, tuple(sorted(answers))) for ruling, answers in fired.values())
