"""The order of the build by both doors' verbs and by command: kept, taken back, refused in words."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from survey.build_order.verbs import (
    add_pair,
    disable_pair,
    enable_pair,
    get_plan,
    list_blocks,
    list_disabled_pairs,
    remove_pair,
    set_step_state,
)
from survey.errors import BadValue, LoopInOrder, NoSuchThing
from survey.history.verbs import list_acts, redo_act, undo_act
from survey.model.schedule import Component
from survey.parts.finding_verbs import add_look
from survey.parts.verbs import add_part, change_part, list_parts
from survey.schedule.verbs import add_component, set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from web.main import main

WHEEL, GUARD = "front-wheel-in-fork", "front-guard-over-wheel"


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren") as made:
        yield made


def state(survey: Survey, step: str) -> str:
    return next(one.state for one in get_plan(survey).steps if one.step.id == step)


def test_a_circle_is_refused_named_and_nothing_kept(survey: Survey) -> None:
    """Common practice, no source: where the guard sits between the blades, it goes over the wheel first."""
    with pytest.raises(LoopInOrder) as refused:
        add_pair(survey, WHEEL, GUARD, "it looked easier")
    assert "Take the front wheel up into the fork" in refused.value.sentence
    assert "Lay the front guard over the front wheel" in refused.value.sentence
    assert "guard-before-wheel" in refused.value.next_step
    assert get_plan(survey).loops == ()
    assert survey.store.rows("SELECT * FROM before_pair") == []


def test_a_machine_that_goes_together_otherwise_puts_the_catalogues_pair_out_of_use(survey: Survey) -> None:
    disable_pair(survey, "guard-before-wheel", "a high guard on the yoke")
    disable_pair(survey, "guard-before-wheel", "a high guard, bolted to the yoke")
    assert [(pair.id, why) for pair, why in list_disabled_pairs(survey)] == [
        ("guard-before-wheel", "a high guard, bolted to the yoke")
    ]
    add_pair(survey, WHEEL, GUARD, "the guard bolts on last")
    told = [one.step.id for one in get_plan(survey).steps]
    assert told.index(WHEEL) < told.index(GUARD)
    with pytest.raises(LoopInOrder, match="round in a circle"):
        enable_pair(survey, "guard-before-wheel")
    remove_pair(survey, 1)
    enable_pair(survey, "guard-before-wheel")
    assert list_disabled_pairs(survey) == ()


@pytest.mark.parametrize(
    "pair", ["vapour-before-heat", "cracks-before-prime", "numbers-before-blast", "weld-before-plate"]
)
def test_what_keeps_somebody_from_harm_stays_in_use(survey: Survey, pair: str) -> None:
    with pytest.raises(BadValue, match="stays in use"):
        disable_pair(survey, pair, "in a hurry")


def test_a_component_named_in_a_pair_becomes_a_step(survey: Survey) -> None:
    add_component(survey, Component("P01", "Legshield bracket", "Cycle parts", None, 1, "cosmetic", "trim", "steel"))
    pair = add_pair(survey, "P01", "exhaust-hung", "the pipe hides its bolt", hard=False)
    assert (pair.own, pair.hard, pair.source) == (1, False, "the owner, Wren")
    add_pair(survey, "B160", "P01", "the ear bolts through it")
    (mine,) = (one for one in get_plan(survey).steps if one.step.id == "P01")
    assert mine.step.label == "Put on: Legshield bracket"
    assert [(need.step.id, need.pair.because) for need in mine.needs] == [("B160", "the ear bolts through it")]
    assert [lack.component.id for lack in mine.lacks] == ["P01"]


@pytest.mark.parametrize(
    ("first", "then", "reason", "refused"),
    [
        ("head-cup-in", "fork-in-frame", "x", NoSuchThing), ("head-cups-in", "B999", "x", NoSuchThing),
        ("head-cups-in", "fork-in-frame", "  ", BadValue), ("B160", "B160", "x", BadValue),
    ],
)  # fmt: skip
def test_what_cannot_be_a_pair_is_refused(
    survey: Survey, first: str, then: str, reason: str, refused: type[Exception]
) -> None:
    with pytest.raises(refused):
        add_pair(survey, first, then, reason)


def test_what_is_not_there_is_named_with_what_is_near(survey: Survey) -> None:
    with pytest.raises(NoSuchThing) as near:
        add_pair(survey, "head-cup-in", "fork-in-frame", "x")
    assert "head-cups-in" in near.value.next_step
    with pytest.raises(NoSuchThing) as pair:
        disable_pair(survey, "cups-before-forks", "x")
    assert "cups-before-fork" in pair.value.next_step
    with pytest.raises(NoSuchThing):
        remove_pair(survey, 3)
    with pytest.raises(NoSuchThing, match="is in use"):
        enable_pair(survey, "cups-before-fork")
    with pytest.raises(BadValue, match="needs its reason"):
        disable_pair(survey, "cups-before-fork", " ")


def test_steps_are_done_not_needed_and_open_again(survey: Survey) -> None:
    for component in ("B006", "B032", "B033"):
        add_part(survey, component)
        add_look(survey, len(list_parts(survey)), seen="bare")
    assert state(survey, "head-cups-in") == "ready"
    set_step_state(survey, "head-cups-in", "done")
    set_step_state(survey, "head-cups-in", "done", "pressed by Wren")
    assert state(survey, "head-cups-in") == "done"
    set_step_state(survey, "head-cups-in", None)
    assert state(survey, "head-cups-in") == "ready"
    set_step_state(survey, "tank-heated", "not-needed")
    assert [step.id for step in get_plan(survey).not_needed] == ["tank-heated"]
    assert "tank-heated" not in {one.step.id for one in get_plan(survey).steps}
    with pytest.raises(BadValue, match="Every machine needs"):
        set_step_state(survey, "tank-vapour-free", "not-needed")
    with pytest.raises(BadValue):
        set_step_state(survey, "head-cups-in", "perhaps")  # type: ignore[arg-type]


def test_what_is_missing_blocks_and_what_is_found_does_not(survey: Survey) -> None:
    set_position(survey, "B032", "missing")
    (cup,) = (one for one in list_blocks(survey) if one.known)
    assert (cup.lack.component.id, cup.direct) == ("B032", ("head-cups-in",))
    assert cup.score == cup.waiting * cup.duty_weight * cup.scarcity
    part = add_part(survey, "B032", box="with the grinder")
    (away,) = (one for one in list_blocks(survey) if one.known)
    assert away.lack.words == "away: with the grinder"
    assert away.waiting == cup.waiting
    change_part(survey, part.id, box="box 2")
    assert not [one for one in list_blocks(survey) if one.known]


def test_all_of_it_is_taken_back_and_told(survey: Survey) -> None:
    add_pair(survey, "B160", "B171", "the stay hides its bolt")
    disable_pair(survey, "cups-before-fork", "cups are cast in")
    set_step_state(survey, "frame-square", "done")
    told = [act.words for act in list_acts(survey, last=3)]
    assert told == [
        "Step done: Prove the frame square and the fork straight",
        "Pair out of use: cups-before-fork",
        "Goes on before: B160 Headlamp shell before B171 Front mudguard stay",
    ]
    for _ in range(3):
        undo_act(survey)
    assert list_disabled_pairs(survey) == ()
    assert state(survey, "frame-square") == "blocked"
    assert not {"B160", "B171"} & {one.step.id for one in get_plan(survey).steps}
    for _ in range(3):
        redo_act(survey)
    assert {"B160", "B171"} <= {one.step.id for one in get_plan(survey).steps}
    assert state(survey, "frame-square") == "done"


def run(*words: object) -> Any:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_the_commands_promise_this_json(survey: Survey) -> None:
    set_position(survey, "B082", "missing")
    order = json.loads(run("order", survey.folder, "--done", "numbers-recorded", "--json").output)
    assert order["loops"] == []
    assert order["steps"][0]["step"] == "numbers-recorded"
    assert order["steps"][0]["state"] == "done"
    fork = next(one for one in order["steps"] if one["step"] == "fork-in-frame")
    assert fork["needs"] == ["head-cups-in"]
    assert fork["why"] == ["Without its cups the head has no bearing and the fork cannot hang true."]
    assert {"component": "B032", "label": "Head bearing cup, upper", "state": "not-looked", "earlier": True} in fork[
        "blocked_by"
    ]
    found = json.loads(run("blocks", survey.folder, "--json").output)
    assert found[0]["component"] == "B082"
    assert found[0]["state"] == "missing"
    assert found[0]["steps"] == ["tyres-on"]
    assert found[0]["score"] == found[0]["waiting"] * 3 * 2


def test_the_commands_in_words(survey: Survey) -> None:
    said = run("before", survey.folder, "B160", "front-guard-set", "--because", "the stay bolts through the ear")
    assert said.output == "The pair own-1 is in use.\n"
    pairs = run("order", survey.folder, "--pairs").output
    assert "the stay bolts through the ear" in pairs
    assert run("before", survey.folder, "--remove", 1).output == "The pair own-1 is out of use.\n"
    assert run("before", survey.folder, "--off", "cups-before-fork", "--because", "cast in").exit_code == 0
    assert "Out of use" in run("order", survey.folder, "--pairs").output
    assert json.loads(run("before", survey.folder, "--on", "cups-before-fork", "--json").output)["in_use"] is True
    assert run("before", survey.folder, "B160").exit_code == 2
    looped = run("before", survey.folder, WHEEL, GUARD, "--because", "x")
    assert (looped.exit_code, "round in a circle" in looped.output) == (1, True)
    for component in ("B006", "B104"):
        add_part(survey, component)
    shown = run("order", survey.folder, "--done", "primed", "--not-needed", "tank-heated", "--open", "primed").output
    assert "Next: Record every stamped number" in shown
    early = run("order", survey.folder, "--done", "primed").output
    assert "Done too early? Fill and prime, before: Have frame, fork and steering tested for cracks" in early
    set_position(survey, "B082", "missing")
    short, whole = run("blocks", survey.folder).output, run("blocks", survey.folder, "--all").output
    assert "Holding steps up: 1 thing" in short
    assert "look first" in short
    assert "Head bearing cup, upper" in whole


def test_before_alone_lists_every_pair_and_what_is_out_of_use_with_why(survey: Survey) -> None:
    disable_pair(survey, "cups-before-fork", "cast in")
    own = add_pair(survey, "B160", "front-guard-set", "the stay bolts through the ear")
    listed = {one["pair"]: one for one in json.loads(run("before", survey.folder, "--json").output)}
    assert len(listed) == len(get_plan(survey).pairs) + 1
    assert listed["cups-before-fork"]["in_use"] is False
    assert listed["cups-before-fork"]["out_because"] == "cast in"
    assert listed[own.id]["in_use"] is True
    assert listed[own.id]["because"] == "the stay bolts through the ear"
    told = run("before", survey.folder).output
    assert told == run("order", survey.folder, "--pairs").output
    assert "Out of use" in told
    assert "cast in" in told
