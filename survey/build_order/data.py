"""Reads the steps of the dry build and their order from survey/data/before, and validates them.

Every id and component must be known, and the pairs of each kind, soft ones included, must not form a circle.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from survey.build_order.plan import describe_loop, find_loops
from survey.data_files import Row, read_csv, read_data_text
from survey.model.build_order import BeforePair, BuildStep
from survey.schedule.data import load_catalogue, load_catalogues

STEPS_FILE = "before/steps.csv"
PAIRS_FILE = "before/pairs.csv"
_STEP_CELLS = ("id", "label", "phase", "skip", "examined")
_PAIR_CELLS = ("id", "first", "then", "kinds", "hard", "keeps", "because", "source")


@dataclass(frozen=True, slots=True)
class BuildOrder:
    """The steps of one kind in their usual order, and the pairs that hold for it."""

    steps: tuple[BuildStep, ...]
    pairs: tuple[BeforePair, ...]


@lru_cache(maxsize=8)
def load_build_order(kind: str) -> BuildOrder:
    """Steps and pairs of a kind of machine, read and validated once.

    Raises BrokenKnowledge at a faulty file, NoSuchThing for an unknown kind.
    """
    load_catalogue(kind)
    return _load_orders_by_kind()[kind]


@lru_cache(maxsize=1)
def _load_orders_by_kind() -> dict[str, BuildOrder]:
    known = {book.kind: {component.id for component in (*book.components, *book.extras)} for book in load_catalogues()}
    return parse_build_orders(read_data_text(STEPS_FILE), read_data_text(PAIRS_FILE), known)


def parse_build_orders(steps: str, pairs: str, known: Mapping[str, Collection[str]]) -> dict[str, BuildOrder]:
    """The order in the two CSV texts by kind of machine, validated.

    ``known``: by kind, the component ids its catalogue has. Raises BrokenKnowledge naming file, line, row and cell.
    """
    kinds = tuple(known)
    step_rows = read_csv(STEPS_FILE, steps, (*_STEP_CELLS, *kinds, "caution"))
    pair_rows = read_csv(PAIRS_FILE, pairs, _PAIR_CELLS)
    ids = {row.id for row in step_rows}
    rows_with_pairs = [(row, _parse_pair(row, ids, kinds)) for row in pair_rows]
    orders = {
        kind: BuildOrder(
            tuple(_parse_step(row, kind, known[kind]) for row in step_rows if row.cells[kind] != "no"),
            tuple(pair for row, pair in rows_with_pairs if kind in _kinds_of_pair(row, kinds)),
        )
        for kind in kinds
    }
    for kind, order in orders.items():
        _validate_order(kind, order, pair_rows)
    return orders


def _parse_step(row: Row, kind: str, known: Collection[str]) -> BuildStep:
    """The step of a row, with the components of that kind."""
    components = () if row.cells[kind] == "-" else tuple(word.strip() for word in row.filled(kind).split(";"))
    for component in components:
        if component not in known or components.count(component) > 1:
            raise row.fault(kind, f"{component!r} is no component of {kind}, or named twice", ("ids", "-", "no"))
    return row.record(BuildStep, components=components)


def _parse_pair(row: Row, steps: Collection[str], kinds: tuple[str, ...]) -> BeforePair:
    """The pair of a row; its steps and kinds must exist, and a pair that keeps from harm must be hard."""
    pair = row.record(BeforePair, needed=("source",), own=None)
    for cell in ("first", "then"):
        if row.cells[cell] not in steps:
            raise row.fault(cell, f"there is no step {row.cells[cell]!r}", sorted(steps))
    for kind in _kinds_of_pair(row, kinds):
        if kind not in kinds:
            raise row.fault("kinds", f"there is no kind {kind!r}", ("all", *kinds))
    if pair.keeps and not pair.hard:
        raise row.fault("hard", "a pair that keeps from harm is hard", ("yes",))
    return pair


def _kinds_of_pair(row: Row, every: tuple[str, ...]) -> tuple[str, ...]:
    """The kinds a pair holds for."""
    return every if row.cells["kinds"] == "all" else row.entries("kinds")


def _validate_order(kind: str, order: BuildOrder, rows: Iterable[Row]) -> None:
    """Refuse a circle, and a pair with a step that the kind does not have."""
    labels = {step.id: step.label for step in order.steps}
    by_id = {row.id: row for row in rows}
    for pair in order.pairs:
        if pair.first not in labels or pair.then not in labels:
            raise by_id[pair.id].fault("kinds", f"{kind} has not both of its steps", ("kinds that have both",))
    loops, _ = find_loops(order.pairs)
    for loop in loops:
        row = by_id[loop.drop.id]
        raise row.fault("then", f"it goes round in a circle: {describe_loop(loop, labels)}", ("no circle",))
