"""Undo and redo: every edit can be taken back and done again, one by one, across restarts, from the history alone.

``long_form`` says how many sequences.
"""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from long_form import times
from PIL import Image

from survey import bench
from survey.errors import NothingToTurn, Refusal
from survey.model import Component

SEQUENCES = times(20, full=1000)
EDITS = 12


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[bench.Survey]:
    with bench.make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren") as made:
        for number in range(3):
            path = tmp_path / f"{number}.png"
            Image.new("RGB", (40 + number, 30), "brown").save(path)
            bench.take_in(made, [path])
        yield made


def state(survey: bench.Survey) -> dict[str, list[Any]]:
    """Every row that stands, of every table but the history."""
    names = [row["name"] for row in survey.store.rows("SELECT name FROM sqlite_master WHERE type = 'table'")]
    told = {}
    for name in names:
        if name == "event" or name.startswith(("sqlite_", "_sqlite")):
            continue
        rows = survey.store.rows(f'SELECT * FROM "{name}"')
        told[name] = sorted((tuple(row.items()) for row in rows if row.get("gone_at") is None), key=repr)
    return told


def an_edit(survey: bench.Survey, chance: random.Random) -> None:
    """One act of a person, chosen by chance among what the survey allows just now."""
    parts = [one.part.id for one in bench.parts(survey)]
    findings = [finding.id for one in bench.parts(survey) for finding in one.findings]
    components = chance.sample(["B006", "B052", "B144", "B145a", "B170", "B068", "B094"], 3)
    acts: list[Callable[[], object]] = [
        lambda: bench.add_part(survey, components[0], photos=[chance.randint(1, 3)], box="box 2"),
        lambda: bench.set_position(survey, components[1], chance.choice(["missing", "not-looked", None])),
        lambda: bench.describe(survey, note=str(chance.random())),
        lambda: bench.add_number(survey, "headstock", f"HPF {chance.randint(1, 999)}"),
        lambda: bench.set_aside(survey, [1, 2], chance.random() < 0.5),
        lambda: bench.note_photo(survey, chance.randint(1, 3), note=str(chance.random())),
        lambda: bench.add_component(
            survey,
            Component(f"P{chance.randint(1, 4)}", "Carrier", "Carrier", None, 1, "running", "stay", "steel", own=True),
        ),
        lambda: bench.set_quantity(survey, "B068", chance.randint(30, 40)),
        lambda: bench.say_of_step(survey, chance.choice(["primed", "stand-on"]), chance.choice(["done", None])),
        lambda: bench.add_before(survey, components[0], chance.choice(["primed", components[1]]), "found on the bench"),
        lambda: bench.remove_before(survey, chance.randint(1, 4)),
        lambda: bench.put_pair_off(survey, "cups-before-fork", str(chance.random())),
        lambda: bench.put_pair_on(survey, "cups-before-fork"),
    ]
    if parts:
        part = chance.choice(parts)
        acts += [
            lambda: bench.add_finding(
                survey, part, chance.choice(["crack", "bent", "wear"]), chance.randint(1, 4),
                photo=chance.randint(1, 3), points=[(0.5, chance.random())],
            ),
            lambda: bench.nothing_wrong(survey, part, seen="bare"),
            lambda: bench.override(survey, part, chance.choice(["reuse", "repair", None]), "seen on the bench"),
            lambda: bench.place_photo(survey, chance.randint(1, 3), part),
            lambda: bench.unplace_photo(survey, chance.randint(1, 3), part),
            lambda: bench.change_part(survey, part, component=components[2]),
            lambda: bench.change_part(survey, part, note=str(chance.random()), quantity=chance.randint(1, 9)),
            lambda: bench.remove_part(survey, part),
        ]  # fmt: skip
    if findings:
        acts.append(lambda: bench.remove_finding(survey, chance.choice(findings)))
    with contextlib.suppress(Refusal):  # chance may ask for what a survey refuses; that changes nothing
        chance.choice(acts)()


def all_the_way(survey: bench.Survey, move: Callable[[bench.Survey], object]) -> int:
    count = 0
    while True:
        try:
            move(survey)
        except NothingToTurn:
            return count
        count += 1


def test_random_sequences_are_taken_back_and_done_again(survey: bench.Survey) -> None:
    for seed in range(SEQUENCES):
        chance = random.Random(seed)
        all_the_way(survey, bench.undo)
        start = state(survey)
        for _ in range(EDITS):
            an_edit(survey, chance)
        end = state(survey)
        taken_back = all_the_way(survey, bench.undo)
        assert state(survey) == start, seed
        with bench.open_survey(survey.folder) as again:  # as after a restart
            assert all_the_way(again, bench.redo) == taken_back
            assert state(again) == end, seed
        steps = chance.randint(0, taken_back)
        for move in [bench.undo] * steps + [bench.redo] * steps:
            move(survey)
        assert state(survey) == end, seed


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
