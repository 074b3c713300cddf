"""The one reader of the data files: each thing it refuses, on small files of our own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pytest

from survey.build_order.data import PAIRS_FILE, STEPS_FILE, parse_build_orders
from survey.data_files import TomlFile, read_csv, read_data_text
from survey.errors import BrokenKnowledge
from survey.finding_kinds import parse_finding_kinds
from survey.gates.data import parse_gate_kinds
from survey.schedule.data import load_catalogues
from survey.stuck.data import parse_removal_scale
from survey.vocabulary import load_vocabulary


@dataclass(frozen=True)
class Ask:
    id: str
    words: str = ""


@dataclass(frozen=True)
class Tool:
    id: str
    size: float
    sets: tuple[str, ...] = ()
    ends: tuple[int, int] = (1, 2)
    hot: bool = False
    asks: tuple[Ask, ...] = ()


def tools(cells: str) -> tuple[Tool, ...]:
    return TomlFile("tools.toml", f'# a remark\n[[tool]] # the first\nid = "tap"\n{cells}\n').records("tool", Tool)


def test_cells_come_as_their_type_hints_want_them() -> None:
    text = 'size = 3\nsets = ["a"]\nends = [4, 5]\nhot = true\nasks = [{ id = "who" }]'
    assert tools(text) == (Tool("tap", 3.0, ("a",), (4, 5), True, (Ask("who"),)),)


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("", "cell size: it is not there, or empty; it has the cells id"),
        ('size = "3"', "cell size: '3'; allowed: a number"),
        ("size = true", "cell size: True; allowed: a number"),
        ("size = 3\nhot = 1", "cell hot: 1; allowed: true or false"),
        ('size = 3\nsets = "a"', "cell sets: 'a'; allowed: a list"),
        ("size = 3\nsets = [1]", "cell sets: 1; allowed: text"),
        ("size = 3\nends = [1, 2, 3]", "cell ends: [1, 2, 3]; allowed: a list of 2"),
        ('size = 3\nasks = ["who"]', "cell asks: 'who'; allowed: a table"),
        ('size = 3\nasks = [{ id = "who", hint = "" }]', "row who, cell hint: there is no such cell"),
        ("size = 3\ncolour = 1", "cell colour: there is no such cell; allowed: id, size"),
        ('size = 3\n[[tool]]\nid = "tap"', "line 5, row tap, cell id: it is used already at line 2"),
    ],
)
def test_what_is_no_such_record_is_refused(cells: str, said: str) -> None:
    with pytest.raises(BrokenKnowledge) as broken:
        tools(cells)
    assert broken.value.sentence.startswith("tools.toml, line ")
    assert said in broken.value.sentence


@pytest.mark.parametrize("text", ["tool = 3", "[tool]\nid = 'tap'", "tool = [{ id = 'tap' }]"])
def test_what_is_no_list_of_rows_is_refused(text: str) -> None:
    with pytest.raises(BrokenKnowledge, match=r"it is no list of rows; allowed: \[\[tool\]\]"):
        TomlFile("tools.toml", text).rows("tool")


def test_a_line_of_a_csv_that_is_not_there_has_no_cells() -> None:
    with pytest.raises(
        BrokenKnowledge, match=r"tools\.csv, line 4, row empty, cell the row: 0 cells; allowed: 2 cells"
    ):
        read_csv("tools.csv", "# a remark\nid,size\ntap,3\n\n", ("id", "size"))


def changed(file: str, old: str, new: str) -> str:
    text = read_data_text(file)
    assert old in text
    return text.replace(old, new, 1)


def read_pairs_without_a_source() -> Any:
    known = {book.kind: {one.id for one in (*book.components, *book.extras)} for book in load_catalogues()}
    text = changed(PAIRS_FILE, 'straighten coated.,"common practice, no source"', "straighten coated.,")
    return parse_build_orders(read_data_text(STEPS_FILE), text, known)


def read_gate_without_what_settles_it() -> Any:
    text = changed("gates.toml", 'settle = "Say of each paper', 'settle = "" # "Say of each paper')
    return parse_gate_kinds(text, load_vocabulary(), {one.id for one in load_catalogues()[0].components})


@pytest.mark.parametrize(
    ("read", "said"),
    [
        (read_pairs_without_a_source, "row square-before-blast, cell source: ''"),
        (read_gate_without_what_settles_it, "row papers, cell settle: it is not there, or empty"),
        (
            lambda: parse_finding_kinds(changed("findings.toml", "met_on =", "# met_on ="), load_vocabulary()),
            "row corrosion_surface, cell met_on: it is not there",
        ),
        (
            lambda: parse_removal_scale(
                read_data_text("removal.toml").replace('group = "metals"', 'group = ""'), load_vocabulary()
            ),
            "row metals, cell group: nothing answers it for fastener",
        ),
    ],
    ids=["source", "settle", "met_on", "group"],
)
def test_what_a_file_must_say_is_missed(read: Any, said: str) -> None:
    with pytest.raises(BrokenKnowledge) as broken:
        read()
    assert said in broken.value.sentence
