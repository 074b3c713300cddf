"""The proof of the catalogues and of the vocabulary: one fault put into a sound file, and the refusal points at it.

CSV is as RFC 4180 has it.
"""

from __future__ import annotations

import csv
import re
import time
from collections.abc import Callable
from importlib.resources import files

import pytest

from survey.errors import BrokenKnowledge
from survey.finding_kinds import load_finding_kinds
from survey.model.schedule import Catalogue
from survey.schedule.data import COLUMNS, load_catalogue, parse_catalogue
from survey.vocabulary import load_vocabulary, parse_vocabulary


def source() -> str:
    return files("survey").joinpath("data", "catalogues", "lightweight.csv").read_text("utf-8")


def read(text: str) -> Catalogue:
    return parse_catalogue(
        text, "lightweight", "A title", load_vocabulary(), [kind.id for kind in load_finding_kinds()], "lightweight.csv"
    )


def with_cell(row: str, cell: str, value: str) -> tuple[str, int]:
    """The lightweight's file with one cell changed, and the line its row stands on."""
    lines = source().splitlines()
    at = next(n for n, line in enumerate(lines) if line.startswith(f"{row},"))
    (cells,) = csv.reader([lines[at]])
    cells[COLUMNS.index(cell)] = value
    lines[at] = ",".join('"' + text.replace('"', '""') + '"' for text in cells)
    return "\n".join(lines) + "\n", at + 1


def test_the_untouched_file_is_the_catalogue() -> None:
    assert read(source()).components == load_catalogue("lightweight").components


@pytest.mark.parametrize(
    ("row", "cell", "value", "said", "allowed"),
    [
        ("B170", "id", "b170", "'b170' is no id", "a capital, three digits"),
        ("B170", "id", "B172", "used already", "an id of its own"),
        ("B170", "label", "", "''", "words without blanks"),
        ("B170", "label", "Rear mudguard", "is also row", "a label of its own"),
        ("B170", "assembly", " Cycle parts", "' Cycle parts'", "words without blanks"),
        ("B171", "inside", "B999", "there is no 'B999'", "an id of this file"),
        ("B170", "inside", "B171", "comes back to itself", "a tree"),
        ("B170", "inside", "B170", "comes back to itself", "a tree"),
        ("B170", "inside", "B021", "is an extra", "a row that is no extra"),
        ("B170", "quantity", "0", "'0'", "a whole number from 1"),
        ("B170", "quantity", "a few", "'a few'", "a whole number from 1"),
        ("B170", "duty", "legal", "'legal' is no word of ours", "safety, running, cosmetic, paperwork"),
        ("B082", "duty", "cosmetic", "'cosmetic' is too little for a tyre", "safety"),
        ("B170", "class", "fender", "'fender' is no word of ours", "tinware"),
        ("B170", "material", "tin", "'tin' is no word of ours", "malleable-iron"),
        ("B170", "other_materials", "aluminium; tin", "'tin' is no word of ours", "malleable-iron"),
        ("B170", "often_missing", "y", "'y'", "yes, no"),
        ("B170", "likely", "rust", "'rust' is no word of ours", "corrosion_surface"),
        ("B170", "likely", "dent; dent", "'dent' is empty or said twice", "parted by semicolons"),
        ("B170", "names", "front fender; ", "'' is empty or said twice", "parted by semicolons"),
        ("B170", "everywhere", "perhaps", "'perhaps'", "yes, no"),
        ("B170", "extra", "", "''", "yes, no"),
    ],
)
def test_a_fault_names_file_line_row_cell_and_what_was_allowed(
    row: str, cell: str, value: str, said: str, allowed: str
) -> None:
    text, line = with_cell(row, cell, value)
    with pytest.raises(BrokenKnowledge) as caught:
        read(text)
    sentence = caught.value.sentence
    named = re.match(r"catalogues/lightweight\.csv, line (\d+), row (\S+), cell (\w+): ", sentence)
    assert named is not None, sentence
    assert named[3] == cell
    if value not in ("B172", "Rear mudguard"):  # of two alike it is the second that is named
        assert (int(named[1]), named[2]) == (line, value if cell == "id" else row)
    assert said in sentence
    assert allowed in sentence


def cut_a_cell(text: str) -> str:
    return text.replace(",no,no\n", ",no\n", 1)


def rename_a_column(text: str) -> str:
    return text.replace(",quantity,", ",count,", 1)


def drop_the_last_column(text: str) -> str:
    return text.replace(",everywhere,extra\n", ",everywhere\n", 1)


def leave_a_quotation_open(text: str) -> str:
    return text.replace("B170,Front mudguard", 'B170,"Front" mudguard', 1)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (cut_a_cell, "16 cells; allowed: 17 cells"),
        (rename_a_column, "row header, cell count"),
        (drop_the_last_column, "row header, cell the last"),
        (leave_a_quotation_open, "is not readable CSV"),
    ],
)
def test_a_file_that_is_no_table_says_where(spoil: Callable[[str], str], said: str) -> None:
    text = spoil(source())
    assert text != source()
    with pytest.raises(BrokenKnowledge, match=r"catalogues/lightweight\.csv, line \d+") as caught:
        read(text)
    assert said in caught.value.sentence


def test_an_empty_file_is_refused() -> None:
    with pytest.raises(BrokenKnowledge, match="the columns are not those of this file"):
        read("")


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("[duty]", "[chore]", "row chore, cell section: there is no such section"),
        ('frame = "', 'frame = "" # "', "row frame, cell class: '' is no meaning"),
        ("[duty]", "[duty", "is not readable TOML"),
        (
            'frame = "safety"',
            'frames = "safety"',
            "row frames, cell least_duty: 'frames' is no class; allowed: frame, lug",
        ),
        (
            'fork = "safety"',
            'fork = "grave"',
            "row fork, cell least_duty: 'grave' is no duty; allowed: safety, running",
        ),
    ],
)
def test_a_faulty_vocabulary_says_where(before: str, after: str, said: str) -> None:
    text = files("survey").joinpath("data", "vocabulary.toml").read_text("utf-8")
    with pytest.raises(BrokenKnowledge) as caught:
        parse_vocabulary(text.replace(before, after, 1))
    assert said in caught.value.sentence


def test_a_vocabulary_without_a_section_is_refused() -> None:
    with pytest.raises(BrokenKnowledge, match="row class, cell section: it is not there"):
        parse_vocabulary('[material]\nsteel = "steel"\n')


@pytest.mark.bench
def test_loading_a_catalogue_is_quick() -> None:
    """A command that only lists parts should not wait for its catalogue: well under 30 ms each, best of five."""
    words, findings = load_vocabulary(), [kind.id for kind in load_finding_kinds()]
    text = source()
    took = []
    for _ in range(5):
        start = time.perf_counter()
        parse_catalogue(text, "lightweight", "A title", words, findings, "lightweight.csv")
        took.append(time.perf_counter() - start)
    assert min(took) < 0.030
