"""The kinds of finding: their steps in words one can see or measure, and the proof of the file.

The kinds and their steps are common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import FrozenInstanceError
from importlib.resources import files

import pytest

from survey.errors import BrokenKnowledge, NoSuchThing
from survey.finding_kinds import load_finding_kind, load_finding_kinds, parse_finding_kinds
from survey.vocabulary import load_vocabulary

IDS = [
    "corrosion_surface",
    "pitting",
    "perforation",
    "alloy_corrosion",
    "crack",
    "broken_tab",
    "thread_damage",
    "stud",
    "seized",
    "bent",
    "dent",
    "wear",
    "bearing_track",
    "hole_elongated",
    "previous_repair",
    "wrong_part",
    "modified",
    "rubber",
    "friction_lining",
    "plating_loss",
    "paint_loss",
    "contamination",
    "electrical",
    "spring",
    "casting_lug",
    "looseness",
    "missing",
    "identity",
]


def source() -> str:
    return files("survey").joinpath("data", "findings.toml").read_text("utf-8")


def test_the_kinds_keep_their_order_and_have_four_steps() -> None:
    assert [kind.id for kind in load_finding_kinds() if kind.id in IDS] == IDS, "an id is never taken back"
    assert all([step.step for step in kind.steps] == [1, 2, 3, 4] for kind in load_finding_kinds())


def test_what_lies_on_a_part_is_told_from_the_part_itself() -> None:
    """Rules hang on it: a finding on the finish or on dirt says nothing of the metal under it."""
    other = {kind.id: kind.speaks_of for kind in load_finding_kinds() if kind.speaks_of != "substance"}
    assert other == {"plating_loss": "finish", "paint_loss": "finish", "contamination": "dirt"}


def test_every_step_is_a_sentence_of_its_own() -> None:
    sentences = [step.looks_like for kind in load_finding_kinds() for step in kind.steps]
    assert len(set(sentences)) == sum(len(kind.steps) for kind in load_finding_kinds())
    assert [text for text in sentences if not re.fullmatch(r"[A-Z].*\.", text)] == []


def test_names_of_steps_and_kinds_are_told_apart() -> None:
    assert len({kind.label for kind in load_finding_kinds()}) == len(load_finding_kinds())
    for kind in load_finding_kinds():
        assert len({step.name for step in kind.steps}) == 4
        assert kind.met_on


@pytest.mark.parametrize(
    ("kind", "step", "words"),
    [
        ("corrosion_surface", 2, "no pit a fingernail can feel"),
        ("corrosion_surface", 4, "caliper finds less"),
        ("perforation", 2, "2 mm"),
        ("perforation", 3, "10 mm"),
        ("crack", 1, "nothing has proved it"),
        ("crack", 3, "bearing housing"),
        ("thread_damage", 2, "two-thirds"),
        ("bent", 2, "at or under the maker's limit"),
        ("bent", 3, "over the limit"),
        ("dent", 4, "frame or fork tube"),
        ("wear", 2, "inside the maker's limit"),
        ("wear", 3, "no limit is known"),
        ("hole_elongated", 2, "one-twentieth"),
        ("rubber", 4, "no date"),
        ("friction_lining", 4, "asbestos"),
        ("plating_loss", 2, "a tenth"),
        ("contamination", 4, "lead paint"),
        ("casting_lug", 1, "quarter of one fin"),
        ("missing", 4, "three or more"),
        ("identity", 2, "cannot be read"),
    ],
)
def test_a_step_still_means_what_the_rules_take_it_for(kind: str, step: int, words: str) -> None:
    assert words in load_finding_kind(kind).steps[step - 1].looks_like


@pytest.mark.parametrize("asked", ["corrosion_surface", "corrosion-surface", " Corrosion Surface "])
def test_a_kind_is_found_however_its_name_is_joined(asked: str) -> None:
    assert load_finding_kind(asked).id == "corrosion_surface"


@pytest.mark.parametrize(
    ("asked", "hint"),
    [
        ("craks", "crack"),
        ("pittng", "pitting"),
        ("oval", "hole_elongated"),
        ("zzz", "The kinds are: corrosion_surface,"),
    ],
)
def test_an_unknown_kind_is_refused_with_near_ones(asked: str, hint: str) -> None:
    with pytest.raises(NoSuchThing, match=f"no finding called '{asked}'") as caught:
        load_finding_kind(asked)
    assert hint in caught.value.next_step


def test_a_kind_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        load_finding_kind("crack").label = "Scratch"  # type: ignore[misc]


def test_the_file_says_that_it_has_no_source() -> None:
    assert "Basis: common practice, no source." in source()


@pytest.mark.parametrize(
    ("before", "after", "row", "cell", "said"),
    [
        ('id = "pitting"', 'id = "corrosion_surface"', "corrosion_surface", "id", "used already at line"),
        ('label = "Pits"\n', "", "pitting", "label", "it is not there"),
        ('label = "Pits"', 'label = ""', "pitting", "label", "it is not there, or empty"),
        ('label = "Pits"', 'label = "Pits"\ncolour = "brown"', "pitting", "colour", "there is no such cell"),
        ('speaks_of = "finish"', 'speaks_of = "plating"', "plating_loss", "speaks_of", "substance, finish, dirt"),
        ('    ["Dull", "A haze that cleans up."],\n', "", "plating_loss", "step", "four pairs"),
        ('["Dull", "A haze that cleans up."]', '["Dull"]', "plating_loss", "step", "four pairs"),
    ],
)
def test_a_fault_names_file_line_row_cell_and_what_was_allowed(
    before: str, after: str, row: str, cell: str, said: str
) -> None:
    text = source().replace(before, after, 1)
    assert text != source()
    with pytest.raises(BrokenKnowledge) as caught:
        parse_finding_kinds(text, load_vocabulary())
    sentence = caught.value.sentence
    assert re.match(rf"findings\.toml, line \d+, row {row}, cell {cell}: ", sentence), sentence
    assert said in sentence


def test_the_line_named_is_the_line_the_kind_starts_on() -> None:
    text = source().replace('label = "Pits"', 'label = ""', 1)
    line = text.splitlines().index('id = "pitting"')  # the heading stands just above its id, counted from one
    with pytest.raises(BrokenKnowledge, match=rf"line {line}, row pitting"):
        parse_finding_kinds(text, load_vocabulary())
