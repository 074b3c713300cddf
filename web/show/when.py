"""When a rule holds, in the names a person reads."""

from __future__ import annotations

from collections.abc import Mapping

from survey.grading import Row
from survey.grading.explain import when_in_words
from survey.model import FindingKind


def when_words(row: Row, kinds: Mapping[str, FindingKind]) -> str:
    """When the row holds, the findings by their names: ``surface rust 1 or 2; on fork, frame or yoke``."""
    said = when_in_words(row)
    findings = row.words("finding")
    if not findings:
        return said
    first, semicolon, rest = said.partition(";")
    for finding in findings:
        kind = kinds.get(str(finding))
        if kind is not None:
            first = _whole_word(first, kind.id, kind.label.lower())
    return first + semicolon + rest


def _whole_word(phrase: str, word: str, name: str) -> str:
    return " ".join(
        name + piece.removeprefix(word) if piece.rstrip(",") == word else piece for piece in phrase.split(" ")
    )
