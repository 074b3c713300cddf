"""Reads the six gates before a start from survey/data/gates.toml and validates them."""

from __future__ import annotations

from functools import lru_cache
from typing import get_args

from survey.data_files import Closed, TomlFile, make_fault, read_data_text
from survey.gates.answers import GateBy, GateKind
from survey.schedule.data import load_catalogues
from survey.vocabulary import Vocabulary, load_vocabulary

_FILE = "gates.toml"


@lru_cache(maxsize=1)
def load_gate_kinds() -> tuple[GateKind, ...]:
    """The gates in their order. Raises BrokenKnowledge at a faulty file."""
    known = {one.id for book in load_catalogues() for one in book.components}
    return parse_gate_kinds(read_data_text(_FILE), load_vocabulary(), known)


def parse_gate_kinds(text: str, words: Vocabulary, components: set[str], name: str = _FILE) -> tuple[GateKind, ...]:
    """The gates of a TOML text: known words only, and no two that give the same answer."""
    file = TomlFile(name, text)
    known = {
        "classes": Closed(sorted(words.class_), "is not known"),
        "components": Closed(sorted(components), "is not known"),
    }
    source = str(file.content.get("source", ""))
    may_be_empty = ("classes", "components", "step", "caution")
    answers = [str(row.cells.get("by")) for row in file.rows("gate")]
    if sorted(answers) != sorted(get_args(GateBy)):
        raise make_fault(name, 1, "the whole file", "by", f"it has the answers {', '.join(answers)}", get_args(GateBy))
    return file.records("gate", GateKind, known, empty=may_be_empty, source=source)
