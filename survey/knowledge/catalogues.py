"""Reads the catalogues of survey/data/catalogues and proves them.

One CSV file a kind, as RFC 4180 has it, under a few lines of remarks that start with ``#``. Inside a cell a
semicolon parts the entries of a list. Everything in them is common practice, no source.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from survey.errors import BrokenKnowledge, NoSuchThing
from survey.knowledge.findings import finding_kinds
from survey.knowledge.vocabulary import Vocabulary, data_text, fault, toml, vocabulary
from survey.model import DUTIES, Catalogue, Component, Duty

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
_YES_NO = {"yes": True, "no": False}


@lru_cache(maxsize=1)
def catalogues() -> tuple[Catalogue, ...]:
    """Every catalogue, read and proved once. Raises BrokenKnowledge where a file does not prove itself."""
    return tuple(catalogue(kind) for kind in _titles())


@lru_cache(maxsize=8)
def catalogue(kind: str) -> Catalogue:
    """The catalogue of a kind of machine (``autocycle``, ``lightweight``, ``girder-single``).

    Raises NoSuchThing for a kind there is none of, BrokenKnowledge where its file does not prove itself.
    """
    titles = _titles()
    if kind not in titles:
        near = get_close_matches(kind, titles, n=1, cutoff=0.4)
        hint = f"Did you mean {near[0]}? " if near else ""
        raise NoSuchThing(f"There is no catalogue called {kind!r}.", f"{hint}The kinds are: {', '.join(titles)}.")
    file = f"{kind}.csv"
    return read_catalogue(data_text("catalogues", file), kind, titles[kind], vocabulary(), _finding_ids(), file)


def duty_unless_said(part_class: str) -> Duty:
    """The duty of an own component whose owner does not say: the gravest any catalogue gives a part of its class.

    A class that no catalogue uses is taken for safety.
    """
    known = {
        one.duty for book in catalogues() for one in (*book.components, *book.extras) if one.part_class == part_class
    }
    return min(known, key=DUTIES.index, default="safety")


@lru_cache(maxsize=1)
def _titles() -> dict[str, str]:
    kinds: dict[str, dict[str, Any]] = toml(data_text("catalogues", "kinds.toml"), "catalogues/kinds.toml")
    return {kind: str(about["title"]) for kind, about in kinds.items()}


@lru_cache(maxsize=1)
def _finding_ids() -> tuple[str, ...]:
    return tuple(kind.id for kind in finding_kinds())


def read_catalogue(
    text: str, kind: str, title: str, words: Vocabulary, findings: Iterable[str], file: str
) -> Catalogue:
    """The catalogue that stands in a CSV text, proved.

    ``findings``: the ids a ``likely`` cell may name. ``file``: what an error calls it.
    Raises BrokenKnowledge naming file, line, row, cell and what was allowed.
    """
    rows = _rows(text, f"catalogues/{file}", words, tuple(findings))
    components = [row.component() for row in rows]
    _prove_tree(rows)
    _prove_labels(rows)
    extras = {row.id for row in rows if row.yes("extra")}
    return Catalogue(
        kind=kind,
        title=title,
        components=tuple(component for component in components if component.id not in extras),
        extras=tuple(component for component in components if component.id in extras),
    )


def _rows(text: str, file: str, words: Vocabulary, findings: tuple[str, ...]) -> list[_Row]:
    lines = text.splitlines()
    head = next((n for n, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = csv.reader(lines[head:], strict=True)
    header = next(table, [])
    if tuple(header) != COLUMNS:
        wrong = next((got for got, want in zip(header, COLUMNS, strict=False) if got != want), "the last")
        raise fault(file, head + 1, "header", wrong, "the columns are not those of a catalogue", COLUMNS)
    rows: list[_Row] = []
    try:
        for cells in table:
            line = head + table.line_num
            if len(cells) != len(COLUMNS):
                wrong = f"{len(cells)} cells"
                raise fault(file, line, cells[0] if cells else "empty", "the row", wrong, (f"{len(COLUMNS)} cells",))
            rows.append(_Row(file, line, dict(zip(COLUMNS, cells, strict=True)), words, findings))
    except csv.Error as error:
        line = head + table.line_num
        raise BrokenKnowledge(f"{file}, line {line} is not readable CSV: {error}.", "Mend that line.") from error
    return rows


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of a catalogue file, knowing where it stands so that an error can point at it."""

    file: str
    line: int
    cells: Mapping[str, str]
    words: Vocabulary
    findings: tuple[str, ...]

    @property
    def id(self) -> str:
        return self.cells["id"]

    def component(self) -> Component:
        """The row as a component; raises BrokenKnowledge at the first cell that is not allowed."""
        words, cells = self.words, self.cells
        if words.too_light(self.word("duty", cells["duty"], words.duty), cells["class"]):
            wrong = f"{cells['duty']!r} is too little for a {cells['class']}"
            raise self.fault("duty", wrong, (words.least_duty[cells["class"]],))
        return Component(
            id=self.matching("id", _ID, "a capital, three digits and at most one small letter"),
            label=self.filled("label"),
            assembly=self.filled("assembly"),
            inside=cells["inside"] or None,
            quantity=self.count("quantity"),
            duty=self.word("duty", cells["duty"], words.duty),
            part_class=self.word("class", cells["class"], words.class_),
            material=self.word("material", cells["material"], words.material),
            other_materials=self.several("other_materials", words.material),
            finish=cells["finish"],
            names=self.several("names"),
            often_missing=self.yes("often_missing"),
            faults=self.several("faults"),
            likely=self.several("likely", self.findings),
            sizes=self.several("sizes"),
            everywhere=self.yes("everywhere"),
        )

    def fault(self, cell: str, wrong: str, allowed: Iterable[object] = ()) -> BrokenKnowledge:
        """The error for one cell of this row."""
        return fault(self.file, self.line, self.id or "without an id", cell, wrong, allowed)

    def matching(self, cell: str, pattern: re.Pattern[str], allowed: str) -> str:
        value = self.cells[cell]
        if not pattern.fullmatch(value):
            raise self.fault(cell, f"{value!r} is no {cell}", (allowed,))
        return value

    def filled(self, cell: str) -> str:
        value = self.cells[cell]
        if not value or value != value.strip():
            raise self.fault(cell, f"{value!r}", ("words without blanks round them",))
        return value

    def count(self, cell: str) -> int:
        value = self.cells[cell]
        if not value.isdecimal() or int(value) < 1:
            raise self.fault(cell, f"{value!r}", ("a whole number from 1",))
        return int(value)

    def yes(self, cell: str) -> bool:
        value = self.cells[cell]
        if value not in _YES_NO:
            raise self.fault(cell, f"{value!r}", _YES_NO)
        return _YES_NO[value]

    def word(self, cell: str, value: str, allowed: Iterable[str]) -> Any:
        """The value if it is allowed; typed loosely because a closed word is a Literal of the model."""
        if value not in allowed:
            raise self.fault(cell, f"{value!r} is no word of ours", allowed)
        return value

    def several(self, cell: str, allowed: Iterable[str] | None = None) -> tuple[str, ...]:
        """The entries of a list cell, each said once."""
        entries = tuple(entry.strip() for entry in self.cells[cell].split(";")) if self.cells[cell] else ()
        for entry in entries:
            if not entry or entries.count(entry) > 1:
                raise self.fault(cell, f"{entry!r} is empty or said twice", ("entries parted by semicolons",))
            if allowed is not None:
                self.word(cell, entry, allowed)
        return entries


def _prove_tree(rows: Iterable[_Row]) -> None:
    """Ids are unique, every ``inside`` is there, nothing is inside itself, no extra holds what is not an extra."""
    by_id: dict[str, _Row] = {}
    for row in rows:
        if row.id in by_id:
            raise row.fault("id", f"it is used already at line {by_id[row.id].line}", ("an id of its own",))
        by_id[row.id] = row
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


def _prove_labels(rows: Iterable[_Row]) -> None:
    """No two rows of one assembly bear the same label: a person could not tell which is meant."""
    seen: dict[tuple[str, str], _Row] = {}
    for row in rows:
        key = (row.cells["assembly"], row.cells["label"].casefold())
        if key in seen:
            wrong = f"{row.cells['label']!r} is also row {seen[key].id} of the same assembly"
            raise row.fault("label", wrong, ("a label of its own",))
        seen[key] = row
