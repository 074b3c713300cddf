"""Reads the kinds of finding from survey/data/findings.toml and validates them."""

from __future__ import annotations

from difflib import get_close_matches
from functools import lru_cache

from survey.data_files import Row, TomlFile, read_data_text
from survey.errors import NoSuchThing
from survey.model.grading import STEPS
from survey.model.parts import FindingKind, FindingStep
from survey.vocabulary import Vocabulary, load_vocabulary

_FILE = "findings.toml"


@lru_cache(maxsize=1)
def load_finding_kinds() -> tuple[FindingKind, ...]:
    """Every kind of finding, in the order a surveyor is offered them. Raises BrokenKnowledge at a faulty file."""
    return parse_finding_kinds(read_data_text(_FILE), load_vocabulary())


@lru_cache(maxsize=1)
def _by_id() -> dict[str, FindingKind]:
    return {kind.id: kind for kind in load_finding_kinds()}


def load_finding_kind(name: str) -> FindingKind:
    """The kind of that id (``corrosion_surface``; a hyphen or space will do for the underscore).

    Raises NoSuchThing with the nearest ids.
    """
    kinds = _by_id()
    id_ = name.strip().lower().replace("-", "_").replace(" ", "_")
    if id_ in kinds:
        return kinds[id_]
    near = get_close_matches(id_, kinds, n=3) or [kind.id for kind in kinds.values() if id_ in kind.label.lower()]
    hint = f"Did you mean {', '.join(near)}?" if near else f"The kinds are: {', '.join(kinds)}."
    raise NoSuchThing(f"There is no finding called {name!r}.", hint)


def parse_finding_kinds(text: str, words: Vocabulary, name: str = _FILE) -> tuple[FindingKind, ...]:
    """The kinds of finding in a TOML text, validated; ``name`` is what an error calls the file."""
    return tuple(_kind(row, words) for row in TomlFile(name, text).rows("finding"))


def _kind(row: Row, words: Vocabulary) -> FindingKind:
    steps = row.cells.get("step") or []
    if len(steps) != len(STEPS) or any(len(step) != 2 or not all(step) for step in steps):
        raise row.fault("step", f"{len(steps)} steps", ("four pairs of a name and what it looks like",))
    made = tuple(FindingStep(number, *step) for number, step in zip(STEPS, steps, strict=True))
    return row.record(FindingKind, {"speaks_of": words.speaks_of}, besides=("step",), needed=("met_on",), steps=made)
