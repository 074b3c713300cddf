"""Reads which components go together in a loose build from survey/data/joints.csv and proves it.

A CSV file (RFC 4180) under lines of remarks that start with ``#``.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Mapping
from functools import lru_cache

from survey.errors import BrokenKnowledge
from survey.knowledge.catalogues import catalogue, catalogues
from survey.knowledge.vocabulary import data_text, fault
from survey.planning.fits import Joint

_FILE = "joints.csv"
_BEFORE, _AFTER = ("id",), ("because", "source")


@lru_cache(maxsize=8)
def joints(kind: str) -> tuple[Joint, ...]:
    """The joints of a kind of machine, in the file's order.

    Raises BrokenKnowledge at a faulty file, NoSuchThing for a kind there is none of.
    """
    catalogue(kind)
    return _all_joints()[kind]


@lru_cache(maxsize=1)
def _all_joints() -> dict[str, tuple[Joint, ...]]:
    known = {book.kind: {one.id for one in (*book.components, *book.extras)} for book in catalogues()}
    return read_joints(data_text(_FILE), known)


def read_joints(text: str, known: Mapping[str, Collection[str]], name: str = _FILE) -> dict[str, tuple[Joint, ...]]:
    """By kind, the joints that stand in a CSV text, proved: known components only, each joint once.

    ``known``: by kind, the component ids its catalogue has. Raises BrokenKnowledge naming file, line, row and cell.
    """
    columns = (*_BEFORE, *known, *_AFTER)
    lines = text.splitlines()
    head = next((number for number, line in enumerate(lines) if not line.startswith("#")), len(lines))
    table = csv.reader(lines[head:], strict=True)
    if tuple(next(table, ())) != columns:
        raise fault(name, head + 1, "header", "the first", "the columns are not those of this file", columns)
    found: dict[str, dict[tuple[str, str], Joint]] = {kind: {} for kind in known}
    ids = set[str]()
    try:
        for cells in table:
            line = head + table.line_num
            if len(cells) != len(columns) or not all(cells) or cells[0] in ids:
                wrong = "an id of its own, and a word in every cell"
                raise fault(name, line, cells[0] if cells else "empty", "the row", "it is not whole", (wrong,))
            ids.add(cells[0])
            row = dict(zip(columns, cells, strict=True))
            for kind in known:
                for joint in _joints(row, kind, known[kind], name, line):
                    if found[kind].setdefault((joint.takes, joint.goes_in), joint) is not joint:
                        wrong = f"{joint.takes}+{joint.goes_in} stands there already"
                        raise fault(name, line, row["id"], kind, wrong, ("each joint once",))
    except csv.Error as error:
        where = head + table.line_num
        raise BrokenKnowledge(f"{name}, line {where} is not readable CSV: {error}.", "Mend that line.") from error
    return {kind: tuple(pile.values()) for kind, pile in found.items()}


def _joints(row: Mapping[str, str], kind: str, known: Collection[str], name: str, line: int) -> list[Joint]:
    """The joints that a row has for a kind."""
    if row[kind] == "no":
        return []
    made = []
    for pair in row[kind].split(";"):
        takes, plus, goes_in = (word.strip() for word in pair.partition("+"))
        if plus != "+" or takes == goes_in or takes not in known or goes_in not in known:
            raise fault(name, line, row["id"], kind, f"{pair.strip()!r} is no joint of {kind}", ("id+id", "no"))
        made.append(Joint(takes, goes_in, row["because"], row["source"]))
    return made
