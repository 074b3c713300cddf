"""Trial fits, joints and how far the loose build has got.

Which joints a machine has, that a packing put in for now is forgotten and pulls the frame, and that nothing is forced
dry, is common practice, no source. Counts are checked by brute force.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from survey.belonging.verbs import add_evidence
from survey.build_order.verbs import list_blocks
from survey.data_files import read_data_text
from survey.errors import BadSize, BadValue, BrokenKnowledge, NoSuchThing
from survey.fits.data import load_joints, parse_joints
from survey.fits.joints import (
    OF_ONE_PIECE,
    Joint,
    Progress,
    assess_joints,
    count_progress,
    describe_progress,
    list_expected_joints,
    select_latest_fits,
)
from survey.fits.verbs import (
    add_fit,
    change_fit,
    describe_trial,
    list_fits,
    list_joints,
    list_packings,
    list_progress,
    remove_fit,
)
from survey.history.bin_verbs import put_back
from survey.history.verbs import list_acts, list_events, redo_act, undo_act
from survey.model.fits import FIT_RESULTS, Fit, Result
from survey.model.schedule import Component
from survey.parts.verbs import add_part, get_part, list_parts, remove_part
from survey.photos.verbs import take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.gaps import PositionCount
from survey.schedule.verbs import count_completeness, list_gaps, list_kinds, set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.today.verbs import list_next_things
from web.main import main

KINDS = ("autocycle", "lightweight", "girder-single")


def piece(name: str, assembly: str = "Fork", inside: str | None = None, part_class: str = "yoke") -> Component:
    return Component(name, f"{name} piece", assembly, inside, 1, "safety", part_class, "steel")


YOKE, LEG = piece("yoke"), piece("leg", part_class="stanchion")
JOINT = Joint("yoke", "leg", "The yoke holds the leg.", "common practice, no source")
HERE: Mapping[str, Sequence[int]] = {"yoke": [1], "leg": [2, 3]}


def stands(*fits: Fit, answering: Mapping[str, Sequence[int]] = HERE) -> tuple[str, tuple[int, ...]]:
    (found,) = assess_joints([YOKE, LEG], [JOINT], answering, fits)
    return found.state, found.untried


# --- the joints


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_its_joints_and_each_names_who_says_so(kind: str) -> None:
    found = load_joints(kind)
    assert len(found) >= 30
    assert {joint.source for joint in found} == {"common practice, no source"}
    assert all(joint.because for joint in found)


@pytest.mark.parametrize("kind", KINDS)
def test_the_schedule_says_joints_of_its_own_but_none_of_what_is_of_one_piece(kind: str) -> None:
    components = next(one for one in list_kinds() if one.kind == kind).components
    by_id = {one.id: one for one in components}
    found = list_expected_joints(components, load_joints(kind))
    pairs = {(joint.takes, joint.goes_in) for joint in found}
    assert len(pairs) == len(found)
    for one in components:
        if one.inside is not None and one.part_class not in OF_ONE_PIECE:
            assert (one.inside, one.id) in pairs
    assert not any(by_id[name].part_class in ("number", "paper") for pair in pairs for name in pair)


def test_the_steering_has_its_joints_on_every_kind() -> None:
    """Common practice, no source: the column turns in the head of the frame whatever the fork is."""
    for kind, takes, goes_in in (
        ("autocycle", "A006", "A025"),
        ("lightweight", "B006", "B029"),
        ("girder-single", "C007", "C025"),
    ):
        assert (takes, goes_in) in {(joint.takes, joint.goes_in) for joint in load_joints(kind)}


@pytest.mark.parametrize(
    ("old", "new", "names"),
    [
        ("B006+B029", "B006+B999", "no joint of lightweight"),
        ("B006+B029", "B006", "no joint of lightweight"),
        ("B006+B029", "B006+B006", "no joint of lightweight"),
        ("B029+B030", "B006+B029", "stands there already"),
        ("column-in-head,", "top-yoke-on-column,", "used already at line"),
        ("id,autocycle", "name,autocycle", "columns are not those"),
        ("The column turns", '"The column" turns', "not readable CSV"),
        (",no,B029+B030", ",,B029+B030", "row top-yoke-on-column, cell autocycle: ''"),
    ],
)
def test_a_faulty_file_is_named(old: str, new: str, names: str) -> None:
    known = {book.kind: {one.id for one in (*book.components, *book.extras)} for book in list_kinds()}
    with pytest.raises(BrokenKnowledge, match=names):
        parse_joints(read_data_text("joints.csv").replace(old, new, 1), known)


# --- how a joint stands


def test_a_joint_waits_for_its_parts_and_then_for_its_trials() -> None:
    assert stands(answering={"yoke": [1]}) == ("waits", ())
    assert stands() == ("not-tried", (2, 3))
    assert stands(Fit(1, 1, 2, "goes")) == ("not-tried", (3,)), "one leg of two is half a trial"
    assert stands(Fit(1, 1, 2, "goes"), Fit(2, 3, 1, "goes")) == ("goes", ()), "whichever takes the other"
    assert stands(Fit(1, 1, 2, "goes"), Fit(2, 1, 3, "packing")) == ("packing", ())
    assert stands(Fit(1, 1, 2, "does-not")) == ("does-not", (3,)), "what does not go is told at once"
    assert stands(Fit(1, 1, 2, "not-tried"), Fit(2, 1, 3, "not-tried")) == ("not-tried", (2, 3))
    assert stands(Fit(1, 2, 3, "goes")) == ("not-tried", (2, 3)), "two legs together are not this joint"


def test_the_latest_trial_of_a_pair_counts() -> None:
    first, later = Fit(1, 1, 2, "packing", packed="a washer"), Fit(2, 2, 1, "goes")
    assert select_latest_fits([later, first]) == (later,)
    assert stands(first, later, answering={"yoke": [1], "leg": [2]}) == ("goes", ())


def test_what_is_not_fitted_to_the_machine_has_no_joint() -> None:
    assert assess_joints([YOKE, LEG], [JOINT], HERE, (), ["leg"]) == ()


some_fits = st.lists(
    st.tuples(st.integers(1, 4), st.integers(1, 4), st.sampled_from(FIT_RESULTS)).filter(lambda one: one[0] != one[1]),
    max_size=12,
)


@given(some_fits)
def test_how_a_joint_stands_by_brute_force(drawn: list[tuple[int, int, Result]]) -> None:
    """Yokes 1 and 2, legs 3 and 4: of every pair the last word counts, of the words the worst."""
    fits = [Fit(number, part, other, result) for number, (part, other, result) in enumerate(drawn, 1)]
    last = {frozenset((part, other)): result for part, other, result in drawn}
    words = {leg: {last.get(frozenset((yoke, leg)), "not-tried") for yoke in (1, 2)} - {"not-tried"} for leg in (3, 4)}
    every = words[3] | words[4]
    whole = bool(words[3] and words[4])
    expected = (
        "does-not" if "does-not" in every
        else "not-tried" if not whole
        else "packing" if "packing" in every
        else "goes"
    )  # fmt: skip
    state, untried = stands(*fits, answering={"yoke": [1, 2], "leg": [3, 4]})
    assert state == expected
    assert set(untried) == {leg for leg in (3, 4) if not words[leg]}


@given(some_fits, st.integers(1, 4), st.integers(1, 4))
def test_a_trial_more_never_makes_fewer_parts_tried(
    drawn: list[tuple[int, int, Result]], part: int, other: int
) -> None:
    if part == other:
        return
    fits = [Fit(number, one, two, result) for number, (one, two, result) in enumerate(drawn, 1)]
    here: dict[str, Sequence[int]] = {"yoke": [1, 2], "leg": [3, 4]}
    before, after = stands(*fits, answering=here), stands(*fits, Fit(99, part, other, "goes"), answering=here)
    assert set(after[1]) <= set(before[1])


def test_progress_counts_every_joint_once_and_is_told_in_words() -> None:
    both = [YOKE, LEG, piece("lamp", "Lights"), piece("rim", "Lights", "lamp", "lamp")]
    joints = list_expected_joints(both, [JOINT, Joint("yoke", "nothing such")])
    found = assess_joints(both, joints, {"yoke": [1], "leg": [2], "rim": [5]}, [Fit(1, 1, 2, "packing")])
    fork, lights, rest = count_progress(
        {"Fork": PositionCount(2, 2), "Lights": PositionCount(2, 1), "Rest": PositionCount(1)}, found
    )
    assert (fork.counts, fork.tried, lights.counts, lights.tried) == ({"packing": 1}, 1, {"waits": 1}, 0)
    assert describe_progress(fork) == "2 of 2 positions filled. Its one joint goes with packing."
    assert describe_progress(lights) == "1 of 2 positions filled. Its one joint waits for a part."
    assert describe_progress(rest) == "0 of 1 positions filled. No joint is expected within it."


# --- the survey


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    """A bottom yoke (1), two stanchions (2, 3), a strange tube (4); one photo."""
    with make_survey(tmp_path / "heap", "lightweight", "Ferryman", by="Wren") as made:
        path = tmp_path / "one.png"
        Image.new("RGB", (40, 30), "green").save(path)
        take_in_photos(made, [path])
        for component, label in (("B029", ""), ("B037", ""), ("B037", ""), (None, "strange tube")):
            add_part(made, component, label=label)
        yield made


def legs(survey: Survey) -> str:
    return next(one.state for one in list_joints(survey) if (one.takes.id, one.goes_in.id) == ("B029", "B037"))


def test_a_fit_is_recorded_changed_and_taken_back(survey: Survey) -> None:
    said = add_fit(survey, 1, 2, "packing", packed="a tin washer", side="near", gap="31 mm ± 0.1 mm",
                         width="30 mm ± 0.1 mm", note="pinch bolt out", photos=[1])  # fmt: skip
    (one,) = list_fits(survey)
    assert (one.said, one.part.part.id, one.other.part.id, one.packs) == (said, 1, 2, True)
    assert one.spacer is not None
    assert one.spacer.left_mm == 1
    assert describe_trial(one).startswith("Goes with packing: a tin washer, near side (left). A spacer of 1 mm")
    assert get_part(survey, 1).part.photos == get_part(survey, 2).part.photos == (1,)
    assert list_packings(survey) == [one]
    words = list_acts(survey)[0].words
    assert words == (
        "Trial fit recorded: part 2 (Fork stanchion) to part 1 (Steering stem and lower yoke), goes with packing"
    )
    assert words == list_acts(survey, part=2)[0].words == list_acts(survey, part=1)[0].words
    change_fit(survey, said.id, result="goes", packed="", photos=[])
    assert list_packings(survey) == []
    assert list_fits(survey)[0].said.photos == ()
    undo_act(survey)
    assert list_fits(survey) == [one]
    undo_act(survey)
    assert list_fits(survey) == []
    redo_act(survey)
    remove_fit(survey, said.id)
    assert list_fits(survey) == []
    put_back(survey, "fit", said.id)
    assert list_fits(survey, 2) == [one]
    assert list_fits(survey, 3) == []
    remove_part(survey, 2)
    assert list_fits(survey) == []
    assert check_survey(survey) == []


def test_a_packing_is_listed_until_a_later_trial_goes(survey: Survey) -> None:
    add_fit(survey, 1, 2, "packing", packed="a tin washer")
    add_fit(survey, 1, 3, "goes")
    assert legs(survey) == "packing"
    assert [one.said.packed for one in list_packings(survey)] == ["a tin washer"]
    add_fit(survey, 1, 2, "goes", packed="made spacer, 1 mm")
    assert legs(survey) == "goes"
    assert list_packings(survey) == []
    assert [one.counts for one in list_fits(survey)] == [True, True, False]


def test_the_loose_build_is_told_by_assembly(survey: Survey) -> None:
    def fork() -> Progress:
        return next(one for one in list_progress(survey) if one.assembly == "Front fork")

    assert {one.assembly for one in list_progress(survey)} == set(count_completeness(survey))
    before = fork()
    assert (before.tried, before.counts["not-tried"]) == (0, 1)
    add_fit(survey, 1, 2, "goes")
    add_fit(survey, 1, 3, "does-not")
    after = fork()
    assert (after.tried, after.counts["does-not"], len(after.joints)) == (1, 1, len(before.joints))
    assert "1 does not go" in describe_progress(after)
    set_position(survey, "B043", "not-fitted")
    assert len(fork().joints) == len(before.joints) - 1, "what this machine has not got is no joint of it"


def test_a_fit_touches_no_grade_no_gap_and_no_block(survey: Survey) -> None:
    before = [one.verdict for one in list_parts(survey)], list_gaps(survey), list_blocks(survey)
    add_fit(survey, 1, 2, "goes")
    add_fit(survey, 1, 3, "does-not")
    assert ([one.verdict for one in list_parts(survey)], list_gaps(survey), list_blocks(survey)) == before


def test_what_does_not_go_and_what_is_packed_stand_among_the_next_things(survey: Survey) -> None:
    add_fit(survey, 1, 2, "packing", packed="a tin washer")
    add_fit(survey, 1, 3, "does-not")
    add_evidence(survey, 4, "foreign")
    told = {thing.doing: thing for thing in list_next_things(survey, 200)}
    assert told["fit"].label == "Fork stanchion to Steering stem and lower yoke"
    assert told["unpack"].because == "Packed for now with a tin washer: forgotten, it pulls the frame."
    assert (told["pass-on"].part, told["pass-on"].label) == (4, "strange tube")
    assert {"fit", "unpack"} <= {thing.doing for thing in list_next_things(survey)}, "near the top, too"


def test_what_cannot_be_so_is_refused(survey: Survey) -> None:
    said = add_fit(survey, 1, 2, "goes")
    events = len(list_events(survey))
    for part, other, photos in ((1, 9, ()), (9, 1, ()), (1, 2, (9,))):
        with pytest.raises(NoSuchThing):
            add_fit(survey, part, other, "goes", photos=photos)
    with pytest.raises(BadValue, match="does not go to itself"):
        add_fit(survey, 1, 1, "goes")
    with pytest.raises(BadValue, match="what the packing is"):
        add_fit(survey, 1, 2, "packing", packed="  ")
    with pytest.raises(BadSize):
        add_fit(survey, 1, 2, "goes", gap="wide")
    for fields in ({"result": "sort of"}, {"side": "top"}, {"colour": "red"}, {"result": "packing"}):
        with pytest.raises(BadValue):
            change_fit(survey, said.id, **fields)
    with pytest.raises(NoSuchThing):
        change_fit(survey, 9, note="x")
    assert len(list_events(survey)) == events


def test_the_command_records_lists_and_shows_the_joints(survey: Survey) -> None:
    folder = str(survey.folder)

    def run(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(main, ["fit", folder, *words], catch_exceptions=False)
        assert result.exit_code == code, result.output
        return result.output

    assert "No trial fit" in run()
    told = run("1", "2", "--result", "packing", "--packed", "a tin washer", "--side", "both", "--gap", "32.0 mm",
               "--width", "30.0 mm", "--photo", "1")  # fmt: skip
    assert "Goes with packing: a tin washer, both sides. Spacers of 1 mm" in told
    assert "Only packed for now" in told
    (one,) = json.loads(run("--json"))
    assert (one["part"], one["other"], one["result"], one["photos"]) == (1, 2, "packing", [1])
    assert one["spacer"]["each_mm"] == 1
    assert "Does not go" in run("--number", "1", "--result", "does-not")
    run("1", "3", "--result", "goes")
    fork = next(one for one in json.loads(run("--joints", "--json")) if one["assembly"] == "Front fork")
    assert (fork["tried"], fork["by_state"]["does-not"]) == (1, 1)
    assert "Fork stanchion to Steering stem and lower yoke: does not go" in run("--joints")
    assert "Part 2 to part 1" not in run("3")
    assert "No trial fit" in run("1", "2", "--number", "1", "--remove")
    run("--result", "goes", code=2)
    run("1", "2", "--note", "x", code=2)
    run("--remove", code=2)
