"""Every rule row has a case that fires it; a rule without a case is no rule (habit of the DMN compatibility kit)."""

from __future__ import annotations

import pytest
from rules_cases import Case, all_cases

from survey.grading.data import load_rulebook
from survey.grading.verdict import judge_part

CASES = all_cases()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_rule_speaks_and_the_part_ends_where_it_should(case: Case) -> None:
    verdict = judge_part(load_rulebook(), case.facts)
    spoke = {ruling.rule: ruling for ruling in verdict.rulings}
    assert case.rule in spoke, f"{case.story} Only {sorted(spoke)} spoke."
    assert spoke[case.rule].outcome == load_rulebook().row(case.rule).then
    assert verdict.outcome == case.outcome, f"{case.story} Rulings: {[(r.rule, r.outcome) for r in verdict.rulings]}"


def test_no_row_lacks_a_case() -> None:
    assert {row.id for row in load_rulebook().rows} - {case.rule for case in CASES} == set()


def test_no_case_is_told_twice() -> None:
    stories = [(case.rule, case.story) for case in CASES]
    assert len(set(stories)) == len(stories)
    assert all(case.story.endswith(".") or case.story.endswith(").") for case in CASES)


def test_every_row_says_why_and_whence() -> None:
    for row in load_rulebook().rows:
        assert row.because.endswith("."), row.id
        assert row.remedy.endswith("."), row.id
        assert row.source, row.id
        if row.sure == "judgement":
            assert "judgement" in row.source, f"{row.id}: a judgement that names another source is no judgement"
        if row.sure == "stated":
            assert "no source" not in row.source or ";" in row.source, f"{row.id}: stated by whom?"
        if row.sure == "common practice":
            assert "stated" not in row.source, row.id


def test_the_arguments_are_kept() -> None:
    disputed = [row for row in load_rulebook().rows if row.disputed]
    assert len(disputed) >= 30
    assert all(row.argument.endswith(".") for row in disputed)


def test_whatever_can_hurt_carries_its_caution() -> None:
    """Tank, lining, spring and handlebar rows never go out without a caution (HSE INDG314, HSE on asbestos; DVSA)."""
    for row in load_rulebook().rows:
        classes = row.words("class") or frozenset()
        if classes & {"tank", "brake-shoe", "handlebar"} and row.then != "reuse":
            assert row.caution, row.id
        if "tank" in classes:
            assert (
                "vapour" in row.caution
                or "sealer" in row.caution
                or "proved free" in row.caution
                or ("flame" in row.caution)
            ), row.id
        if classes == {"brake-shoe"} and row.words("finding"):
            assert "asbestos" in row.caution.lower(), row.id
