"""Reads the six gates before a start from survey/data/gates.toml and proves them."""

from __future__ import annotations

from functools import lru_cache
from typing import Any, get_args

from survey.knowledge.catalogues import catalogues
from survey.knowledge.vocabulary import Vocabulary, data_text, fault, line_of, toml, vocabulary
from survey.planning.gates import GateBy, GateKind

_FILE = "gates.toml"
_KEYS = ("id", "label", "asks", "by", "strict", "classes", "components", "step", "settle", "caution")


@lru_cache(maxsize=1)
def gate_kinds() -> tuple[GateKind, ...]:
    """The gates in their order. Raises BrokenKnowledge at a faulty file."""
    known = {one.id for book in catalogues() for one in book.components}
    return read_gates(data_text(_FILE), vocabulary(), known)


def read_gates(text: str, words: Vocabulary, components: set[str], name: str = _FILE) -> tuple[GateKind, ...]:
    """The gates that stand in a TOML text: known words only, and no two that give the same answer."""
    content = toml(text, name)
    source = str(content.get("source", ""))
    found = tuple(_gate(raw, text, name, words, components, source) for raw in content.get("gate", []))
    answers = [gate.by for gate in found]
    if sorted(answers) != sorted(get_args(GateBy)):
        raise fault(name, 1, "the whole file", "by", f"it has the answers {', '.join(answers)}", get_args(GateBy))
    return found


def _gate(raw: dict[str, Any], text: str, name: str, words: Vocabulary, components: set[str], source: str) -> GateKind:
    row = str(raw.get("id", "without an id"))
    line = line_of(text, f'id = "{row}"')
    if tuple(raw) != _KEYS:
        raise fault(name, line, row, "gate", f"it has the cells {', '.join(raw)}", _KEYS)
    for cell, allowed in (("classes", words.class_), ("components", components)):
        for word in raw[cell]:
            if word not in allowed:
                raise fault(name, line, row, cell, f"{word!r} is not known", tuple(sorted(allowed)))
    lists = {cell: tuple(raw[cell]) for cell in ("classes", "components")}
    return GateKind(**{**raw, **lists}, source=source)
