"""Stuck, seized and snapped things: points, bands, ways and cautions.

What is said of metals and ways is common practice, no source; the points and bands are judgement. The one figure of a
worked job is from the trade notes that the scale was drawn up from: 0-2 bench tools, 3-4 heat and oil over days, 5-6
experienced hands, 7-8 outside help, 9 and more machine shop or spark erosion. That nothing hot goes near petrol: HSE
INDG314 (rev1), 2013; that cadmium is not heated: HSE EIS31 (rev1).
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from survey.build_order.plan import BuildFacts, make_plan
from survey.build_order.waiting import find_waiting_steps
from survey.data_files import read_data_text
from survey.errors import BadValue, BrokenKnowledge, NoSuchThing
from survey.history.verbs import list_acts, list_events, redo_act, undo_act
from survey.model.build_order import BeforePair, BuildStep
from survey.parts.verbs import add_part, list_parts, remove_part
from survey.report.verbs import write_report
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.verbs import list_components
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.stuck.data import load_removal_scale, parse_removal_scale
from survey.stuck.removal import (
    EXCLUSIVE_GROUPS,
    LEAVE_ALONE,
    Holder,
    Score,
    describe_score,
    score_removal,
    validate_record,
)
from survey.stuck.verbs import add_stuck, change_stuck, list_stuck, remove_stuck
from survey.vocabulary import load_vocabulary
from web.main import main

SCALE = load_removal_scale()
WORDS = [one.id for one in SCALE.conditions]
ALLOY_BARREL = Holder("running", "barrel", "aluminium")


def scored(thing: str, *seen: str, tried: tuple[str, ...] = (), holder: Holder = ALLOY_BARREL) -> Score:
    validate_record(SCALE, thing, seen, tried)
    return score_removal(SCALE, thing, seen, tried, holder)


@pytest.mark.parametrize(
    ("points", "label"),
    [
        (0, "Bench tools"), (2, "Bench tools"), (3, "Heat and oil over days"), (4, "Heat and oil over days"),
        (5, "Experienced hands"), (6, "Experienced hands"), (7, "Outside help"), (8, "Outside help"),
        (9, "Machine shop or spark erosion"), (15, "Machine shop or spark erosion"),
    ],
)  # fmt: skip
def test_the_bands_are_those_of_the_trade_notes(points: int, label: str) -> None:
    assert [band.label for band in SCALE.bands if band.least <= points][-1] == label


def test_a_stud_snapped_flush_in_a_blind_alloy_hole_after_oil_and_heat_is_for_outside_help() -> None:
    """Worked from the notes' points: 3 (steel in alloy) + 2 (flush) + 1 (blind) + 1 (had oil and heat) = 7."""
    found = scored("fastener", "steel-in-alloy", "flush", "blind", tried=("oil", "heat"))
    assert (found.total, found.band.label, found.unsaid, found.next_way) == (7, "Outside help", (), None)
    assert describe_score("Exhaust stud", found) == "Exhaust stud: 7 points, outside help"
    assert [danger.id for danger in found.dangers] == ["standing", "heat", "alloy"]


def test_a_broken_extractor_in_it_is_for_spark_erosion() -> None:
    """3 + 2 + 0 + 4 = 9: the notes say of an extractor broken off in the hole that it needs spark erosion."""
    found = scored("fastener", "steel-in-alloy", "flush", "through", "broken-tool")
    assert (found.total, found.band.id) == (9, "machine-shop")


def test_a_tube_cut_off_flush_in_its_socket_scores_as_what_it_is() -> None:
    """1 (steel in steel) + 2 (flush) + 0 (open behind) = 3: no thread to be of either hand, no hexagon to be chewed."""
    tube = scored("tube", "steel-in-steel", "flush", "through", tried=("clean", "shock", "oil", "heat"))
    assert (tube.total, tube.band.id) == (4, "days"), "oil and heat in vain add their point"
    assert tube.next_way is not None
    assert tube.next_way.id == "slit", "it is hollow: it is slit and folded in, nothing is welded to it"
    for word in ("chewed", "hand-unknown", "broken-tool"):
        with pytest.raises(BadValue):
            validate_record(SCALE, "tube", [word], [])
    with pytest.raises(BadValue):
        validate_record(SCALE, "tube", [], ["extractor"])
    assert score_removal(SCALE, "tube", ["flush", "chewed", "hand-unknown"], [], ALLOY_BARREL).total == 2


def test_what_nobody_has_said_makes_the_sum_the_least_it_can_be() -> None:
    found = scored("fastener", "flush")
    assert found.unsaid == ("metals", "hole")
    assert describe_score("Stud", found) == "Stud: at least 2 points, bench tools"


def test_the_ways_come_in_their_order_and_no_extractor_is_ever_proposed() -> None:
    tried: tuple[str, ...] = ()
    proposed = []
    while (way := scored("fastener", "steel-in-steel", "proud", "through", tried=tried).next_way) is not None:
        proposed.append(way.id)
        tried = (*tried, way.id)
    assert proposed == ["clean", "shock", "oil", "heat", "weld-nut"]


