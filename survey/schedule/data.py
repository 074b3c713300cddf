"""Reads the catalogues of survey/data/catalogues and validates them: one CSV file per kind of machine.

Everything in them is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from functools import lru_cache

from survey.data_files import Row, TomlFile, Words, read_csv, read_data_text
from survey.errors import NoSuchThing
from survey.finding_kinds import load_finding_kinds
from survey.model.schedule import DUTIES, Catalogue, Component, Duty
from survey.vocabulary import Vocabulary, load_vocabulary

COLUMNS = (
    "id",
    "label",
    "assembly",
    "inside",
    "quantity",
    "duty",
    "class",
    "material",
    "other_materials",
    "finish",
    "names",
    "often_missing",
    "faults",
    "likely",
    "sizes",
    "everywhere",
    "extra",
)
_ID = re.compile(r"[A-Z]\d{3}[a-z]?")


@lru_cache(maxsize=1)
def load_catalogues() -> tuple[Catalogue, ...]:
    """Every catalogue, read and validated once. Raises BrokenKnowledge at a faulty file."""
    return tuple(load_catalogue(kind) for kind in _load_titles())


@lru_cache(maxsize=8)
def load_catalogue(kind: str) -> Catalogue:
    """The catalogue of a kind of machine (``autocycle``, ``lightweight``, ``girder-single``).

    Raises NoSuchThing for an unknown kind, BrokenKnowledge at a faulty file.
    """
    titles = _load_titles()
    if kind not in titles:
        near = get_close_matches(kind, titles, n=1, cutoff=0.4)
        hint = f"Did you mean {near[0]}? " if near else ""
        raise NoSuchThing(f"There is no catalogue called {kind!r}.", f"{hint}The kinds are: {', '.join(titles)}.")
    file = f"{kind}.csv"
    return parse_catalogue(
        read_data_text(f"catalogues/{file}"), kind, titles[kind], load_vocabulary(), _load_finding_ids(), file
    )


def load_default_duty(part_class: str) -> Duty:
    """The default duty of an own component: the gravest that any catalogue gives a part of its class.

    The default for a class that no catalogue uses is safety.
    """
    duties = {
        component.duty
        for book in load_catalogues()
        for component in (*book.components, *book.extras)
        if component.part_class == part_class
    }
    return min(duties, key=DUTIES.index, default="safety")


@lru_cache(maxsize=1)
def _load_titles() -> dict[str, str]:
    file = "catalogues/kinds.toml"
    return {kind: str(about["title"]) for kind, about in TomlFile(file, read_data_text(file)).content.items()}


@lru_cache(maxsize=1)
def _load_finding_ids() -> tuple[str, ...]:
    return tuple(kind.id for kind in load_finding_kinds())


def parse_catalogue(
    text: str, kind: str, title: str, words: Vocabulary, findings: Iterable[str], file: str
) -> Catalogue:
    """The catalogue in a CSV text, validated.

    ``findings``: the ids a ``likely`` cell may name. ``file``: the name that errors give it.
    Raises BrokenKnowledge naming file, line, row, cell and what was allowed.
    """
    rows = read_csv(f"catalogues/{file}", text, COLUMNS)
    vocabularies = {
        "duty": words.duty, "part_class": words.class_, "material": words.material,
        "other_materials": words.material, "likely": tuple(findings),
    }  # fmt: skip
    components = [_parse_component(row, words, vocabularies) for row in rows]
    _validate_tree(rows)
    _validate_labels(rows)
    extras = {row.id for row in rows if row.yes("extra")}
    return Catalogue(
        kind=kind,
        title=title,
        components=tuple(component for component in components if component.id not in extras),
        extras=tuple(component for component in components if component.id in extras),
    )


def _parse_component(row: Row, words: Vocabulary, vocabularies: Words) -> Component:
    if not _ID.fullmatch(row.filled("id")):
        raise row.fault("id", f"{row.id!r} is no id", ("a capital, three digits and at most one small letter",))
    component = row.record(Component, vocabularies, cells={"part_class": "class"}, own=False)
    if words.too_light(component.duty, component.part_class):
        fault = f"{component.duty!r} is too little for a {component.part_class}"
        raise row.fault("duty", fault, (words.least_duty[component.part_class],))
    return component


def _validate_tree(rows: Iterable[Row]) -> None:
    """Refuse an unknown ``inside``, a row inside itself at any depth, and a row inside an extra that is no extra."""
    by_id = {row.id: row for row in rows}
    for row in by_id.values():
        path, current = [row.id], row
        while parent := current.cells["inside"]:
            if parent not in by_id:
                raise current.fault("inside", f"there is no {parent!r}", ("an id of this file, or nothing",))
            if parent in path:
                raise row.fault("inside", f"it comes back to itself: {' in '.join([*path, parent])}", ("a tree",))
            current = by_id[parent]
            if current.yes("extra") and not row.yes("extra"):
                raise row.fault("inside", f"{parent!r} is an extra and this row is not", ("a row that is no extra",))
            path.append(parent)


def _validate_labels(rows: Iterable[Row]) -> None:
    """Refuse the same label twice in one assembly: a person could not tell which is meant."""
    seen: dict[tuple[str, str], Row] = {}
    for row in rows:
        key = (row.cells["assembly"], row.cells["label"].casefold())
        if key in seen:
            fault = f"{row.cells['label']!r} is also row {seen[key].id} of the same assembly"
            raise row.fault("label", fault, ("a label of its own",))
        seen[key] = row
