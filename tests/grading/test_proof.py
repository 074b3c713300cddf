"""The proof: it accepts the rules we ship, agrees with the evaluator, and finds every kind of fault it is there for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rules_cases import facts_from

from survey.errors import BrokenKnowledge
from survey.grading.data import load_rulebook
from survey.grading.facts import HARDNESS
from survey.grading.product import Product
from survey.grading.proof import NEVER_EASY, SHEET, SHEET_METALS, prove_rulebook
from survey.grading.rows import Row
from survey.grading.rulebook import Rulebook
from survey.grading.verdict import judge_part
from survey.model.grading import SEEN, STEPS, Seen
from survey.model.schedule import Component
from survey.schedule.data import load_catalogues

BOOK = load_rulebook()
COMPONENTS = [one for kind in load_catalogues() for one in (*kind.components, *kind.extras)]
PARTS = Product(BOOK, COMPONENTS)
CELLS = PARTS.cells()


def changed(rule: str, change: Callable[[Row], Row]) -> Rulebook:
    """The shipped rulebook with one row changed."""
    tables = tuple(
        replace(table, rows=tuple(change(row) if row.id == rule else row for row in table.rows))
        for table in BOOK.tables
    )
    return Rulebook(tables, BOOK.readings, BOOK.words, "changed")


def without(rule: str) -> Rulebook:
    """The shipped rulebook with one row left out."""
    tables = tuple(replace(table, rows=tuple(row for row in table.rows if row.id != rule)) for table in BOOK.tables)
    return Rulebook(tables, BOOK.readings, BOOK.words, "without")


def with_when(rule: str, **cells: list[Any]) -> Rulebook:
    """The shipped rulebook with some cells of one row set anew."""
    new = {name.replace("_", "-"): frozenset(words) for name, words in cells.items()}
    return changed(rule, lambda row: replace(row, when={**row.when, **new}))


def with_then(rule: str, outcome: str) -> Rulebook:
    """The shipped rulebook with one row's outcome changed."""
    return changed(rule, lambda row: replace(row, then=outcome))  # type: ignore[arg-type]


def test_what_is_shipped_proves_itself() -> None:
    prove_rulebook(BOOK, COMPONENTS)


@given(st.sampled_from(CELLS), st.data())
def test_the_bits_say_what_the_evaluator_says(cell: Any, data: st.DataObject) -> None:
    """Two ways to one answer: the bit sets of the proof and the decision tables the verdict asks."""
    asked = 0
    for bits in cell.outcomes.values():
        asked |= bits
    signature = data.draw(st.integers(0, len(PARTS.signatures) - 1))
    if asked >> signature & 1:
        row = PARTS.winner(cell, 1 << signature)
        assert cell.outcomes[row.then] >> signature & 1


def test_every_question_has_exactly_one_answer() -> None:
    for cell in CELLS:
        sets = list(cell.outcomes.values())
        union = 0
        for bits in sets:
            assert not union & bits
            union |= bits
        if cell.measured == "none":
            assert union == PARTS.whole


@pytest.mark.parametrize("kind", load_catalogues(), ids=lambda kind: kind.kind)
def test_every_component_of_every_catalogue_is_answered(kind: Any) -> None:
    """Not only the vocabularies' product: every component as it stands, in every material it is met in."""
    safety = [one for one in (*kind.components, *kind.extras) if one.duty == "safety"]
    for one in safety:
        for material in (one.material, *one.other_materials):
            part = f"safety {one.part_class} {material} {one.id}"
            for finding, steps in NEVER_EASY.items():
                for step in steps if one.part_class not in SHEET or material not in SHEET_METALS else ():
                    outcome = judge_part(BOOK, facts_from(part, [f"{finding} {step} bare"], ["bare"])).outcome
                    assert HARDNESS[outcome] >= HARDNESS["examine-first"], (one, finding, step)
            for seen in SEEN[1:]:
                for finding in BOOK.words.speaks_of:
                    graded = judge_part(BOOK, facts_from(part, [f"{finding} 1 {seen}"], crack_test=0))
                    assert graded.outcome != "reuse", (one, finding, seen)


