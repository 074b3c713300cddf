"""The recipes of DEVELOPERS.md for a finding and for a rule, performed on a copy of the product's data.

Half done they are refused with a sentence that says what is still to do; done, they load and prove.
"""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest
from rules_cases import facts_from

import survey
from survey.errors import BrokenKnowledge
from survey.finding_kinds import parse_finding_kinds
from survey.grading.data import load_rulebook, parse_rulebook
from survey.grading.proof import prove_rulebook
from survey.grading.rulebook import Rulebook
from survey.grading.verdict import judge_part
from survey.schedule.data import load_catalogues
from survey.vocabulary import load_vocabulary

COMPONENTS = [one for kind in load_catalogues() for one in (*kind.components, *kind.extras)]

KIND = """
[[finding]]
id = "frost_crazing"
label = "Crazed by frost"
group = "fracture"
speaks_of = "substance"
met_on = "anything that held water"
step = [
    ["Hairs", "Fine hairs that a nail does not catch."],
    ["Caught", "A nail catches in one of them."],
    ["Weeping", "Paraffin comes through within an hour."],
    ["Burst", "A piece has come away."],
]
"""
ROW = """
[[row]]
id = "{id}"
when = {{ finding = ["frost_crazing"], {when} }}
then = "{then}"
because = "Water that froze in it has opened it."
remedy = "Have it looked at."
source = "judgement"
sure = "judgement"
"""
SAFETY_2 = ROW.format(id="frost-safety", when='step = [2], duty = ["safety"]', then="examine-first")
CASE = """
[[case]]
rule = "frost-safety"
outcome = "examine-first"
story = "A lug that lay under a gutter all winter, and a nail catches in it."
part = "safety lug malleable-iron"
found = ["frost_crazing 2 bare"]
"""


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A copy of the product's data, to follow the recipes on."""
    return Path(shutil.copytree(Path(survey.__file__).parent / "data", tmp_path / "data"))


def add(path: Path, text: str) -> None:
    path.write_text(path.read_text("utf-8") + text, "utf-8")


def loaded(data: Path) -> Rulebook:
    """The rulebook of that folder, read and proved as the product does it."""
    kinds = parse_finding_kinds((data / "findings.toml").read_text("utf-8"), load_vocabulary())
    book = parse_rulebook(data, kinds, COMPONENTS)
    prove_rulebook(book, COMPONENTS)
    return book


def refused(data: Path) -> str:
    with pytest.raises(BrokenKnowledge) as broken:
        loaded(data)
    return broken.value.sentence


def test_a_finding_without_rows_is_refused_with_every_combination_that_has_none(data: Path) -> None:
    add(data / "findings.toml", KIND)
    assert refused(data) == (
        "No rule row answers frost_crazing 2, measured none, on a safety part of"
        f" class {', '.join(load_vocabulary().class_)} and every material."
    )


def test_all_that_lacks_is_named_at_once(data: Path) -> None:
    add(data / "findings.toml", KIND + KIND.replace("frost_crazing", "sun_crazing"))
    said = refused(data)
    assert [said.count(f"{kind} 2, measured none, on a safety part") for kind in ("frost_crazing", "sun_crazing")] == [
        1,
        1,
    ]


def test_rows_for_some_materials_leave_the_others_named(data: Path) -> None:
    add(data / "findings.toml", KIND)
    add(
        data / "rules" / "cracks.toml", SAFETY_2.replace('duty = ["safety"]', 'duty = ["safety"], material = ["steel"]')
    )
    materials = [word for word in load_rulebook().words.allowed("material") if word != "steel"]
    assert f"and material {', '.join(map(str, materials))}." in refused(data)


def test_a_finding_with_its_row_and_case_loads_and_proves(data: Path) -> None:
    add(data / "findings.toml", KIND)
    add(data / "rules" / "cracks.toml", SAFETY_2)
    add(data / "cases" / "cracks.toml", CASE)
    book = loaded(data)
    assert next(table.name for table in book.tables if "frost_crazing" in table.findings) == "cracks"
    case = tomllib.loads((data / "cases" / "cracks.toml").read_text("utf-8"))["case"][-1]
    verdict = judge_part(book, facts_from(case["part"], case["found"]))
    assert verdict.outcome == case["outcome"]
    assert case["rule"] in [ruling.rule for ruling in verdict.rulings]
    unnamed = judge_part(book, facts_from("unknown", ["frost_crazing 1 bare"]))
    assert "default-unknown-mild" in [ruling.rule for ruling in unnamed.rulings]


def test_a_step_graded_harder_than_a_worse_one_names_both_rows(data: Path) -> None:
    add(data / "findings.toml", KIND)
    hard = ROW.format(id="frost-mild", when='step = [1], duty = ["safety"]', then="replace")
    add(data / "rules" / "cracks.toml", SAFETY_2 + hard)
    lines = (data / "rules" / "cracks.toml").read_text("utf-8").splitlines()
    harder, easier = lines.index('id = "frost-mild"'), lines.index('id = "frost-safety"')
    said = refused(data)
    assert said.startswith(
        f"rules/cracks.toml, line {harder}, row frost-mild: frost_crazing 1, measured none, on a safety"
    )
    assert (
        f"a worse step of it, frost_crazing 2, measured none, by row frost-safety (rules/cracks.toml, line {easier})"
        in (said)
    )


def test_a_finding_that_rows_of_two_tables_name_is_refused(data: Path) -> None:
    add(data / "findings.toml", KIND)
    add(data / "rules" / "cracks.toml", SAFETY_2)
    add(
        data / "rules" / "wear.toml", ROW.format(id="frost-worn", when='step = [4], duty = ["running"]', then="replace")
    )
    assert "Finding frost_crazing stands in no table, or in two" in refused(data)


def test_a_rule_with_its_case_and_the_edition_counted_up_loads_and_proves(data: Path) -> None:
    edition = data / "rules" / "edition.toml"
    now = tomllib.loads(edition.read_text("utf-8"))["edition"]
    counted = f'[edition]\nnumber = {now["number"] + 1}\ndate = "2027-01-02"\n'
    edition.write_text(counted, "utf-8")
    rule = ROW.replace("frost_crazing", "crack").format(
        id="crack-float-tinned", when='step = [4], class = ["float"], material = ["rubber"]', then="replace"
    )
    add(data / "rules" / "cracks.toml", rule)
    assert "row crack-float-tinned: it can never win" in refused(data)
    path = data / "rules" / "cracks.toml"
    path.write_text(path.read_text("utf-8").replace('material = ["rubber"]', 'material = ["copper-alloy"]'), "utf-8")
    book = loaded(data)
    assert book.version.startswith(f"{now['number'] + 1} of 2027-01-02, ")
    verdict = judge_part(book, facts_from("safety float copper-alloy", ["crack 4 bare"]))
    assert "crack-float-tinned" in [ruling.rule for ruling in verdict.rulings]


def test_a_rule_that_another_answers_too_names_both(data: Path) -> None:
    add(data / "findings.toml", KIND)
    add(data / "rules" / "cracks.toml", SAFETY_2 + SAFETY_2.replace("frost-safety", "frost-again"))
    assert "row frost-again: frost-safety answers too for frost_crazing 2, measured none, on a safety" in refused(data)
