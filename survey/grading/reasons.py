"""The numbers of a part's findings, and its rulings grouped by rule, for every page and paper alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from survey.model.grading import Ruling
from survey.model.parts import Finding, GradedPart


@dataclass(frozen=True, slots=True)
class Reason:
    """One rule that fired. ``answers``: numbers of the findings it answers; empty if it is about the whole part."""

    ruling: Ruling
    answers: tuple[int, ...]


def number_findings(findings: Iterable[Finding]) -> dict[int, int]:
    """Number by finding id: findings of a part are numbered from 1 in the order they were recorded."""
    return {finding.id: number for number, finding in enumerate(findings, start=1)}


def group_rulings(graded: GradedPart) -> tuple[Reason, ...]:
    """Each rule that fired once, with every finding it answers, in the verdict's own order (hardest first)."""
    numbers = number_findings(graded.findings)
    fired: dict[str, tuple[Ruling, set[int]]] = {}
    for ruling in graded.verdict.rulings:
        _, answers = fired.setdefault(ruling.rule, (ruling, set()))
        answers.update(
            numbers[finding.id]
            for finding in graded.findings
            if (finding.kind, finding.step, finding.seen) == ruling.finding
        )
    return tuple(Reason(ruling, tuple(sorted(answers))) for ruling, answers in fired.values())
