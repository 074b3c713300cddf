"""Undo and redo: every edit can be taken back and done again, one by one, across restarts, from the history alone.

``long_form`` says how many sequences.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from full_survey import standing
from long_form import tell, times
from PIL import Image
from random_edits import EDITS as EDITS_OF_A_PERSON
from random_edits import allowed, an_edit

from survey.errors import NothingToTurn, Refusal
from survey.history.verbs import VERBS, get_undo_and_redo, list_acts, list_events, redo_act, undo_act
from survey.model.schedule import Component
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part, set_own_grade
from survey.photos.verbs import list_photos, place_photo, set_photos_aside, take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.verbs import add_component, get_component, set_position
from survey.shelf.verbs import make_survey, open_survey
from survey.store.bin import EMPTY_BIN
from survey.store.survey import Survey
from survey.store.tables import BIN_TABLES

pytestmark = pytest.mark.usefixtures("unsynced")

SEQUENCES = times(20, full=1000)
EDITS = 12


@pytest.fixture(scope="module")
def heap(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("undo")
    with make_survey(room / "heap", "lightweight", "Dairy find", by="Wren") as made:
        for number in range(3):
            path = room / f"{number}.png"
            Image.new("RGB", (40 + number, 30), "brown").save(path)
            take_in_photos(made, [path])
    return room / "heap"


@pytest.fixture
def survey(heap: Path, tmp_path: Path) -> Iterator[Survey]:
    with open_survey(Path(shutil.copytree(heap, tmp_path / "heap")), by="Wren") as made:
        yield made


def all_the_way(survey: Survey, move: Callable[[Survey], object]) -> int:
    count = 0
    while True:
        try:
            move(survey)
        except NothingToTurn:
            return count
        count += 1


@pytest.mark.long_form
def test_random_sequences_are_taken_back_and_done_again(heap: Path, tmp_path: Path) -> None:
    done = 0
    for seed in range(SEQUENCES):
        folder, chance = Path(shutil.copytree(heap, tmp_path / "heap")), random.Random(seed)
        with open_survey(folder, by="Wren") as survey:
            start = standing(survey)
            allowed_here = 0
            while allowed_here < EDITS:
                allowed_here += an_edit(survey, chance)
            done += allowed_here
            end = standing(survey)
            taken_back = all_the_way(survey, undo_act)
            assert standing(survey) == start, seed
        with open_survey(folder) as again:  # as after a restart
            assert all_the_way(again, redo_act) == taken_back
            assert standing(again) == end, seed
            steps = chance.randint(0, taken_back)
            for move in [undo_act] * steps + [redo_act] * steps:
                move(again)
            assert standing(again) == end, seed
            assert check_survey(again) == [], seed
        shutil.rmtree(folder)
    tell(f"{SEQUENCES} sequences of {done} edits: all equal when taken back and when done again")


@pytest.mark.slow
def test_every_verb_is_among_the_edits(survey: Survey) -> None:
    """And each can be taken back and done again: a new verb wants a line in ``random_edits``."""
    start, chance = standing(survey), random.Random(7)
    turned = {"undo", "redo", EMPTY_BIN.name}
    for _ in range(30):
        if {event.verb for event in list_events(survey)} >= set(VERBS) - turned:
            break
        for edit in chance.sample(EDITS_OF_A_PERSON, len(EDITS_OF_A_PERSON)):
            allowed(edit, survey, chance)
    end = standing(survey)
    taken_back = all_the_way(survey, undo_act)
    assert standing(survey) == start
    assert all_the_way(survey, redo_act) == taken_back and standing(survey) == end
    assert {event.verb for event in list_events(survey)} >= set(VERBS) - {EMPTY_BIN.name}, (
        "verbs that no edit here does"
    )
    assert {table for table in BIN_TABLES if not survey.store.rows(f"SELECT id FROM {table}")} == set()


def test_what_was_done_since_closes_the_way_forward(survey: Survey) -> None:
    set_position(survey, "B006", "missing")
    undo_act(survey)
    set_position(survey, "B052", "missing")
    with pytest.raises(NothingToTurn):
        redo_act(survey)
    undo_act(survey)
    assert redo_act(survey).words == "Missing: B052 Handlebar"


def test_an_act_that_another_has_followed_is_not_taken_back_by_name(survey: Survey) -> None:
    set_position(survey, "B006", "missing")
    seen = get_undo_and_redo(survey)[0]
    assert seen is not None
    set_position(survey, "B052", "missing")
    with pytest.raises(NothingToTurn, match="done since"):
        undo_act(survey, seen.batch)
    undo_act(survey)
    assert undo_act(survey, seen.batch) == seen


def test_photos_taken_in_stay_when_everything_is_taken_back(survey: Survey) -> None:
    set_photos_aside(survey, [1])
    all_the_way(survey, undo_act)
    assert [photo.state for photo in list_photos(survey)] == ["waiting"] * 3


def test_a_component_taken_back_can_be_added_anew(survey: Survey) -> None:
    own = Component("P01", "Carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
    add_component(survey, own)
    add_part(survey, "P01")
    undo_act(survey)
    undo_act(survey)
    with pytest.raises(Refusal):
        get_component(survey, "P01")
    wider = Component("P01", "Wide carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
    assert add_component(survey, wider) == get_component(survey, "P01") == wider
    undo_act(survey)
    with pytest.raises(Refusal):
        get_component(survey, "P01")


def test_acts_are_told_in_words(survey: Survey) -> None:
    part = add_part(survey, "B006", photos=[1])
    add_finding(survey, part.id, "crack", 3, photo=2, points=[(0.4, 0.4)])
    set_own_grade(survey, part.id, "repair", "a welder looked at it")
    place_photo(survey, 3, part.id)
    undo_act(survey)
    told = [act.words for act in list_acts(survey, part=part.id)]
    assert told == [
        "Taken back: Photo placed: photo 3, part 1 (Frame)",
        "Photo placed: photo 3, part 1 (Frame)",
        "Own grade: repair, part 1 (Frame)",
        "Finding recorded: Crack, step 3, part 1 (Frame)",
        "Part recorded: part 1 (Frame)",
    ]
    assert len(list_acts(survey, last=2)) == 2


def test_the_history_itself_cannot_be_rewritten(survey: Survey) -> None:
    set_position(survey, "B006", "missing")
    before = len(list_events(survey))
    undo_act(survey)
    after = list_events(survey)
    assert len(after) == before + 1
    assert after[-1].turns == after[-2].batch
