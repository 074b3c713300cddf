"""How a part was looked at, and what that is worth once the part turns out to be another one.

That nobody is credited with a bare look nobody took is judgement; that paint and dirt hide cracks is common practice,
no source (penetrant and magnetic testing, ISO 3452-1 and ISO 9934-1, begin with a clean bare surface).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from survey.errors import BadValue
from survey.history.verbs import list_events
from survey.model.parts import GradedPart
from survey.model.schedule import Component
from survey.parts.finding_verbs import add_finding, add_look, add_reading, get_default_seen
from survey.parts.verbs import add_part, change_part, get_part
from survey.schedule.verbs import list_kinds
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey

KINDS = ("autocycle", "lightweight", "girder-single")


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren") as made:
        yield made


def last_act(survey: Survey) -> list[tuple[str, str]]:
    events = list_events(survey)
    return [(event.verb, event.entity) for event in events if event.batch == events[-1].batch]


def renamed(survey: Survey, part_id: int, component: str | None) -> GradedPart:
    change_part(survey, part_id, component=component)
    return get_part(survey, part_id)


@pytest.mark.parametrize("kind", KINDS)
def test_no_safety_part_counts_as_seen_bare_unless_somebody_says_so(kind: str) -> None:
    (catalogue,) = [one for one in list_kinds() if one.kind == kind]
    for one in (*catalogue.components, *catalogue.extras):
        assert get_default_seen(one) == ("paint" if one.duty == "safety" else "bare"), one


@pytest.mark.parametrize("finish", ["", "bare", "polished", "phosphated", "left as forged"])
def test_the_finish_it_should_have_makes_no_look_better(finish: str) -> None:
    fork = Component("X1", "Fork", "Fork", None, 1, "safety", "fork", "steel", finish=finish)
    assert get_default_seen(fork) == "paint"


def test_a_part_without_a_name_counts_as_seen_through_a_coat(survey: Survey) -> None:
    part = add_part(survey, None, label="strange lug")
    assert get_default_seen(None) == "paint"
    assert add_look(survey, part.id).seen == "paint"
    assert add_finding(survey, part.id, "wear", 1).seen == "paint"


def test_an_unsaid_look_passes_no_safety_part(survey: Survey) -> None:
    plate = add_part(survey, "B076")
    finding = add_finding(survey, add_part(survey, "B006").id, "corrosion_surface", 1)
    barrel = add_finding(survey, add_part(survey, "B110").id, "corrosion_surface", 1)
    assert add_look(survey, plate.id).seen == "paint"
    assert get_part(survey, plate.id).verdict.outcome == "not-looked-at"
    assert (finding.seen, barrel.seen) == ("paint", "bare")


def test_a_clean_look_does_not_outlive_the_name_it_was_taken_under(survey: Survey) -> None:
    cover_screw = add_part(survey, "B134")
    add_look(survey, cover_screw.id)
    assert get_part(survey, cover_screw.id).verdict.grade == "reuse"
    one = renamed(survey, cover_screw.id, "B031")
    assert one.looks == () and one.verdict.outcome == "not-looked-at"
    assert last_act(survey) == [("change part", "part"), ("change part", "look")]


def test_naming_an_unknown_part_asks_for_a_look_at_what_it_is(survey: Survey) -> None:
    """Even a look that was said to be bare: nobody knew where such a part fails."""
    part = add_part(survey, None, label="strange lug")
    add_look(survey, part.id, seen="bare")
    assert renamed(survey, part.id, "B043").verdict.outcome == "not-looked-at"


def test_a_finding_said_to_be_seen_bare_stays_so_when_the_part_gets_its_name(survey: Survey) -> None:
    part = add_part(survey, None, label="bent bar")
    add_finding(survey, part.id, "bent", 3, seen="bare")
    (finding,) = renamed(survey, part.id, "B052").findings
    assert finding.seen == "bare"


@pytest.mark.parametrize("by_way_of", [[], [None]], ids=["straight", "by way of unknown"])
def test_a_bare_look_that_may_have_been_assumed_passes_no_safety_part(
    survey: Survey, by_way_of: list[str | None]
) -> None:
    part = add_part(survey, "B134")
    add_finding(survey, part.id, "thread_damage", 1)
    for component in by_way_of:
        renamed(survey, part.id, component)
    one = renamed(survey, part.id, "B031")
    assert [finding.seen for finding in one.findings] == ["paint"]
    assert one.verdict.outcome == "not-looked-at"


def test_readings_of_another_part_and_its_makers_figures_go(survey: Survey) -> None:
    part = add_part(survey, "B064")
    for name, value in (("worn-by", "0.4"), ("worn-by-book", "0.5"), ("rod-worn", "2"), ("crack-test", "0")):
        add_reading(survey, part.id, name, value)
    assert {reading.name for reading in renamed(survey, part.id, "B074").readings} == {"worn-by", "crack-test"}
    assert renamed(survey, part.id, None).readings == ()


def test_changing_anything_else_leaves_the_looks_alone(survey: Survey) -> None:
    part = add_part(survey, "B134")
    add_look(survey, part.id)
    change_part(survey, part.id, component="B134", box="box 2", note="one of six")
    assert len(get_part(survey, part.id).looks) == 1


@pytest.mark.parametrize(
    ("component", "name", "written", "said"),
    [
        ("B078", "lining-thickness", "9999 mm", "cannot be 9999 mm"),
        ("B078", "lining-thickness", "0 mm", "cannot be 0 mm"),
        ("B078", "lining-thickness", "-3 mm", "less than nothing"),
        ("B078", "lining-thickness", "3 in", "cannot be 76.2 mm"),
        ("B078", "lining-thickness-book", "1.5 m", "cannot be 1500 mm"),
        ("B098", "chain-stretch", "90 %", "cannot be 90 percent"),
        ("B067", "rim-lateral", "4 in", "cannot be 101.6 mm"),
        ("B006", "crack-test", "9999", "cannot be 9999 cracks"),
        ("B006", "crack-test", "-1", "less than nothing"),
        ("B006", "crack-test", "0.5", "not a whole number"),
        ("B059", "broken-strands", "1/2", "not a whole number"),
        ("B137", "leak-test", "3 mm", "a count is wanted"),
    ],
)
def test_what_no_part_can_measure_is_refused(
    survey: Survey, component: str, name: str, written: str, said: str
) -> None:
    part = add_part(survey, component)
    with pytest.raises(BadValue, match=said) as refusal:
        add_reading(survey, part.id, name, written)
    assert "did you mean another unit" in refusal.value.next_step or "cannot be" not in said
    assert get_part(survey, part.id).readings == ()


def test_a_whole_count_is_taken(survey: Survey) -> None:
    part = add_part(survey, "B006")
    assert add_reading(survey, part.id, "crack-test", "2").value == 2
