"""Reads the six gates before a start from survey/data/gates.toml and proves them."""

from __future__ import annotations

from functools import lru_cache
from typing import get_args

from survey.knowledge.catalogues import catalogues
from survey.knowledge.reader import Closed, TomlFile, data_text, fault
from survey.knowledge.vocabulary import Vocabulary, vocabulary
from survey.planning.gates import GateBy, GateKind

_FILE = "gates.toml"


@lru_cache(maxsize=1)
def gate_kinds() -> tuple[GateKind, ...]:
    """The gates in their order. Raises BrokenKnowledge at a faulty file."""
    known = {one.id for book in catalogues() for one in book.components}
    return read_gates(data_text(_FILE), vocabulary(), known)


def read_gates(text: str, words: Vocabulary, components: set[str], name: str = _FILE) -> tuple[GateKind, ...]:
    """The gates that stand in a TOML text: known words only, and no two that give the same answer."""
    file = TomlFile(name, text)
    known = {
        "classes": Closed(sorted(words.class_), "is not known"),
        "components": Closed(sorted(components), "is not known"),
    }
    source = str(file.content.get("source", ""))
    may_be_empty = ("classes", "components", "step", "caution")
    answers = [str(row.cells.get("by")) for row in file.rows("gate")]
    if sorted(answers) != sorted(get_args(GateBy)):
        raise fault(name, 1, "the whole file", "by", f"it has the answers {', '.join(answers)}", get_args(GateBy))
    return file.records("gate", GateKind, known, empty=may_be_empty, source=source)
