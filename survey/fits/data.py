"""Reads which components go together in a loose build from survey/data/joints.csv and validates it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import lru_cache

from survey.data_files import Row, read_csv, read_data_text
from survey.fits.joints import Joint
from survey.schedule.data import load_catalogue, load_catalogues

_FILE = "joints.csv"


@lru_cache(maxsize=8)
def load_joints(kind: str) -> tuple[Joint, ...]:
    """The joints of a kind of machine, in the file's order.

    Raises BrokenKnowledge at a faulty file, NoSuchThing for an unknown kind.
    """
    load_catalogue(kind)
    return _load_joints_by_kind()[kind]


@lru_cache(maxsize=1)
def _load_joints_by_kind() -> dict[str, tuple[Joint, ...]]:
    known = {book.kind: {component.id for component in (*book.components, *book.extras)} for book in load_catalogues()}
    return parse_joints(read_data_text(_FILE), known)


def parse_joints(text: str, known: Mapping[str, Collection[str]], name: str = _FILE) -> dict[str, tuple[Joint, ...]]:
    """The joints in a CSV text by kind of machine, validated: known components only, each joint once.

    ``known``: by kind, the component ids its catalogue has. Raises BrokenKnowledge naming file, line, row and cell.
    """
    joints_by_kind: dict[str, dict[tuple[str, str], Joint]] = {kind: {} for kind in known}
    for row in read_csv(name, text, ("id", *known, "because", "source")):
        row.filled("id")
        for kind in known:
            for joint in _parse_cell(row, kind, known[kind]):
                if joints_by_kind[kind].setdefault((joint.takes, joint.goes_in), joint) is not joint:
                    raise row.fault(kind, f"{joint.takes}+{joint.goes_in} stands there already", ("each joint once",))
    return {kind: tuple(joints.values()) for kind, joints in joints_by_kind.items()}


def _parse_cell(row: Row, kind: str, known: Collection[str]) -> list[Joint]:
    """The joints in a row's cell for a kind."""
    because, source = row.filled("because"), row.filled("source")
    joints: list[Joint] = []
    for pair in row.filled(kind).split(";") if row.cells[kind] != "no" else ():
        takes, plus, goes_in = (word.strip() for word in pair.partition("+"))
        if plus != "+" or takes == goes_in or takes not in known or goes_in not in known:
            raise row.fault(kind, f"{pair.strip()!r} is no joint of {kind}", ("id+id", "no"))
        joints.append(Joint(takes, goes_in, because, source))
    return joints
