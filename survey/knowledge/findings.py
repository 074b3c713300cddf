"""Reads the kinds of finding from survey/data/findings.toml and proves them."""

from __future__ import annotations

from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from survey.errors import NoSuchThing
from survey.knowledge.vocabulary import Vocabulary, data_text, fault, toml, vocabulary
from survey.model import STEPS, FindingKind, FindingStep

_FILE = "findings.toml"
_KEYS = ("id", "label", "group", "speaks_of", "met_on", "step")


@lru_cache(maxsize=1)
def finding_kinds() -> tuple[FindingKind, ...]:
    """Every kind of finding, in the order a surveyor is offered them. Raises BrokenKnowledge at a faulty file."""
    return read_findings(data_text(_FILE), vocabulary())


@lru_cache(maxsize=1)
def _by_id() -> dict[str, FindingKind]:
    return {kind.id: kind for kind in finding_kinds()}


def finding_kind(name: str) -> FindingKind:
    """The kind of that id (``corrosion_surface``; a hyphen or space will do for the underscore).

    Raises NoSuchThing with the nearest ids.
    """
    kinds = _by_id()
    asked = name.strip().lower().replace("-", "_").replace(" ", "_")
    if asked in kinds:
        return kinds[asked]
    near = get_close_matches(asked, kinds, n=3) or [kind.id for kind in kinds.values() if asked in kind.label.lower()]
    hint = f"Did you mean {', '.join(near)}?" if near else f"The kinds are: {', '.join(kinds)}."
    raise NoSuchThing(f"There is no finding called {name!r}.", hint)


def read_findings(text: str, words: Vocabulary, name: str = _FILE) -> tuple[FindingKind, ...]:
    """The kinds of finding that stand in a TOML text, proved; ``name`` is what an error calls the file."""
    rows = toml(text, name).get("finding", [])
    lines = [n for n, line in enumerate(text.splitlines(), 1) if line.strip() == "[[finding]]"]
    kinds = tuple(_kind(raw, words, name, line) for raw, line in zip(rows, lines, strict=True))
    seen: dict[str, int] = {}
    for kind, line in zip(kinds, lines, strict=True):
        if kind.id in seen:
            raise fault(name, line, kind.id, "id", f"it is used already at line {seen[kind.id]}", ("an id of its own",))
        seen[kind.id] = line
    return kinds


def _kind(raw: dict[str, Any], words: Vocabulary, name: str, line: int) -> FindingKind:
    row = str(raw.get("id", "without an id"))
    for key in _KEYS:
        if not raw.get(key):
            raise fault(name, line, row, key, "it is not there, or empty", _KEYS)
    for key in raw:
        if key not in _KEYS:
            raise fault(name, line, row, key, "there is no such cell", _KEYS)
    if raw["speaks_of"] not in words.speaks_of:
        raise fault(name, line, row, "speaks_of", f"{raw['speaks_of']!r} is no word of ours", words.speaks_of)
    steps = raw["step"]
    if len(steps) != len(STEPS) or any(len(step) != 2 or not all(step) for step in steps):
        raise fault(name, line, row, "step", f"{len(steps)} steps", ("four pairs of a name and what it looks like",))
    one, two, three, four = (FindingStep(n, *step) for n, step in zip(STEPS, steps, strict=True))
    return FindingKind(row, raw["label"], raw["group"], raw["speaks_of"], (one, two, three, four), raw["met_on"])
