"""Does a part belong: evidence, weights, answers, conflicts, what would settle it, and what can be passed on.

That these things speak for or against a part, and their order (the parts list above wear that meets its neighbour, that
above a dated photograph, that above castings, threads and finish, and somebody's word last), is common practice, no
source. The weights and sums are judgement. Nothing here is from a published table.
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
from PIL import Image

from survey.belonging.data import load_belonging_scale, parse_belonging_scale
from survey.belonging.verbs import (
    add_evidence,
    get_belonging,
    keep_as_pattern,
    list_belongings,
    list_parts_to_pass_on,
    remove_evidence,
)
from survey.belonging.weighing import ANSWERS, Weighing, describe_sum, list_kinds_present, weigh_evidence
from survey.data_files import read_data_text
from survey.errors import BadValue, BrokenKnowledge, NoSuchThing
from survey.finding_kinds import load_finding_kinds
from survey.history.bin_verbs import put_back
from survey.history.verbs import list_acts, list_events, redo_act, undo_act
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part, get_part, list_parts, remove_part, set_own_grade
from survey.photos.verbs import remove_photo, take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.verbs import list_gaps, set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from web.main import main

SCALE = load_belonging_scale()
KINDS = sorted(SCALE.kinds)
SIDES = {side: [kind.id for kind in SCALE.kinds.values() if kind.side == side] for side in ("for", "against", "period")}
WORD = [kind.id for kind in SCALE.kinds.values() if kind.word]
some_kinds = st.sets(st.sampled_from(KINDS))


def rank(found: Weighing) -> int:
    """The better the answer, the higher."""
    return len(ANSWERS) - ANSWERS.index(found.verdict.id)


@pytest.mark.parametrize(
    ("kinds", "answer", "total"),
    [
        ((), "unknown", 0),
        (("number",), "belongs", 6),
        (("wear",), "probably", 5),
        (("wear", "finish"), "belongs", 7),
        (("casting", "thread", "finish"), "probably", 7),
        (("said",), "probably", 1),
        (("wear", "said"), "probably", 6),
        (("said-other",), "unknown", -1),
        (("alternative",), "period-alternative", 0),
        (("alternative", "casting-other"), "period-alternative", -2),
        (("thread-other",), "another-machine", -3),
        (("filed", "said-other"), "unknown", -3),
        (("other-number", "alternative"), "period-alternative", -6),
        (("number", "wrong-hand"), "probably", 2),
    ],
)
def test_what_evidence_comes_to(kinds: tuple[str, ...], answer: str, total: int) -> None:
    """Worked by hand from the weights; three shared habits of a trade never make "belongs" without one proof."""
    found = weigh_evidence(SCALE, kinds)
    assert (found.verdict.id, found.total) == (answer, total)


def test_the_ladder_stands_in_its_order() -> None:
    """Common practice, no source: list, wear, dated photograph, castings, then threads and finish, then word."""
    ladder = ["number", "wear", "photograph", "casting", "thread", "said"]
    weights = [SCALE.kinds[name].weight for name in ladder]
    assert weights == sorted(weights, reverse=True)
    assert len(set(weights)) == len(weights)
    assert {SCALE.kinds[name].proves for name in ladder[:3]} == {True}
    assert not any(SCALE.kinds[name].proves for name in ladder[3:])


@given(some_kinds, st.sampled_from(SIDES["for"] + SIDES["period"]))
def test_evidence_for_never_lowers_the_answer(kinds: set[str], more: str) -> None:
    assert rank(weigh_evidence(SCALE, kinds | {more})) >= rank(weigh_evidence(SCALE, kinds))


@given(some_kinds, st.sampled_from(SIDES["against"]))
def test_evidence_against_never_raises_the_answer(kinds: set[str], more: str) -> None:
    assert rank(weigh_evidence(SCALE, kinds | {more})) <= rank(weigh_evidence(SCALE, kinds))


@given(some_kinds, st.sets(st.sampled_from(WORD)))
def test_word_alone_moves_no_part_in_or_out(kinds: set[str], words: set[str]) -> None:
    """Hearsay never gives more than "probably", and never sends a part away."""
    without, with_words = weigh_evidence(SCALE, kinds - set(WORD)), weigh_evidence(SCALE, (kinds - set(WORD)) | words)
    for answer in ("belongs", "another-machine"):
        assert (with_words.verdict.id == answer) == (without.verdict.id == answer)


def test_the_observation_that_would_settle_it_by_brute_force() -> None:
    """Over every set of up to three kinds: it is unmade, it can change the answer, and no stronger one can."""
    for many in range(4):
        for kinds in itertools.combinations(KINDS, many):
            found = weigh_evidence(SCALE, kinds)
            made = {SCALE.kinds[kind].look for kind in kinds}
            could = {
                look.id: max(changing)
                for look in SCALE.looks
                if look.id not in made and (changing := _changing(look.id, kinds, found))
            }
            if found.verdict.id == "belongs" or not could:
                assert found.settles is None
                continue
            assert found.settles is not None
            assert could[found.settles.id] == max(could.values())


def _changing(look: str, kinds: tuple[str, ...], now: Weighing) -> list[int]:
    """Weights of the outcomes of an observation that would change the answer."""
    return [
        kind.weight
        for kind in SCALE.kinds.values()
        if kind.look == look and weigh_evidence(SCALE, (*kinds, kind.id)).verdict.id != now.verdict.id
    ]


def test_the_arithmetic_is_shown_and_adds_up() -> None:
    found = weigh_evidence(SCALE, ["number", "other-colour", "alternative"])
    assert (
        describe_sum(found)
        == "6 (its number is in the parts list for this machine) − 2 (another colour lies beneath) = 4"
    )
    assert describe_sum(weigh_evidence(SCALE, ["filed"])) == "− 2 (it was filed, bent or forced to go on) = −2"
    assert describe_sum(weigh_evidence(SCALE, [])) == describe_sum(weigh_evidence(SCALE, ["alternative"])) == ""


@given(some_kinds)
def test_a_kind_counts_once_and_a_later_word_counts_nothing(kinds: set[str]) -> None:
    found = weigh_evidence(SCALE, [*kinds, *kinds, "of-a-later-teachest"])
    assert found == weigh_evidence(SCALE, kinds)
    signs = {"for": 1, "against": -1, "period": 0}
    assert found.total == sum(signs[SCALE.kinds[kind].side] * SCALE.kinds[kind].weight for kind in kinds)


def test_both_outcomes_of_one_observation_are_told() -> None:
    assert [look.id for look in weigh_evidence(SCALE, ["finish", "other-colour"]).torn] == ["finish"]
    assert weigh_evidence(SCALE, ["finish", "wrong-hand"]).torn == ()


def test_a_finding_says_what_it_says() -> None:
    told = {step: list_kinds_present(SCALE, [], [("wrong_part", step)]) for step in (1, 2, 3, 4)}
    assert told == {1: {"alternative"}, 2: frozenset(), 3: {"filed"}, 4: {"foreign"}}


def test_every_row_says_who_says_so_and_that_points_are_judgement() -> None:
    assert {kind.source for kind in SCALE.kinds.values()} == {"common practice, no source"}
    assert {kind.sure for kind in SCALE.kinds.values()} == {"judgement"}
    assert any("lead" in look.careful for look in SCALE.looks), "scraping old paint carries its caution"


@pytest.mark.parametrize(
    ("old", "new", "names"),
    [
        ('side = "for"', 'side = "pro"', "'pro' is no side"),
        ('look = "number"', 'look = "numbers"', "'numbers' is no observation"),
        ("weight = 6", "weight = 0", "cell weight"),
        ("weight = 6", 'colour = "red"', "row number"),
        ('finding = "wrong_part"', 'finding = "wrong_parts"', "'wrong_parts'"),
        ("word = true", "word = true\nproves = true", "nobody's word proves"),
        ("down_to = -3", "down_to = 3", "do not fall"),
        ('id = "unknown"', 'id = "perhaps"', "the answers"),
        ('sure = "judgement"', 'sure = ""', "cell sure: it is not there, or empty"),
        ("[[look]]", "[[peep]]", "there is no such section"),
        ('id = "other-number"', 'id = "number"', "used already"),
    ],
)
def test_a_faulty_scale_is_named(old: str, new: str, names: str) -> None:
    findings = {kind.id for kind in load_finding_kinds()}
    with pytest.raises(BrokenKnowledge, match=names):
        parse_belonging_scale(read_data_text("belonging.toml").replace(old, new, 1), findings)


# --- the survey


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Ferryman", by="Wren") as made:
        path = tmp_path / "one.png"
        Image.new("RGB", (40, 30), "green").save(path)
        take_in_photos(made, [path])
        add_part(made, "B076")
        add_part(made, "B076", label="plate with a rib")
        add_part(made, None, label="strange lug")
        yield made


def answers(survey: Survey) -> list[str]:
    return [one.weighed.verdict.id for one in list_belongings(survey)]


def test_evidence_is_recorded_weighed_and_taken_back(survey: Survey) -> None:
    said = add_evidence(survey, 1, "number", note="1470-76", photo=1)
    add_evidence(survey, 3, "said", who="the seller")
    assert answers(survey) == ["belongs", "unknown", "probably"]
    one = get_belonging(survey, 1)
    assert one.said == (said,)
    assert (said.note, said.photo, said.by) == ("1470-76", 1, "Wren")
    assert get_part(survey, 1).part.photos == (1,), "a photo that shows evidence shows the part"
    assert list_acts(survey, part=3)[0].words.startswith("Evidence recorded: Somebody says it is off this machine")
    undo_act(survey)
    undo_act(survey)
    assert answers(survey) == ["unknown"] * 3
    redo_act(survey)
    remove_evidence(survey, said.id)
    assert answers(survey) == ["unknown"] * 3
    put_back(survey, "evidence", said.id)
    assert answers(survey)[0] == "belongs"
    remove_photo(survey, 1)
    assert get_belonging(survey, 1).said[0].photo is None
    assert check_survey(survey) == []


def test_belonging_never_touches_a_grade_or_a_gap(survey: Survey) -> None:
    before = [one.verdict for one in list_parts(survey)], list_gaps(survey)
    add_evidence(survey, 1, "number")
    add_evidence(survey, 2, "other-number")
    assert ([one.verdict for one in list_parts(survey)], list_gaps(survey)) == before


def test_two_plates_for_one_position_are_named_until_one_is_of_another_machine(survey: Survey) -> None:
    told = "Front brake plate: 2 are here and the machine has one position (parts 1 and 2)."
    assert [one.conflicts for one in list_belongings(survey)] == [(told,), (told,), ()]
    add_evidence(survey, 2, "other-number")
    assert not any(one.conflicts for one in list_belongings(survey))
    add_part(survey, "B068", quantity=20)
    add_part(survey, "B068", quantity=16)
    assert not any(one.conflicts for one in list_belongings(survey)), "36 spokes in two tins are what a wheel has"
    add_part(survey, "B068", quantity=4)
    assert "40 are here and the machine has 36 positions (parts 4, 5 and 6)" in get_belonging(survey, 5).conflicts[0]


def test_a_part_of_another_machine_is_passed_on_only_once_nothing_needs_it(survey: Survey) -> None:
    add_evidence(survey, 2, "other-number")
    assert [one.part.part.id for one in list_parts_to_pass_on(survey)] == [2]
    assert "pass nothing on as fit" in list_parts_to_pass_on(survey)[0].caution, "a brake plate is a safety part"
    assert list_parts_to_pass_on(survey)[0].held == "", "the other plate is here and of use"
    add_finding(survey, 1, "crack", 4, seen="bare")
    set_own_grade(survey, 1, "replace", "cracked through the anchor")
    assert list_parts_to_pass_on(survey)[0].held == "a pattern for Front brake plate: no other here is of use"
    remove_part(survey, 1)
    assert list_parts_to_pass_on(survey)[0].held == "a pattern for Front brake plate: no other here is of use"
    add_part(survey, "B076", box="with the welder")
    assert list_parts_to_pass_on(survey)[0].held == "", "what is away comes back"


def test_a_strange_part_is_held_while_it_is_a_pattern_for_what_is_missing(survey: Survey) -> None:
    add_evidence(survey, 3, "foreign")
    assert list_parts_to_pass_on(survey)[0].held == ""
    keep_as_pattern(survey, 3, "B008")
    set_position(survey, "B008", "missing")
    assert list_parts_to_pass_on(survey)[0].held == "a pattern for Rear subframe or loop (missing)"
    keep_as_pattern(survey, 3, "B170")
    assert list_acts(survey)[0].words == "Kept as a pattern: part 3 (strange lug), for B170 Front mudguard"
    assert list_parts_to_pass_on(survey)[0].held == "a pattern for Front mudguard (not looked for)"
    keep_as_pattern(survey, 3, None)
    assert list_parts_to_pass_on(survey)[0].held == ""
    undo_act(survey)
    assert get_belonging(survey, 3).pattern is not None
    with pytest.raises(NoSuchThing):
        keep_as_pattern(survey, 1, None)
    with pytest.raises(NoSuchThing):
        keep_as_pattern(survey, 1, "B999")


def test_what_cannot_be_said_is_refused(survey: Survey) -> None:
    events = len(list_events(survey))
    with pytest.raises(BadValue):
        add_evidence(survey, 1, "dream")
    for part, photo in ((9, None), (1, 9)):
        with pytest.raises(NoSuchThing):
            add_evidence(survey, part, "number", photo=photo)
    with pytest.raises(NoSuchThing):
        remove_evidence(survey, 1)
    with pytest.raises(NoSuchThing):
        get_belonging(survey, 9)
    assert len(list_events(survey)) == events


def test_the_command_records_weighs_and_lists(survey: Survey) -> None:
    folder = str(survey.folder)

    def run(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(main, ["belongs", folder, *words], catch_exceptions=False)
        assert result.exit_code == code, result.output
        return result.output

    assert "the machine has one position" in run()
    told = run("1", "--because", "other-number", "--note", "1962 list")
    assert "from another machine" in told
    assert "It can be passed on" in told
    assert "Held back: a pattern for Rear subframe" in run("1", "--pattern", "B008")
    assert "Held back" not in run("1", "--no-pattern")
    (one,) = json.loads(run("--pass-on", "--json"))
    assert (one["part"], one["answer"], one["total"], one["pass_on"]) == (1, "another-machine", -6, True)
    assert one["evidence"][0]["note"] == "1962 list"
    assert one["settles"] == "wear"
    assert "No part is of another machine" in run("--pass-on", "--remove", str(one["evidence"][0]["number"]))
    assert "Its number is in the parts list" in run("--kinds")
    assert len(json.loads(run("--kinds", "--json"))["kinds"]) == len(SCALE.kinds)
    run("--because", "number", code=2)
    run("1", "--note", "x", code=2)
