"""The decision tables against the public compatibility kit of OMG DMN (repository dmn-tck/tck on GitHub).

Tables and expected answers are those of TestCases/compliance-level-2; the file is named beside each test.
Semantics: OMG Decision Model and Notation, section 8, hit policies.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.errors import BadValue, BrokenKnowledge
from survey.grading.tables import Between, DecisionTable, Entry, HitPolicy, Rule, Value

ADULT, MINOR = Between(least=18), Between(below=18)
MIDDLING: Entry = frozenset({"Medium", "Low"})
HIGH: Entry = frozenset({"High"})
YES: Entry = frozenset({True})
NO: Entry = frozenset({False})
COLUMNS: Mapping[str, frozenset[Value] | None] = {
    "Age": None,
    "RiskCategory": frozenset({"High", "Low", "Medium"}),
    "isAffordable": frozenset({True, False}),
}
STATUS: tuple[Value, ...] = ("Approved", "Declined")


def table(hit: HitPolicy, *rules: tuple[dict[str, Entry], tuple[Value, ...]]) -> DecisionTable:
    named = tuple(Rule(f"rule {n}", when, then) for n, (when, then) in enumerate(rules, 1))
    return DecisionTable("Approval Status", COLUMNS, hit, named, (STATUS,))


def asked(decision: DecisionTable, age: int, risk: str, affordable: bool = True) -> tuple[Value, ...] | None:
    rule = decision.decide({"Age": age, "RiskCategory": risk, "isAffordable": affordable})
    return rule.then if rule else None


SIMPLE_U = table(
    "unique",
    ({"Age": ADULT, "RiskCategory": MIDDLING, "isAffordable": YES}, ("Approved",)),
    ({"Age": MINOR, "RiskCategory": MIDDLING, "isAffordable": YES}, ("Declined",)),
    ({"RiskCategory": HIGH, "isAffordable": YES}, ("Declined",)),
    ({"isAffordable": NO}, ("Declined",)),
)
SIMPLE_P1 = table(
    "priority",
    ({"Age": ADULT, "RiskCategory": MIDDLING, "isAffordable": YES}, ("Approved",)),
    ({"Age": MINOR}, ("Declined",)),
    ({"RiskCategory": HIGH}, ("Declined",)),
    ({"isAffordable": NO}, ("Declined",)),
)
SIMPLE_P2 = table(
    "priority",
    ({"Age": ADULT, "RiskCategory": MIDDLING, "isAffordable": YES}, ("Approved",)),
    ({}, ("Declined",)),
)


# 0004-simpletable-U-test-01.xml, 0006-simpletable-P1-test-01.xml, 0007-simpletable-P2-test-01.xml: the same three.
@pytest.mark.parametrize("decision", [SIMPLE_U, SIMPLE_P1, SIMPLE_P2], ids=["0004-U", "0006-P1", "0007-P2"])
@pytest.mark.parametrize(
    ("age", "risk", "expected"),
    [(18, "Medium", "Approved"), (17, "Medium", "Declined"), (18, "High", "Declined")],
    ids=["001", "002", "003"],
)
def test_simple_tables_of_the_compatibility_kit(decision: DecisionTable, age: int, risk: str, expected: str) -> None:
    assert asked(decision, age, risk) == (expected,)


# 0010-multi-output-U.dmn and its test-01.xml: two outputs under the unique policy.
@pytest.mark.parametrize(
    ("age", "risk", "expected"),
    [
        (18, "Medium", ("Approved", "Standard")),
        (17, "Medium", ("Declined", "Standard")),
        (18, "High", ("Declined", "Standard")),
    ],
    ids=["001", "002", "003"],
)
def test_several_outputs_under_unique(age: int, risk: str, expected: tuple[str, str]) -> None:
    decision = table(
        "unique",
        ({"Age": ADULT, "RiskCategory": frozenset({"Low"}), "isAffordable": YES}, ("Approved", "Best")),
        ({"Age": ADULT, "RiskCategory": frozenset({"Medium"}), "isAffordable": YES}, ("Approved", "Standard")),
        ({"Age": MINOR, "RiskCategory": MIDDLING, "isAffordable": YES}, ("Declined", "Standard")),
        ({"RiskCategory": HIGH, "isAffordable": YES}, ("Declined", "Standard")),
        ({"isAffordable": NO}, ("Declined", "Standard")),
    )
    assert asked(decision, age, risk) == expected


# 0118-multi-priority-hitpolicy.dmn and its test-01.xml: the first output's order of values decides between hits.
@pytest.mark.parametrize(
    ("age", "risk", "expected"),
    [
        (17, "High", ("Approved", "Standard")),
        (19, "Low", ("Approved", "Basic")),
        (10, "Low", ("Declined", "Standard")),
    ],
    ids=["001", "002", "003"],
)
def test_several_outputs_under_priority(age: int, risk: str, expected: tuple[str, str]) -> None:
    decision = table(
        "priority",
        ({"Age": ADULT, "RiskCategory": MIDDLING, "isAffordable": YES}, ("Approved", "Basic")),
        ({"Age": MINOR}, ("Declined", "Standard")),
        ({"RiskCategory": HIGH}, ("Approved", "Standard")),
    )
    assert asked(decision, age, risk) == expected


def test_unique_refuses_two_hits() -> None:
    """OMG DMN, section 8, Unique: no overlap is possible and all rules are disjoint."""
    overlapping = table("unique", ({"Age": ADULT}, ("Approved",)), ({"RiskCategory": HIGH}, ("Declined",)))
    assert asked(overlapping, 18, "Low") == ("Approved",)
    with pytest.raises(BrokenKnowledge, match="rule 1, rule 2"):
        asked(overlapping, 18, "High")


def test_no_hit_is_no_answer() -> None:
    assert asked(table("unique", ({"Age": ADULT}, ("Approved",))), 3, "Low") is None


def test_collect_keeps_every_hit_in_the_tables_order() -> None:
    both = table("collect", ({"Age": ADULT}, ("Approved",)), ({"RiskCategory": HIGH}, ("Declined",)))
    hits = both.hits({"Age": 20, "RiskCategory": "High", "isAffordable": True})
    assert [rule.name for rule in hits] == ["rule 1", "rule 2"]


@pytest.mark.parametrize(
    ("inputs", "said"),
    [
        ({"Age": 18, "isAffordable": True}, "needs the input RiskCategory"),
        ({"Age": 18, "RiskCategory": "Middling", "isAffordable": True}, "'Middling' is not allowed for RiskCategory"),
    ],
)
def test_an_input_must_be_there_and_be_allowed(inputs: dict[str, Value], said: str) -> None:
    with pytest.raises(BadValue, match=said):
        SIMPLE_U.decide(inputs)


@given(st.integers(0, 120), st.sampled_from(["High", "Low", "Medium"]), st.booleans())
def test_the_kits_three_tables_say_the_same(age: int, risk: str, affordable: bool) -> None:
    """0004, 0006 and 0007 write one decision three ways; they agree everywhere, not only where the kit asks."""
    answers = {asked(decision, age, risk, affordable) for decision in (SIMPLE_U, SIMPLE_P1, SIMPLE_P2)}
    assert len(answers) == 1


@given(st.permutations(SIMPLE_P1.rules))
def test_under_priority_the_order_of_rules_does_not_matter(rules: list[Rule]) -> None:
    shuffled = DecisionTable("shuffled", COLUMNS, "priority", tuple(rules), (STATUS,))
    assert asked(shuffled, 17, "High") == asked(SIMPLE_P1, 17, "High")


@pytest.mark.parametrize("value", [float("nan"), "4", True, None])
def test_what_is_no_number_lies_in_no_interval(value: object) -> None:
    assert value not in Between()
    assert value not in Between(most=10)


def test_the_edges_of_an_interval() -> None:
    assert 4.0 in Between(most=4.0)
    assert 4.01 not in Between(most=4.0)
    assert 1.5 in Between(least=1.5)
    assert 0.203 not in Between(below=0.203)
