"""Reads the steps of the dry build and what goes before what from survey/data/before, and proves them.

Two CSV files (RFC 4180) under lines of remarks that start with ``#``. Every id and component named must be known,
and the pairs of no kind may go round in a circle, the soft ones among them.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from survey.errors import BrokenKnowledge
from survey.knowledge.catalogues import catalogue, catalogues
from survey.knowledge.vocabulary import data_text, fault
from survey.planning.order import PHASES, BeforePair, BuildStep, circle_words, loops_of

if TYPE_CHECKING:
    from survey.planning.order import Phase

STEPS_FILE = "before/steps.csv"
PAIRS_FILE = "before/pairs.csv"
_STEP_CELLS = ("id", "label", "phase", "skip", "examined")
_PAIR_CELLS = ("id", "first", "then", "kinds", "hard", "keeps", "because", "source")
_YES_NO = {"yes": True, "no": False}


@dataclass(frozen=True, slots=True)
class BuildOrder:
    """The steps of one kind in their usual order, and the pairs that hold for it."""

    steps: tuple[BuildStep, ...]
    pairs: tuple[BeforePair, ...]


@lru_cache(maxsize=8)
def build_order(kind: str) -> BuildOrder:
    """Steps and pairs of a kind of machine, read and proved once.

    Raises BrokenKnowledge where the files do not prove themselves, NoSuchThing for a kind there is none of.
    """
    catalogue(kind)
    return _orders()[kind]


@lru_cache(maxsize=1)
def _orders() -> dict[str, BuildOrder]:
    known = {book.kind: {one.id for one in (*book.components, *book.extras)} for book in catalogues()}
    return read_orders(data_text(*STEPS_FILE.split("/")), data_text(*PAIRS_FILE.split("/")), known)


def read_orders(steps: str, pairs: str, known: Mapping[str, Collection[str]]) -> dict[str, BuildOrder]:
    """By kind, the order that stands in the two CSV texts, proved.

    ``known``: by kind, the component ids its catalogue has. Raises BrokenKnowledge naming file, line, row and cell.
    """
    kinds = tuple(known)
    step_rows = _rows(steps, STEPS_FILE, (*_STEP_CELLS, *kinds, "caution"))
    pair_rows = _rows(pairs, PAIRS_FILE, _PAIR_CELLS)
    ids = {row.id for row in step_rows}
    for row in pair_rows:
        row.prove_pair(ids, kinds)
    orders = {
        kind: BuildOrder(
            tuple(row.step(kind, known[kind]) for row in step_rows if row.cells[kind] != "no"),
            tuple(row.pair() for row in pair_rows if kind in row.kinds(kinds)),
        )
        for kind in kinds
    }
    for kind, order in orders.items():
        _prove_order(kind, order, pair_rows)
    return orders


@dataclass(frozen=True, slots=True)
class _Row:
    """One row of either file, knowing where it stands so that an error can point at it."""

    file: str
    line: int
    cells: Mapping[str, str]

    @property
    def id(self) -> str:
        return self.cells["id"]

    def fault(self, cell: str, wrong: str, allowed: Iterable[object] = ()) -> BrokenKnowledge:
        """The error for one cell of this row."""
        return fault(self.file, self.line, self.id or "without an id", cell, wrong, allowed)

    def step(self, kind: str, known: Collection[str]) -> BuildStep:
        """The step as that kind has it."""
        said = self.cells[kind]
        components = () if said == "-" else tuple(word.strip() for word in said.split(";"))
        for one in components:
            if one not in known or components.count(one) > 1:
                raise self.fault(kind, f"{one!r} is no component of {kind}, or named twice", ("ids", "-", "no"))
        phase: Phase | None = next((one for one in PHASES if one == self.cells["phase"]), None)
        if phase is None:
            raise self.fault("phase", f"{self.cells['phase']!r} is no phase", PHASES)
        return BuildStep(
            self.id, self.cells["label"], phase, components, self.yes("skip"), self.cells["caution"],
            self.yes("examined"),
        )  # fmt: skip

    def pair(self) -> BeforePair:
        """The pair."""
        cells = self.cells
        return BeforePair(
            self.id, cells["first"], cells["then"], cells["because"], self.yes("hard"), self.yes("keeps"),
            cells["source"],
        )  # fmt: skip

    def yes(self, cell: str) -> bool:
        if self.cells[cell] not in _YES_NO:
            raise self.fault(cell, f"{self.cells[cell]!r}", _YES_NO)
        return _YES_NO[self.cells[cell]]

    def kinds(self, every: tuple[str, ...]) -> tuple[str, ...]:
        """The kinds the pair holds for."""
        said = self.cells["kinds"]
        return every if said == "all" else tuple(word.strip() for word in said.split(";"))

    def prove_pair(self, steps: Collection[str], kinds: tuple[str, ...]) -> None:
        """Refuse a pair of steps or kinds that are not there, or one that keeps from harm and yet is soft."""
        for cell in ("first", "then"):
            if self.cells[cell] not in steps:
                raise self.fault(cell, f"there is no step {self.cells[cell]!r}", sorted(steps))
        for kind in self.kinds(kinds):
            if kind not in kinds:
                raise self.fault("kinds", f"there is no kind {kind!r}", ("all", *kinds))
        if self.yes("keeps") and not self.yes("hard"):
            raise self.fault("hard", "a pair that keeps from harm is hard", ("yes",))


def _rows(text: str, file: str, columns: tuple[str, ...]) -> list[_Row]:
    lines = text.splitlines()
    head = next((number for number, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = csv.reader(lines[head:], strict=True)
    if tuple(next(table, ())) != columns:
        raise fault(file, head + 1, "header", "the first", "the columns are not those of this file", columns)
    rows: dict[str, _Row] = {}
    try:
        for cells in table:
            row = _row(file, head + table.line_num, columns, cells)
            if row.id in rows:
                raise row.fault("id", f"it is used already at line {rows[row.id].line}", ("an id of its own",))
            rows[row.id] = row
    except csv.Error as error:
        where = head + table.line_num
        raise BrokenKnowledge(f"{file}, line {where} is not readable CSV: {error}.", "Mend that line.") from error
    return list(rows.values())


def _row(file: str, line: int, columns: tuple[str, ...], cells: list[str]) -> _Row:
    if len(cells) != len(columns):
        wrong, allowed = f"{len(cells)} cells", (f"{len(columns)} cells",)
        raise fault(file, line, cells[0] if cells else "empty", "the row", wrong, allowed)
    row = _Row(file, line, dict(zip(columns, cells, strict=True)))
    for cell, value in row.cells.items():
        if value != value.strip() or not (value or cell == "caution"):
            raise row.fault(cell, f"{value!r}", ("words without blanks round them",))
    return row


def _prove_order(kind: str, order: BuildOrder, rows: Iterable[_Row]) -> None:
    """Refuse a circle, and a pair of steps that the kind does not have."""
    labels = {step.id: step.label for step in order.steps}
    by_id = {row.id: row for row in rows}
    for pair in order.pairs:
        if pair.first not in labels or pair.then not in labels:
            raise by_id[pair.id].fault("kinds", f"{kind} has not both of its steps", ("kinds that have both",))
    loops, _ = loops_of(order.pairs)
    for loop in loops:
        row = by_id[loop.drop.id]
        raise row.fault("then", f"it goes round in a circle: {circle_words(loop, labels)}", ("no circle",))
