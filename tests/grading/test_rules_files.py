"""Reading the rule files: what is broken is refused, and the refusal points at file, line, row and cell."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

import survey
from survey.errors import BrokenKnowledge
from survey.finding_kinds import load_finding_kinds
from survey.grading.data import load_rulebook, parse_rulebook
from survey.grading.rulebook import Rulebook
from survey.model.grading import STEPS
from survey.model.schedule import Component
from survey.schedule.data import load_catalogues

CRACKS = "rules/cracks.toml"
READINGS = "readings.toml"
COMPONENTS = [one for kind in load_catalogues() for one in (*kind.components, *kind.extras)]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A copy of the product's data to break."""
    return Path(shutil.copytree(Path(survey.__file__).parent / "data", tmp_path / "data"))


def read(data: Path) -> Rulebook:
    return parse_rulebook(data, load_finding_kinds(), COMPONENTS)


def line_of(path: Path, start: str) -> int:
    """The line a row starts on: the ``[[...]]`` before its id."""
    lines = path.read_text("utf-8").splitlines()
    return next(n for n, line in enumerate(lines) if line.startswith(start))


def test_the_copy_reads_as_the_shipped(data: Path) -> None:
    book = read(data)
    assert book.version == load_rulebook().version
    assert book.rows == load_rulebook().rows
    assert book.readings == load_rulebook().readings


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        (CRACKS, 'id = "crack-hub"\n', "", "row without an id, cell id: it is not there"),
        (CRACKS, 'id = "crack-hub"\n', 'id = "crack-hub"\ngrade = "x"\n', "cell grade: there is no such cell"),
        (CRACKS, 'class = ["hub"]', 'class = "hub"', "cell class: 'hub' is no list of words"),
        (CRACKS, 'class = ["hub"]', "class = []", "cell class: [] is no list of words"),
        (CRACKS, 'stage = "finding"', 'stage = "guess"', "cell stage: 'guess' is no word of ours"),
        (CRACKS, 'hit = "unique"', 'hit = "first"', "cell hit: 'first' is no word of ours; allowed: unique"),
        (CRACKS, 'title = "Cracks and breaks"\n', "", "row cracks, cell title: it is not there"),
        (CRACKS, 'name = "cracks"', 'name = "cracks', "rules/cracks.toml is not readable TOML"),
        (READINGS, 'unit = "mm"\n', "", "cell unit: it is not there"),
        (READINGS, 'classes = ["rim"]', 'classes = ["rims"]', "row rim-lateral, cell classes: 'rims' is no word"),
        (READINGS, 'answers = ["bent"]', 'answers = ["bend"]', "row rim-lateral, cell answers: 'bend' is no word"),
        (READINGS, "believable = [0, 60]", "believable = [60, 0]", "row rim-lateral, cell believable: [60, 0]"),
        (READINGS, "believable = [0, 60]", "believable = 60", "row rim-lateral, cell believable: 60"),
        (READINGS, "believable = [0, 60]\n", "", "row rim-lateral, cell believable: it is not there"),
        (READINGS, "most = 4.0\n", "", "row rim-lateral, cell limit: it has no figure"),
        (READINGS, "most = 4.0\n", "most = 4.0\nabout = 4\n", "row rim-lateral, cell about: there is no such cell"),
        (READINGS, 'materials = ["steel"]', 'materials = ["tin"]', "cell limit materials: 'tin' is no word of ours"),
        (READINGS, 'components = ["C108"]', 'components = ["X9"]', "cell limit components: 'X9' is no word of ours"),
        (READINGS, 'id = "rim-radial"', 'id = "rim-lateral"', "row rim-lateral, cell id: it is used already at line"),
        (READINGS, 'book = "least"', 'book = "fewest"', "cell book: 'fewest' is no word of ours"),
        (CRACKS, 'source = "', '# "', "cell source: it is not there, or empty"),
        (READINGS, 'source = "DVSA', '# "DVSA', "row rim-lateral, cell source: it is not there, or empty"),
        ("rules/edition.toml", "[edition]", "[issue]", "no edition.toml"),
    ],
    ids=[str(n) for n in range(23)],
)
def test_a_broken_cell_is_named(data: Path, file: str, old: str, new: str, said: str) -> None:
    path = data / file
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    with pytest.raises(BrokenKnowledge) as broken:
        read(data)
    assert said in broken.value.sentence
    assert broken.value.next_step


def test_the_line_is_that_of_the_row(data: Path) -> None:
    path = data / "rules" / "cracks.toml"
    path.write_text(path.read_text("utf-8").replace('class = ["hub"]', 'class = "hub"'), "utf-8")
    line = line_of(path, 'id = "crack-hub"')
    with pytest.raises(BrokenKnowledge, match=f"rules/cracks.toml, line {line}, row crack-hub"):
        read(data)


def test_the_version_changes_with_the_rules(data: Path) -> None:
    path = data / "rules" / "cracks.toml"
    path.write_text(path.read_text("utf-8").replace('then = "repair"', 'then = "replace"', 1), "utf-8")
    assert read(data).version != load_rulebook().version
    assert read(data).version.rpartition(", ")[0] == load_rulebook().version.rpartition(", ")[0], (
        "the edition is the same"
    )


def test_every_reading_says_how_it_is_taken() -> None:
    for kind in load_rulebook().readings.values():
        assert kind.how.endswith("."), kind.id
        assert kind.unit, kind.id
        for limit in kind.limits:
            assert limit.source, kind.id
            for bound in (limit.within.least, limit.within.most, limit.within.below):
                assert bound is None or bound in kind.believable, kind.id


def test_only_what_is_published_may_pass_a_safety_part() -> None:
    """A figure from memory, or one sources dispute, is never firm."""
    for kind, limit in load_rulebook().limits:
        assert limit.firm == (limit.sure == "stated" and not limit.argument), kind.id
        if "from memory" in limit.source:
            assert not limit.firm, kind.id


def test_what_owes_a_crack_test_can_have_one() -> None:
    row = load_rulebook().row("crack-test-owed")
    assert row is not None
    assert (row.words("class") or {""}) <= load_rulebook().readings["crack-test"].classes


@pytest.mark.parametrize("one", COMPONENTS, ids=lambda one: one.id)
def test_whoever_is_told_to_take_a_reading_finds_one_to_take(one: Component) -> None:
    """For every fault a catalogue says the component usually has, at every step."""
    for finding in one.likely:
        for step in STEPS:
            row = load_rulebook().answer(finding, step, "none", one.duty, one.part_class, one.material, one.id)
            if row.then == "take-a-reading":
                assert any(finding in kind.answers for kind in load_rulebook().readings_for(one.part_class)), (
                    finding,
                    step,
                )


def test_every_owed_reading_has_its_row() -> None:
    owed = {part_class for kind in load_rulebook().readings.values() if kind.owed for part_class in kind.classes}
    asked = set().union(
        *(row.words("class") or () for row in load_rulebook().rows if row.id.startswith("reading-owed"))
    )
    assert owed == asked


def test_the_readings_of_a_class() -> None:
    names = {kind.id for kind in load_rulebook().readings_for("rim")}
    assert {"rim-lateral", "rim-radial"} <= names
    assert {kind.id for kind in load_rulebook().readings_for("brake-shoe", "friction_lining")} == {"lining-thickness"}
    assert "lining-thickness-book" in {kind.id for kind in load_rulebook().readings_for("brake-shoe")}
    assert load_rulebook().readings_for("paper") == ()
