"""What the rows say, read beside a part as a newcomer reads it. The wording is ours: judgement."""

from __future__ import annotations

import re

import pytest
from rules_cases import facts_from

from survey.grading.data import load_rulebook
from survey.grading.rows import Row
from survey.grading.verdict import judge_part
from survey.model.grading import SEEN, Ruling
from survey.vocabulary import load_vocabulary

BOOK = load_rulebook()
EXAMINE = [row for row in BOOK.rows if row.then == "examine-first"]
STAGES = {
    stage: [row for row in BOOK.rows if BOOK.table_of(row).stage == stage] for stage in ("looking", "looks", "whole")
}

# Who or what examines comes first; what is done about it only after.
EXAMINED_FIRST = re.compile(r"^(Have|Let|Ask|Show|Find out)\b")
MENDING = re.compile(r"\b(weld|braze|solder|sleeve|bush|rewind|retube|reseal|let in|new tube|fit)(s|d|ed|ing)?\b")


def rulings(part: str, found: list[str] | None = None, look: list[str] | None = None) -> dict[str, Ruling]:
    return {ruling.rule: ruling for ruling in judge_part(BOOK, facts_from(part, found, look)).rulings}


@pytest.mark.parametrize("row", EXAMINE, ids=lambda row: row.id)
def test_what_must_be_examined_first_says_who_examines_before_what_mends(row: Row) -> None:
    assert EXAMINED_FIRST.match(row.remedy), row.remedy
    first = re.split(r"[;:.]", row.remedy)[0].split(", or ")[0]
    assert not MENDING.search(first), row.remedy


@pytest.mark.parametrize("stage", STAGES)
def test_rows_on_looking_read_right_beside_a_finding(stage: str) -> None:
    """A part may have been looked over and have findings too: no row may then say that nothing is wrong with it."""
    for row in STAGES[stage]:
        said = f"{row.because} {row.remedy}".lower()
        assert "nothing wrong was seen" not in said or "apart from any finding recorded here" in said, row.id
        assert "cleaned, looked" not in said, row.id


def test_a_look_with_nothing_over_it_is_told_of_rubber_as_of_steel() -> None:
    texts = [f"{row.because} {row.remedy} {row.caution}" for rows in STAGES.values() for row in rows]
    texts += [BOOK.tables[n].about for n in range(len(BOOK.tables))] + list(load_vocabulary().seen.values())
    assert [text for text in texts if "bare metal" in text.lower()] == []
    assert "metal" not in load_vocabulary().seen["bare"]


@pytest.mark.parametrize("seen", SEEN)
@pytest.mark.parametrize("found", ["corrosion_surface 2", "thread_damage 1", "dent 1", "seized 1"])
def test_no_mild_answer_stands_beside_a_finding_nobody_saw_well(found: str, seen: str) -> None:
    """Rust seen through paint on a tank: "reuse" beside "not looked at" reads as if it might pass."""
    verdict = judge_part(BOOK, facts_from("safety tank steel", [f"{found} {seen}"]))
    of_finding = [ruling.outcome for ruling in verdict.rulings if ruling.finding]
    assert of_finding
    assert ("reuse" not in of_finding and "not-looked-at" in of_finding) or seen == "bare"


def test_a_mild_answer_to_a_finding_says_that_it_speaks_of_that_finding_only() -> None:
    for row in BOOK.rows:
        on_safety = "safety" in (row.words("duty") or {"safety"})
        of_safety_class = not row.words("class") or (row.words("class") or set()) & set(load_vocabulary().least_duty)
        if row.then == "reuse" and BOOK.table_of(row).stage in ("finding", "default") and on_safety and of_safety_class:
            assert re.match(r"(As far as .+ (go|goes)|Of the \w+ alone): ", row.because), row.id


@pytest.mark.parametrize("component", ["B056 aluminium", "C048 copper-alloy", "B064 steel", "C060 steel", "A038 steel"])
@pytest.mark.parametrize("step", [3, 4])
def test_a_clutch_or_gear_lever_is_no_pedal_crank(component: str, step: int) -> None:
    name, material = component.split()
    (told,) = [r for r in rulings(f"running lever {material} {name}", [f"bent {step} bare"]).values() if r.finding]
    assert "lever" in told.because
    assert not re.search("pedal|kickstart|cotter|left-hand", told.because + told.remedy)


@pytest.mark.parametrize("component", ["A090", "A093a", "B065", "C063"])
def test_a_pedal_crank_or_a_kickstart_is_not_set(component: str) -> None:
    """Common practice, no source."""
    assert rulings(f"running lever steel {component}", ["bent 3 bare"])["bent-pedal-crank"].outcome == "replace"


@pytest.mark.parametrize("finding", ["bent 2", "dent 2"])
def test_only_a_mudguard_has_a_tyre_to_clear(finding: str) -> None:
    def cautions(part: str) -> str:
        return " ".join(ruling.caution for ruling in rulings(part, [f"{finding} bare"]).values())

    for guard in ("A146", "A148", "B170", "B172", "C169", "C171", "C171a"):
        assert "tyre" in cautions(f"safety tinware steel {guard}")
    for other in ("safety lamp steel B160", "safety lamp copper-alloy C161a", "cosmetic tinware steel B177"):
        assert "tyre" not in cautions(other)


def test_a_headlamp_is_not_warned_of_as_a_mudguard() -> None:
    for found in ("crack 3", "perforation 3", "perforation 4", "broken_tab 3"):
        for ruling in rulings("safety lamp steel B160", [f"{found} bare"]).values():
            assert "front guard" not in ruling.caution
            assert "wheel" not in ruling.caution or ruling.caution.startswith("Over a wheel"), ruling.rule


@pytest.mark.parametrize("material", ["rubber", "glass", "lining", "fibre"])
def test_a_suspected_crack_in_what_is_no_metal_is_not_sent_for_magnetic_ink(material: str) -> None:
    for ruling in rulings(f"safety rubber {material}", ["crack 1 bare"]).values():
        assert "magnetic" not in ruling.remedy or "what is not metal" in ruling.remedy