def test_nothing_hot_is_proposed_where_no_heat_is_allowed() -> None:
    cold = scored("fastener", "steel-in-steel", "flush", "through", "no-heat", tried=("clean", "shock", "oil"))
    assert cold.next_way is None
    assert "heat" not in [danger.id for danger in cold.dangers]


@pytest.mark.parametrize(
    ("holder", "danger"),
    [
        (Holder("safety", "tank", "steel"), "fuel"),
        (Holder("safety", "float", "copper-alloy"), "fuel"),
        (Holder("running", "casting", "zinc"), "alloy"),
        (Holder("running", "clutch", "steel"), "springs"),
        (Holder("running", "stay", "spring-steel"), "springs"),
        (Holder("safety", "frame", "steel"), "safety"),
    ],
)
def test_the_part_brings_its_own_cautions(holder: Holder, danger: str) -> None:
    found = {one.id: one for one in scored("fastener", "whole", holder=holder).dangers}
    assert danger in found
    assert "standing" in found
    assert all(one.source for one in found.values())


def test_a_holder_nobody_knows_counts_as_a_safety_part() -> None:
    assert "safety" in [one.id for one in scored("fastener", "whole", holder=Holder()).dangers]


def test_every_row_says_who_says_so_and_that_points_are_judgement() -> None:
    assert {one.source for one in SCALE.conditions} == {"common practice, no source"}
    assert {one.sure for one in (*SCALE.conditions, *SCALE.bands)} == {"judgement"}


def test_every_sum_has_one_band_by_brute_force() -> None:
    groups = [[one for one in SCALE.conditions if one.group == group] for group in EXCLUSIVE_GROUPS]
    flags = [one for one in SCALE.conditions if not one.group]
    for chosen in itertools.product(*groups):
        for many in range(len(flags) + 1):
            for more in itertools.combinations(flags, many):
                every = (*chosen, *more)
                found = score_removal(SCALE, "fastener", [one.id for one in every], (), ALLOY_BARREL)
                assert found.total == sum(one.points for one in every)
                above = [band.least for band in SCALE.bands if band.least > found.band.least]
                assert found.band.least <= found.total < min(above, default=100)
                assert found.next_way is None or found.band.id not in LEAVE_ALONE


@given(st.sets(st.sampled_from(WORDS)), st.sampled_from(WORDS), st.sampled_from(sorted(SCALE.things)))
def test_what_is_seen_besides_never_makes_it_easier(seen: set[str], more: str, thing: str) -> None:
    before, after = (score_removal(SCALE, thing, words, (), ALLOY_BARREL) for words in (seen, seen | {more}))
    assert after.total >= before.total
    assert after.band.least >= before.band.least
    assert {one.id for one in after.dangers} >= {"standing"}


@pytest.mark.parametrize(
    ("thing", "seen", "tried"),
    [("rock", (), ()), ("fastener", ("loose",), ()), ("fastener", ("flush", "below"), ()), ("tube", (), ("weld-nut",))],
)
def test_what_cannot_be_so_is_refused(thing: str, seen: tuple[str, ...], tried: tuple[str, ...]) -> None:
    with pytest.raises(BadValue):
        validate_record(SCALE, thing, seen, tried)


@pytest.mark.parametrize(
    ("old", "new", "names"),
    [
        ('group = "end"', 'group = "ends"', "'ends' is no group"),
        ("points = 3", 'colour = "red"', "row steel-in-alloy"),
        ("least = 0", "least = 4", "they begin at 4"),
        ('things = ["tube"]', 'things = ["pipe"]', "'pipe' is no thing"),
        ('classes = ["tank"', 'classes = ["tanks"', "'tanks' is not known"),
        ('sure = "judgement"', 'sure = ""', "cell sure: it is not there, or empty"),
        ("[[thing]]", "[[gadget]]", "there is no such section"),
    ],
)
def test_a_faulty_scale_is_named(old: str, new: str, names: str) -> None:
    with pytest.raises(BrokenKnowledge, match=names):
        parse_removal_scale(read_data_text("removal.toml").replace(old, new, 1), load_vocabulary())


def test_what_waits_is_counted_through_hard_pairs_alone() -> None:
    steps = [BuildStep(name, name, "build", parts) for name, parts in
             (("a", ("B1",)), ("b", ()), ("c", ()), ("d", ()), ("e", ("B1",)))]  # fmt: skip
    pairs = [BeforePair("1", "a", "b", ""), BeforePair("2", "b", "c", ""), BeforePair("3", "c", "d", "", hard=False)]
    found = find_waiting_steps(make_plan(steps, pairs, BuildFacts({"B1"}, said={"e": "done"})), "B1")
    assert ([step.id for step in found.direct], found.total) == (["a"], 3)
    assert find_waiting_steps(make_plan(steps, pairs, BuildFacts({"B1"})), "B2").total == 0


