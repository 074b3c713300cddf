"""Reads the catalogues of survey/data/catalogues and proves them: one CSV file a kind of machine.

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
    """Every catalogue, read and proved once. Raises BrokenKnowledge where a file does not prove itself."""
    return tuple(load_catalogue(kind) for kind in _titles())


@lru_cache(maxsize=8)
def load_catalogue(kind: str) -> Catalogue:
    """The catalogue of a kind of machine (``autocycle``, ``lightweight``, ``girder-single``).

    Raises NoSuchThing for a kind there is none of, BrokenKnowledge where its file does not prove itself.
    """
    titles = _titles()
    if kind not in titles:
        near = get_close_matches(kind, titles, n=1, cutoff=0.4)
        hint = f"Did you mean {near[0]}? " if near else ""
        raise NoSuchThing(f"There is no catalogue called {kind!r}.", f"{hint}The kinds are: {', '.join(titles)}.")
    file = f"{kind}.csv"
    return parse_catalogue(
        read_data_text(f"catalogues/{file}"), kind, titles[kind], load_vocabulary(), _finding_ids(), file
    )


def load_default_duty(part_class: str) -> Duty:
    """The duty of an own component whose owner does not say: the gravest any catalogue gives a part of its class.

    A class that no catalogue uses is taken for safety.
    """
    known = {
        one.duty
        for book in load_catalogues()
        for one in (*book.components, *book.extras)
        if one.part_class == part_class
    }
    return min(known, key=DUTIES.index, default="safety")


@lru_cache(maxsize=1)
def _titles() -> dict[str, str]:
    file = "catalogues/kinds.toml"
    return {kind: str(about["title"]) for kind, about in TomlFile(file, read_data_text(file)).content.items()}


@lru_cache(maxsize=1)
def _finding_ids() -> tuple[str, ...]:
    return tuple(kind.id for kind in load_finding_kinds())


def parse_catalogue(
    text: str, kind: str, title: str, words: Vocabulary, findings: Iterable[str], file: str
) -> Catalogue:
    """The catalogue that stands in a CSV text, proved.

    ``findings``: the ids a ``likely`` cell may name. ``file``: what an error calls it.
    Raises BrokenKnowledge naming file, line, row, cell and what was allowed.
    """
    rows = read_csv(f"catalogues/{file}", text, COLUMNS)
    known = {
        "duty": words.duty, "part_class": words.class_, "material": words.material,
        "other_materials": words.material, "likely": tuple(findings),
    }  # fmt: skip
    components = [_component(row, words, known) for row in rows]
    _prove_tree(rows)
    _prove_labels(rows)
    extras = {row.id for row in rows if row.yes("extra")}
    return Catalogue(
        kind=kind,
        title=title,
        components=tuple(component for component in components if component.id not in extras),
        extras=tuple(component for component in components if component.id in extras),
    )


def _component(row: Row, words: Vocabulary, known: Words) -> Component:
    if not _ID.fullmatch(row.filled("id")):
        raise row.fault("id", f"{row.id!r} is no id", ("a capital, three digits and at most one small letter",))
    component = row.record(Component, known, cells={"part_class": "class"}, own=False)
    if words.too_light(component.duty, component.part_class):
        wrong = f"{component.duty!r} is too little for a {component.part_class}"
        raise row.fault("duty", wrong, (words.least_duty[component.part_class],))
    return component


def _prove_tree(rows: Iterable[Row]) -> None:
    """Every ``inside`` is there, nothing is inside itself, no extra holds what is not an extra."""
    by_id = {row.id: row for row in rows}
    for row in by_id.values():
        walked, at = [row.id], row
        while parent := at.cells["inside"]:
            if parent not in by_id:
                raise at.fault("inside", f"there is no {parent!r}", ("an id of this file, or nothing",))
            if parent in walked:
                raise row.fault("inside", f"it comes back to itself: {' in '.join([*walked, parent])}", ("a tree",))
            at = by_id[parent]
            if at.yes("extra") and not row.yes("extra"):
                raise row.fault("inside", f"{parent!r} is an extra and this row is not", ("a row that is no extra",))
            walked.append(parent)


def _prove_labels(rows: Iterable[Row]) -> None:
    """No two rows of one assembly bear the same label: a person could not tell which is meant."""
    seen: dict[tuple[str, str], Row] = {}
    for row in rows:
        key = (row.cells["assembly"], row.cells["label"].casefold())
        if key in seen:
            wrong = f"{row.cells['label']!r} is also row {seen[key].id} of the same assembly"
            raise row.fault("label", wrong, ("a label of its own",))
        seen[key] = row
