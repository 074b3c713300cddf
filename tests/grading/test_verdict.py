"""The verdict: joining, looking, readings; what must hold of every part whatever is recorded of it."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rules_cases import facts_from

from survey.errors import BadValue
from survey.grading.data import load_rulebook
from survey.grading.facts import HARDNESS, UNKNOWN, PartFacts, harder
from survey.grading.verdict import judge_part
from survey.model.grading import HARDEST_FIRST, SEEN, STEPS, Verdict
from survey.model.schedule import DUTIES

BOOK = load_rulebook()
KINDS = sorted(BOOK.words.speaks_of)
SUBSTANCE = [kind for kind in KINDS if BOOK.words.subject(kind) == "substance"]
COAT = [kind for kind in KINDS if BOOK.words.subject(kind) in ("finish", "dirt")]
CRITICAL = (
    "frame", "lug", "fork", "stanchion", "slider", "yoke", "handlebar", "pivot", "wheel-spindle", "hub", "lever",
)  # fmt: skip
# What is mended as sheet, and the metals that make it so.
SHEET, SHEET_METALS = ("tinware", "lamp"), ("steel", "aluminium", "copper-alloy")

finding = st.tuples(st.sampled_from(KINDS), st.sampled_from(STEPS), st.sampled_from(SEEN))
reading = st.dictionaries(
    st.sampled_from(sorted(BOOK.readings)), st.one_of(st.floats(0, 20), st.just(float("nan"))), max_size=4
)


@st.composite
def parts(draw: st.DrawFn, duty: str | None = None) -> PartFacts:
    return PartFacts(
        component=draw(st.sampled_from([None, "OWN1", "B011", "C108"])),
        duty=duty or draw(st.sampled_from(DUTIES)),  # type: ignore[arg-type]
        part_class=draw(st.sampled_from(BOOK.words.classes)),
        material=draw(st.sampled_from(BOOK.words.materials)),
        findings=tuple(draw(st.lists(finding, max_size=4))),
        looks=tuple(draw(st.lists(st.sampled_from(SEEN), max_size=2))),
        readings=draw(reading),
    )


def told(verdict: Verdict) -> list[tuple[str, str]]:
    return [(ruling.rule, ruling.outcome) for ruling in verdict.rulings]


@given(parts(), finding)
def test_one_more_finding_never_improves_a_grade(part: PartFacts, more: tuple[str, int, str]) -> None:
    """Only "not looked at" may give way, because a finding is a look."""
    before = judge_part(BOOK, part)
    after = judge_part(BOOK, replace(part, findings=(*part.findings, more)))  # type: ignore[arg-type]
    if before.outcome != "not-looked-at":
        assert HARDNESS[after.outcome] >= HARDNESS[before.outcome]


@given(parts(), st.data())
def test_a_worse_step_never_improves_a_grade(part: PartFacts, data: st.DataObject) -> None:
    kind, step, seen = data.draw(finding)
    worse = data.draw(st.integers(step, 4))
    mild = judge_part(BOOK, replace(part, findings=(*part.findings, (kind, step, seen))))  # type: ignore[arg-type]
    bad = judge_part(BOOK, replace(part, findings=(*part.findings, (kind, worse, seen))))  # type: ignore[arg-type]
    assert HARDNESS[bad.outcome] >= HARDNESS[mild.outcome]


@given(parts(), st.randoms(use_true_random=False))
def test_the_order_of_what_is_known_never_matters(part: PartFacts, dice: random.Random) -> None:
    findings, looks = list(part.findings), list(part.looks)
    values = list(part.readings.items())
    for pile in (findings, looks, values):
        dice.shuffle(pile)
    shuffled = replace(part, findings=tuple(findings), looks=tuple(looks), readings=dict(values))
    assert judge_part(BOOK, shuffled) == judge_part(BOOK, part)


@given(parts())
def test_the_hardest_ruling_is_the_verdict_and_all_are_kept(part: PartFacts) -> None:
    """Spectrum 5.1 (Collections Trust), condition checking: overall condition is the worst condition found."""
    verdict = judge_part(BOOK, part)
    outcomes = [ruling.outcome for ruling in verdict.rulings]
    assert verdict.outcome == outcomes[0] == max(outcomes, key=HARDNESS.__getitem__)
    assert outcomes == sorted(outcomes, key=HARDEST_FIRST.index)
    assert (verdict.grade is None) != (verdict.waiting is None)
    written = {ruling.finding for ruling in verdict.rulings if ruling.finding}
    assert written == set(part.findings)


@given(parts(duty="safety"))
def test_a_safety_part_is_reuse_only_on_bare_metal(part: PartFacts) -> None:
    if judge_part(BOOK, part).outcome == "reuse":
        substance = [seen for kind, _, seen in part.findings if kind in SUBSTANCE]
        assert part.component is not None
        assert substance or part.looks
        assert set(substance) <= {"bare"}
        assert not part.looks or "bare" in part.looks


@given(parts(duty="safety"))
def test_a_part_that_carries_the_rider_is_never_reuse_without_a_crack_test(part: PartFacts) -> None:
    if part.part_class in CRITICAL and judge_part(BOOK, part).outcome == "reuse":
        assert part.readings.get("crack-test") == 0


@given(parts(duty="safety"), st.sampled_from(("crack", "perforation", "previous_repair")), st.sampled_from(SEEN))
def test_the_dangerous_three_are_never_easy(part: PartFacts, kind: str, seen: str) -> None:
    for step in STEPS:
        sheet = part.component and part.part_class in SHEET and part.material in SHEET_METALS
        if not sheet and (kind != "previous_repair" or step > 1):
            hurt = replace(part, findings=(*part.findings, (kind, step, seen)))  # type: ignore[arg-type]
            assert judge_part(BOOK, hurt).outcome in ("replace", "examine-first")


@given(parts(), st.lists(st.tuples(st.sampled_from(COAT), st.sampled_from(STEPS), st.just("bare")), min_size=1))
def test_the_coat_never_grades_what_is_under_it(part: PartFacts, coats: list[tuple[str, int, str]]) -> None:
    bare = replace(part, findings=tuple(coats), looks=(), readings={}, component="OWN1")  # type: ignore[arg-type]
    verdict = judge_part(BOOK, bare)
    if part.duty in ("safety", "running"):
        assert verdict.outcome not in ("reuse", "replace")
        assert "metal-not-looked-at" in {ruling.rule for ruling in verdict.rulings}


@given(parts(), finding)
def test_an_unknown_part_is_never_graded_reuse(part: PartFacts, one: tuple[str, int, str]) -> None:
    unknown = replace(part, component=None, findings=(*part.findings, one))  # type: ignore[arg-type]
    verdict = judge_part(BOOK, unknown)
    assert verdict.outcome != "reuse"
    assert any("Nobody knows yet what" in r.because or "nobody knows yet what" in r.because for r in verdict.rulings)


@given(parts())
def test_what_is_said_of_an_unknown_part_does_not_count_until_it_is_known(part: PartFacts) -> None:
    unknown = replace(part, component=None)
    plain = replace(unknown, duty="safety", part_class=UNKNOWN, material=UNKNOWN)
    assert judge_part(BOOK, unknown) == judge_part(BOOK, plain)


@given(st.sampled_from(DUTIES), st.sampled_from(BOOK.words.classes))
def test_nothing_recorded_is_not_looked_at(duty: str, part_class: str) -> None:
    verdict = judge_part(BOOK, PartFacts("OWN1", duty, part_class, "steel"))  # type: ignore[arg-type]
    assert told(verdict) == [("nothing-recorded", "not-looked-at")]


def test_no_limit_is_never_inside() -> None:
    """A figure from memory or under dispute may make a safety part harder, never easier."""
    taken = facts_from("safety stay steel", ["wear 2 bare"], worn_by=0.01)
    assert judge_part(BOOK, taken).outcome == "take-a-reading"
    from_memory = facts_from("safety linkage steel", ["hole_elongated 2 bare"], hole_oval=2.0)
    assert judge_part(BOOK, from_memory).outcome == "take-a-reading"
    over = facts_from("safety linkage steel", ["hole_elongated 2 bare"], hole_oval=8.0)
    assert judge_part(BOOK, over).outcome == "examine-first"


def test_half_the_readings_are_not_all_of_them() -> None:
    assert (
        judge_part(BOOK, facts_from("safety rim steel", ["bent 2 bare"], rim_lateral=1.0)).outcome == "take-a-reading"
    )


def test_a_reading_that_is_no_number_is_never_inside() -> None:
    broken = facts_from("safety chain steel", ["wear 2 bare"], chain_stretch=float("nan"))
    assert judge_part(BOOK, broken).outcome == "replace"


def test_what_no_part_can_measure_is_never_inside() -> None:
    """A slip of the pen that stands in an older survey counts as not taken; beyond a limit it still condemns."""
    shoe, found = "safety brake-shoe lining", ["friction_lining 1 bare"]
    assert judge_part(BOOK, facts_from(shoe, found, lining_thickness=9999)).outcome == "take-a-reading"
    slip = facts_from(shoe, found, lining_thickness=3, lining_thickness_book=0)
    assert judge_part(BOOK, slip).outcome == "take-a-reading"
    assert judge_part(BOOK, facts_from(shoe, found, lining_thickness=-1)).outcome == "replace"
    assert judge_part(BOOK, facts_from("safety frame steel", look=["bare"], crack_test=-1)).outcome == "examine-first"


def test_the_makers_figure_never_loosens_ours() -> None:
    shoe, found = "safety brake-shoe lining", ["friction_lining 1 bare"]
    wide = facts_from(shoe, found, lining_thickness=1.2, lining_thickness_book=1.0)
    assert judge_part(BOOK, wide).outcome == "replace"
    strict = facts_from(shoe, found, lining_thickness=2.0, lining_thickness_book=3.0)
    assert judge_part(BOOK, strict).outcome == "replace"


def test_a_reading_over_its_limit_speaks_though_nobody_wrote_a_finding() -> None:
    verdict = judge_part(BOOK, facts_from("safety rim steel", look=["bare"], rim_lateral=4.5, rim_radial=1))
    assert ("bent-rim-over", "examine-first") in told(verdict)
    assert next(r for r in verdict.rulings if r.rule == "bent-rim-over").finding is None


def test_the_ruling_keeps_the_step_that_was_written() -> None:
    verdict = judge_part(BOOK, facts_from("safety rim steel", ["bent 1 bare"], rim_lateral=4.5, rim_radial=1))
    assert verdict.rulings[0].rule == "bent-rim-over"
    assert verdict.rulings[0].finding == ("bent", 1, "bare")


def test_the_nearest_row_wins() -> None:
    """A row naming the component beats one naming the class, and that beats a default."""
    named = judge_part(BOOK, facts_from("safety bush copper-alloy B013", ["wear 3 bare"]))
    classed = judge_part(BOOK, facts_from("safety bush copper-alloy", ["wear 3 bare"]))
    neither = judge_part(BOOK, facts_from("safety slider steel", ["wear 3 bare"], crack_test=0))
    assert [v.rulings[0].rule for v in (named, classed, neither)] == [
        "wear-swinging-arm-bush", "wear-bush", "default-safety-34",
    ]  # fmt: skip


def test_two_findings_two_reasons() -> None:
    verdict = judge_part(
        BOOK, facts_from("safety tinware steel", ["broken_tab 3 bare", "paint_loss 3 bare", "dent 2 bare"])
    )
    assert told(verdict) == [("dent-sheet", "repair"), ("paint-renew", "repair"), ("tab-sheet", "repair")]


def test_the_same_finding_twice_is_one_reason() -> None:
    verdict = judge_part(BOOK, facts_from("safety tinware steel", ["dent 2 bare", "dent 2 bare"]))
    assert told(verdict) == [("dent-sheet", "repair")]


def test_the_harder_of_two() -> None:
    assert harder("repair", "examine-first") == "examine-first"
    assert harder("reuse", "not-looked-at") == "not-looked-at"


@pytest.mark.parametrize(
    ("part", "said"),
    [
        (PartFacts("X", "safety", "frame", "steel", (("crack", 5, "bare"),)), "step 5"),
        (PartFacts("X", "safety", "frame", "steel", (("gloom", 1, "bare"),)), "gloom"),
        (PartFacts("X", "safety", "frame", "steel", (("crack", 1, "seen"),)), "seen 'seen'"),  # type: ignore[arg-type]
        (PartFacts("X", "safety", "frame", "steel", looks=("squint",)), "squint"),  # type: ignore[arg-type]
        (PartFacts("X", "safety", "gizmo", "steel", (("crack", 1, "bare"),)), "gizmo"),
        (PartFacts("X", "safety", "frame", "mithril", (("crack", 1, "bare"),)), "mithril"),
    ],
)
def test_words_the_rules_do_not_know_are_refused(part: PartFacts, said: str) -> None:
    with pytest.raises(BadValue, match=said):
        judge_part(BOOK, part)