# --- the survey


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Ferryman", by="Wren") as made:
        barrel = next(one for one in list_components(made) if one.part_class == "barrel")
        add_part(made, barrel.id)
        add_part(made, None, label="strange lug")
        yield made


def test_a_stuck_thing_is_recorded_changed_and_taken_back(survey: Survey) -> None:
    grades = [one.verdict for one in list_parts(survey)]
    said = add_stuck(survey, 1, "exhaust stud", conditions=["steel-in-alloy", "flush", "blind"], tried=["oil"])
    (one,) = list_stuck(survey)
    assert (one.said, one.score.total, one.part.part.id) == (said, 6, 1)
    change_stuck(survey, said.id, tried=["oil", "heat"])
    assert list_stuck(survey, 1)[0].score.band.id == "outside"
    change_stuck(survey, said.id, out=True)
    assert list_acts(survey)[0].words.startswith("It is out: exhaust stud, part 1")
    assert list_acts(survey, part=1)[0].words.startswith("It is out")
    for _ in range(3):
        undo_act(survey)
    assert list_stuck(survey) == []
    for _ in range(3):
        redo_act(survey)
    assert list_stuck(survey)[0].said.out
    remove_stuck(survey, said.id)
    assert list_stuck(survey) == []
    assert [one.verdict for one in list_parts(survey)] == grades, "the score never grades a part"
    assert check_survey(survey) == []


def test_the_hardest_comes_first_and_what_is_out_last(survey: Survey) -> None:
    easy = add_stuck(survey, 1, "screw", conditions=["brass"])
    hard = add_stuck(survey, 2, "stem", thing="tube", conditions=["steel-in-steel", "flush"])
    out = add_stuck(survey, 1, "stud", conditions=["steel-in-alloy", "below"])
    change_stuck(survey, out.id, out=True)
    assert [one.said.id for one in list_stuck(survey)] == [hard.id, easy.id, out.id]
    remove_part(survey, 2)
    assert [one.said.id for one in list_stuck(survey)] == [easy.id, out.id]


def test_what_cannot_be_said_of_it_is_refused(survey: Survey) -> None:
    said = add_stuck(survey, 1, "stud", conditions=["flush"])
    events = len(list_events(survey))
    with pytest.raises(NoSuchThing):
        add_stuck(survey, 9, "stud")
    with pytest.raises(NoSuchThing):
        change_stuck(survey, 9, note="x")
    with pytest.raises(BadValue):
        add_stuck(survey, 1, " ")
    for fields in ({"thing": "rock"}, {"conditions": ["flush", "proud"]}, {"colour": "red"}, {"what": ""}):
        with pytest.raises(BadValue):
            change_stuck(survey, said.id, **fields)
    assert len(list_events(survey)) == events


def test_the_report_tells_points_and_cautions_together(survey: Survey, tmp_path: Path) -> None:
    add_stuck(survey, 1, "exhaust stud", conditions=["steel-in-alloy", "flush", "through"], tried=["clean"],
                    holds="the silencer")  # fmt: skip
    told = json.loads(write_report(survey, tmp_path / "r.json").read_text("utf-8"))
    (line,) = [one for a in told["assemblies"] for part in a["parts"] for one in part["stuck"]]
    assert line["head"] == "Exhaust stud: 5 points, experienced hands"
    assert "The points are judgement" in line["text"]
    assert "the silencer" in line["text"]
    assert "Alloy shows no colour" in line["caution"]
    for name in ("r.csv", "r.html"):
        assert "5 points, experienced hands" in write_report(survey, tmp_path / name).read_text("utf-8")
    assert write_report(survey, tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")


def test_the_command_records_lists_and_shows_the_scale(survey: Survey) -> None:
    folder = str(survey.folder)

    def run(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(main, ["stuck", folder, *words], catch_exceptions=False)
        assert result.exit_code == code, result.output
        return result.output

    assert "Nothing is recorded" in run()
    assert "at least 5 points" in run("1", "--what", "exhaust stud", "--is", "steel-in-alloy", "--is", "flush")
    (one,) = json.loads(run("--json"))
    assert (one["points"], one["at_least"], one["still_to_say"], one["next"]) == (5, True, ["hole"], "clean")
    assert one["cautions"]
    assert "6 points" in run("--number", str(one["number"]), "--is", "steel-in-alloy", "--is", "flush", "--is", "blind")
    assert "Exhaust stud: out" in run("--number", str(one["number"]), "--out")
    assert "Nothing is recorded" in run("--number", str(one["number"]), "--remove")
    assert "spark erosion" in run("--scale")
    assert len(json.loads(run("--scale", "--json"))["conditions"]) == len(SCALE.conditions)
    run("--what", "stud", code=2)
    run("--is", "flush", code=2)
    run("--remove", code=2)