@pytest.mark.parametrize(
    ("book", "said"),
    [
        (without("default-running-3"), "No rule row answers corrosion_surface 3, measured none, on a running"),
        (with_when("crack-hub", step=[1, 2, 3, 4], **{"class": ["drum"]}), "answers too for crack 1"),
        (with_when("crack-hub", **{"class": ["hubb"]}), "row crack-hub: cell class: 'hubb' is no word of ours"),
        (with_when("crack-hub", step=[5]), "cell step: 5 is no word of ours; allowed: 1, 2, 3, 4"),
        (with_when("crack-hub", seen=["bare"]), "there is no cell 'seen' here; allowed: finding, step, duty"),
        (with_when("bent-swinging-arm", component=["B0111"]), "'B0111' is no word of ours; allowed: B111, B011"),
        (with_then("crack-hub", "scrap"), "cell then: 'scrap' is no outcome; allowed: replace, examine-first"),
        (changed("crack-rim", lambda row: replace(row, id="crack-hub")), "the id is taken by line"),
        (with_when("wear-tyre", material=["cast-iron"]), "row wear-tyre: it can never win"),
        (with_then("crack-suspected", "repair"), "crack 1, measured none, on a safety frame"),
        (with_then("hole-safety", "reuse"), "is let through as reuse"),
        (with_when("crack-sheet", material=["steel", "zinc"]), "crack 1, measured none, on a safety tinware of zinc"),
        (
            with_when("crack-sheet", material=["steel", "rubber"]),
            "on a safety tinware of rubber is let through as repair",
        ),
        (with_then("repair-unknown", "repair"), "previous_repair 2, measured none, on a safety frame"),
        (with_then("repair-known", "replace"), "is graded harder than a worse step"),
        (with_then("default-safety-2-unmeasured", "reuse"), "inside its limit without a reading and a limit"),
        (with_then("spring-unread", "reuse"), "inside its limit without a reading and a limit"),
        (with_then("paint-renew", "replace"), "is condemned for what lies on it"),
        (with_then("dirt-harmful", "replace"), "is condemned for what lies on it"),
        (without("look-unseen"), "is answered by nothing"),
        (with_then("look-paint-safety", "reuse"), "is reuse without bare metal"),
        (with_then("look-unseen", "reuse"), "is reuse without bare metal"),
        (with_when("look-bare", duty=["safety", "running", "cosmetic", "paperwork"]), "answers too for duty safety"),
        (without("paint-hides"), "is reuse without bare metal"),
        (with_then("only-heard", "reuse"), "is reuse"),
        (without("nothing-recorded"), "is answered by nothing"),
        (without("metal-not-looked-at"), "is graded by its finish alone"),
        (with_when("metal-not-looked-at", duty=["safety"]), "is graded by its finish alone"),
        (without("not-known-yet"), "is reuse though nobody knows what it is"),
    ],
    ids=lambda value: "" if isinstance(value, Rulebook) else value[:40],
)
def test_a_fault_is_found_and_named(book: Rulebook, said: str) -> None:
    with pytest.raises(BrokenKnowledge) as broken:
        prove_rulebook(book, COMPONENTS)
    assert said in broken.value.sentence


def test_the_error_says_file_line_and_row() -> None:
    with pytest.raises(BrokenKnowledge) as broken:
        prove_rulebook(with_when("crack-hub", duty=["vital"]), COMPONENTS)
    row = BOOK.row("crack-hub")
    assert row is not None
    assert broken.value.sentence.startswith(f"rules/cracks.toml, line {row.line}, row crack-hub: cell duty: 'vital'")
    assert broken.value.next_step == "Mend that row."


def test_a_priority_table_lets_the_harder_row_win_and_proves() -> None:
    """Under the priority policy two rows may hold; the proof and the verdict both take the harder."""
    widened = with_when("crack-hub", **{"class": ["hub", "drum"]})
    with pytest.raises(BrokenKnowledge, match=r"crack-(drum|hub) answers too"):
        prove_rulebook(widened, COMPONENTS)
    tables = tuple(replace(table, hit="priority") if table.name == "cracks" else table for table in widened.tables)
    by_priority = Rulebook(tables, BOOK.readings, BOOK.words, "priority")
    prove_rulebook(by_priority, COMPONENTS)
    assert judge_part(by_priority, facts_from("safety drum cast-iron", ["crack 3 bare"])).outcome == "replace"
    assert judge_part(BOOK, facts_from("safety drum cast-iron", ["crack 3 bare"])).outcome == "examine-first"


def test_a_finding_stands_in_one_table_only() -> None:
    tables = tuple(
        replace(table, findings=table.findings | {"crack"}) if table.name == "wear" else table for table in BOOK.tables
    )
    with pytest.raises(BrokenKnowledge, match="Finding crack"):
        prove_rulebook(Rulebook(tables, BOOK.readings, BOOK.words, "twice"), COMPONENTS)


@given(
    st.sampled_from(BOOK.words.classes),
    st.sampled_from(BOOK.words.materials),
    st.sampled_from(sorted(BOOK.words.speaks_of)),
    st.sampled_from(STEPS),
    st.sampled_from(SEEN),
)
def test_an_owners_own_component_is_answered_too(
    part_class: str, material: str, finding: str, step: int, seen: Seen
) -> None:
    """The product is that of the vocabularies, so a component no catalogue holds finds its answers as well."""
    for duty in ("safety", "running", "cosmetic", "paperwork"):
        verdict = judge_part(BOOK, facts_from(f"{duty} {part_class} {material}", [f"{finding} {step} {seen}"]))
        assert verdict.rulings
        if duty == "safety" and seen != "bare":
            assert verdict.outcome != "reuse"


def test_a_row_must_win_for_something_a_catalogue_holds() -> None:
    """A row may be dead for want of a component as well as for want of room."""
    no_tyres: list[Component] = [one for one in COMPONENTS if one.part_class != "tyre"]
    with pytest.raises(BrokenKnowledge, match="it can never win"):
        prove_rulebook(BOOK, no_tyres)
