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

from survey import bench
from survey.bench.acts import VERBS
from survey.errors import NothingToTurn, Refusal
from survey.folder.binned import EMPTY_BIN
from survey.folder.tables import SOFT
from survey.model import Component

pytestmark = pytest.mark.usefixtures("unsynced")

SEQUENCES = times(20, full=1000)
EDITS = 12


@pytest.fixture(scope="module")
def heap(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("undo")
    with bench.make_survey(room / "heap", "lightweight", "Dairy find", by="Wren") as made:
        for number in range(3):
            path = room / f"{number}.png"
            Image.new("RGB", (40 + number, 30), "brown").save(path)
            bench.take_in(made, [path])
    return room / "heap"


@pytest.fixture
def survey(heap: Path, tmp_path: Path) -> Iterator[bench.Survey]:
    with bench.open_survey(Path(shutil.copytree(heap, tmp_path / "heap")), by="Wren") as made:
        yield made


def all_the_way(survey: bench.Survey, move: Callable[[bench.Survey], object]) -> int:
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
        with bench.open_survey(folder, by="Wren") as survey:
            start = standing(survey)
            allowed_here = 0
            while allowed_here < EDITS:
                allowed_here += an_edit(survey, chance)
            done += allowed_here
            end = standing(survey)
            taken_back = all_the_way(survey, bench.undo)
            assert standing(survey) == start, seed
        with bench.open_survey(folder) as again:  # as after a restart
            assert all_the_way(again, bench.redo) == taken_back
            assert standing(again) == end, seed
            steps = chance.randint(0, taken_back)
            for move in [bench.undo] * steps + [bench.redo] * steps:
                move(again)
            assert standing(again) == end, seed
            assert bench.check(again) == [], seed
        shutil.rmtree(folder)
    tell(f"{SEQUENCES} sequences of {done} edits: all equal when taken back and when done again")


@pytest.mark.slow
def test_every_verb_is_among_the_edits(survey: bench.Survey) -> None:
    """And each can be taken back and done again: a new verb wants a line in ``random_edits``."""
    start, chance = standing(survey), random.Random(7)
    turned = {"undo", "redo", EMPTY_BIN.name}
    for _ in range(30):
        if {event.verb for event in bench.history(survey)} >= set(VERBS) - turned:
            break
        for edit in chance.sample(EDITS_OF_A_PERSON, len(EDITS_OF_A_PERSON)):
            allowed(edit, survey, chance)
    end = standing(survey)
    taken_back = all_the_way(survey, bench.undo)
    assert standing(survey) == start
    assert all_the_way(survey, bench.redo) == taken_back and standing(survey) == end
    assert {event.verb for event in bench.history(survey)} >= set(VERBS) - {EMPTY_BIN.name}, (
        "verbs that no edit here does"
    )
    assert {table for table in SOFT if not survey.store.rows(f"SELECT id FROM {table}")} == set()


def test_what_was_done_since_closes_the_way_forward(survey: bench.Survey) -> None:
    bench.set_position(survey, "B006", "missing")
    bench.undo(survey)
    bench.set_position(survey, "B052", "missing")
    with pytest.raises(NothingToTurn):
        bench.redo(survey)
    bench.undo(survey)
    assert bench.redo(survey).words == "Missing: B052 Handlebar"


def test_an_act_that_another_has_followed_is_not_taken_back_by_name(survey: bench.Survey) -> None:
    bench.set_position(survey, "B006", "missing")
    seen = bench.next_turns(survey)[0]
    assert seen is not None
    bench.set_position(survey, "B052", "missing")
    with pytest.raises(NothingToTurn, match="done since"):
        bench.undo(survey, seen.batch)
    bench.undo(survey)
    assert bench.undo(survey, seen.batch) == seen


def test_photos_taken_in_stay_when_everything_is_taken_back(survey: bench.Survey) -> None:
    bench.set_aside(survey, [1])
    all_the_way(survey, bench.undo)
    assert [photo.state for photo in bench.photos(survey)] == ["waiting"] * 3


def test_a_component_taken_back_can_be_added_anew(survey: bench.Survey) -> None:
    own = Component("P01", "Carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
    bench.add_component(survey, own)
    bench.add_part(survey, "P01")
    bench.undo(survey)
    bench.undo(survey)
    with pytest.raises(Refusal):
        bench.component(survey, "P01")
    wider = Component("P01", "Wide carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
    assert bench.add_component(survey, wider) == bench.component(survey, "P01") == wider
    bench.undo(survey)
    with pytest.raises(Refusal):
        bench.component(survey, "P01")


def test_acts_are_told_in_words(survey: bench.Survey) -> None:
    part = bench.add_part(survey, "B006", photos=[1])
    bench.add_finding(survey, part.id, "crack", 3, photo=2, points=[(0.4, 0.4)])
    bench.override(survey, part.id, "repair", "a welder looked at it")
    bench.place_photo(survey, 3, part.id)
    bench.undo(survey)
    told = [act.words for act in bench.acts(survey, part=part.id)]
    assert told == [
        "Taken back: Photo placed: photo 3, part 1 (Frame)",
        "Photo placed: photo 3, part 1 (Frame)",
        "Own grade: repair, part 1 (Frame)",
        "Finding recorded: Crack, step 3, part 1 (Frame)",
        "Part recorded: part 1 (Frame)",
    ]
    assert len(bench.acts(survey, last=2)) == 2


def test_the_history_itself_cannot_be_rewritten(survey: bench.Survey) -> None:
    bench.set_position(survey, "B006", "missing")
    before = len(bench.history(survey))
    bench.undo(survey)
    after = bench.history(survey)
    assert len(after) == before + 1
    assert after[-1].turns == after[-2].batch
