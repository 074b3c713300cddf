"""When a rule holds, in the names a person reads."""

from __future__ import annotations

from collections.abc import Mapping

from survey.grading.explain import describe_row_when
from survey.grading.rows import Row
from survey.model.parts import FindingKind


def describe_when(row: Row, kinds: Mapping[str, FindingKind]) -> str:
    """When the row holds, the findings by their names: ``surface rust 1 or 2; on fork, frame or yoke``."""
    said = describe_row_when(row)
    findings = row.words("finding")
    if not findings:
        return said
    names = {kind.id: kind.label.lower() for kind in kinds.values() if kind.id in findings}
    first, semicolon, rest = said.partition(";")
    return " ".join(_named(piece, names) for piece in first.split(" ")) + semicolon + rest


def _named(piece: str, names: Mapping[str, str]) -> str:
    word = piece.rstrip(",")
    return names.get(word, word) + piece[len(word) :]
