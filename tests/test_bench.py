"""The verbs of the bench: one act, one transaction, one batch of history; nothing half done."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from survey import bench
from survey.errors import BadValue, NoSuchThing
from survey.model import Component

NOW = "2026-06-01T20:00:00Z"


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[bench.Survey]:
    with bench.make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren", clock=lambda: NOW) as made:
        yield made


@pytest.fixture
def photo(survey: bench.Survey, tmp_path: Path) -> int:
    path = tmp_path / "bar.png"
    Image.new("RGB", (64, 48), "brown").save(path)
    return bench.take_in(survey, [path]).added[0].photo


def last_batch(survey: bench.Survey) -> list[tuple[str, str]]:
    events = bench.history(survey)
    return [(event.verb, event.entity) for event in events if event.batch == events[-1].batch]


def test_the_schedule_is_the_surveys_own_copy(survey: bench.Survey) -> None:
    (catalogue,) = [one for one in bench.kinds() if one.kind == "lightweight"]
    assert tuple(bench.schedule(survey)) == catalogue.components
    bench.set_quantity(survey, "B068", 40)
    assert bench.component(survey, "B068").quantity == 40
    assert next(one for one in catalogue.components if one.id == "B068").quantity != 40


def test_an_unknown_component_is_told_what_it_may_have_meant(survey: bench.Survey) -> None:
    with pytest.raises(NoSuchThing) as refusal:
        bench.add_part(survey, "handlebar")
    assert "B052" in refusal.value.next_step
    assert bench.parts(survey) == []


def test_an_own_component_takes_part_in_everything(survey: bench.Survey) -> None:
    own = Component("P01", "Parcel carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
    assert bench.add_component(survey, own) == own
    assert bench.schedule(survey)[-1] == own
    assert "P01" in {gap.component.id for gap in bench.gaps(survey)}
    part = bench.add_part(survey, "P01")
    bench.add_finding(survey, part.id, "bent", 3, seen="bare")
    assert bench.part(survey, part.id).verdict.rulings
    assert "P01" not in {gap.component.id for gap in bench.gaps(survey)}


@pytest.mark.parametrize(
    "wrong",
    [
        {"duty": "vital"}, {"part_class": "gizmo"}, {"material": "mithril"}, {"quantity": 0}, {"label": " "},
        {"id": "B052"},
    ],
)  # fmt: skip
def test_an_own_component_uses_the_closed_words(survey: bench.Survey, wrong: dict[str, object]) -> None:
    words: dict[str, object] = {
        "id": "P01", "label": "Carrier", "assembly": "Carrier", "inside": None, "quantity": 1, "duty": "running",
        "part_class": "stay", "material": "steel",
    }  # fmt: skip
    with pytest.raises(BadValue):
        bench.add_component(survey, Component(**{**words, **wrong}))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("part_class", "duty"), [("frame", "running"), ("brake-shoe", "cosmetic"), ("tyre", "paperwork")]
)
def test_a_safety_class_cannot_be_talked_down(survey: bench.Survey, part_class: str, duty: str) -> None:
    """Common practice, no source: what throws the rider when it fails is a safety part on any machine."""
    own = Component("P01", "A thing", "Own additions", None, 1, duty, part_class, "steel", own=True)  # type: ignore[arg-type]
    with pytest.raises(
        BadValue, match=f"class {part_class} cannot be of duty {duty}: it is at least safety"
    ) as refusal:
        bench.add_component(survey, own)
    assert "another class" in refusal.value.next_step
    assert "P01" not in {one.id for one in bench.schedule(survey)}
    unsaid = replace(own, duty=bench.duty_unless_said(part_class))
    assert bench.add_component(survey, unsaid).duty == "safety"


def test_an_own_component_does_not_take_the_id_of_another_thing(tmp_path: Path) -> None:
    """A rule may name a catalogue's component: that for a bent mudguard (B170) must not speak of somebody's frame."""
    with bench.make_survey(tmp_path / "auto", "autocycle", "Ferry") as survey:
        own = Component("B170", "Trailer frame", "Own additions", None, 1, "safety", "frame", "steel", own=True)
        with pytest.raises(BadValue, match="'B170' is the id of another component") as refusal:
            bench.add_component(survey, own)
        assert refusal.value.next_step
        bench.add_component(survey, replace(own, id="P01"))


def test_a_part_is_never_graded_for_less_than_its_class(survey: bench.Survey) -> None:
    """A schedule made before the least duties were known may hold a frame that is only "running"."""
    frame = bench.part(survey, bench.add_part(survey, "B006").id)
    assert frame.component is not None
    old = replace(frame, component=replace(frame.component, duty="running"))
    assert bench.facts_of(old).duty == "safety"
    lever = bench.part(survey, bench.add_part(survey, "B056").id)
    assert bench.facts_of(lever).duty == "running"


def test_an_extra_of_the_catalogue_can_be_taken_in(survey: bench.Survey) -> None:
    extra = bench.extra(survey, "B021")
    assert extra.id not in {one.id for one in bench.schedule(survey)}
    bench.add_component(survey, extra)
    assert extra.id in {one.id for one in bench.schedule(survey)}


def test_a_finding_its_photo_and_its_mark_are_one_act(survey: bench.Survey, photo: int) -> None:
    part = bench.add_part(survey, "B052")
    found = bench.add_finding(
        survey, part.id, "crack", 2, seen="bare", photo=photo, points=[(0.25, 0.5)], note="by the clamp"
    )
    assert last_batch(survey) == [
        ("add finding", "finding"), ("add finding", "part_photo"), ("add finding", "finding_photo"),
        ("add finding", "mark"),
    ]  # fmt: skip
    assert found.by == "Wren" and found.at == NOW and found.photos == (photo,)
    (mark,) = bench.marks(survey, photo)
    assert (mark.finding, mark.part, mark.points) == (found.id, part.id, ((0.25, 0.5),))
    assert bench.photo(survey, photo).state == "placed"
    bench.remove_finding(survey, found.id)
    assert bench.marks(survey, photo) == [] and bench.part(survey, part.id).findings == ()


def test_a_photo_of_a_removed_part_waits_again(survey: bench.Survey, photo: int) -> None:
    part = bench.add_part(survey, "B052", photos=[photo, photo])
    assert bench.photo(survey, photo).parts == (part.id,)
    bench.remove_part(survey, part.id)
    assert bench.photo(survey, photo).state == "waiting"
    with pytest.raises(NoSuchThing):
        bench.part(survey, part.id)


def test_a_removed_part_holds_nothing_and_nothing_points_at_it(survey: bench.Survey, photo: int) -> None:
    tin, ring = (bench.add_part(survey, None, label=name).id for name in ("tin", "ring"))
    bench.change_part(survey, ring, inside=tin)
    of_tin = bench.add_mark(survey, photo, "pin", [(0.1, 0.1)], part=tin)
    of_ring = bench.add_mark(survey, photo, "pin", [(0.9, 0.9)], part=ring)
    bench.remove_part(survey, tin)
    assert bench.part(survey, ring).part.inside is None
    assert bench.marks(survey, photo) == [of_ring]
    bench.put_back(survey, "part", tin)
    assert bench.part(survey, ring).part.inside == tin
    assert bench.marks(survey, photo) == [of_tin, of_ring]


def test_photos_set_aside_come_back_when_they_are_placed(survey: bench.Survey, photo: int) -> None:
    bench.set_aside(survey, [photo])
    assert [one.id for one in bench.photos(survey, "aside")] == [photo]
    part = bench.add_part(survey, None, label="strange lug")
    assert bench.place_photo(survey, photo, part.id).state == "placed"
    assert bench.unplace_photo(survey, photo, part.id).state == "waiting"


def test_marks_of_three_shapes(survey: bench.Survey, photo: int) -> None:
    part = bench.add_part(survey, "B052")
    bench.add_mark(survey, photo, "box", [(0.1, 0.1), (0.4, 0.5)], part=part.id)
    outline = bench.add_mark(survey, photo, "outline", [(0.1, 0.1), (0.4, 0.5), (0.1, 0.5)])
    assert [mark.shape for mark in bench.marks(survey, photo)] == ["box", "outline"]
    bench.remove_mark(survey, outline.id)
    assert [mark.shape for mark in bench.marks(survey, photo)] == ["box"]
    for shape, points in (
        ("pin", []),
        ("box", [(0.1, 0.1)]),
        ("outline", [(0.0, 0.0)] * 2),
        ("star", [(0.0, 0.0)]),
        ("pin", [(1.01, 0.5)]),
    ):
        with pytest.raises(BadValue):
            bench.add_mark(survey, photo, shape, points)  # type: ignore[arg-type]


def test_an_unknown_part_is_never_fit(survey: bench.Survey) -> None:
    part = bench.add_part(survey, None, label="strange lug")
    bench.nothing_wrong(survey, part.id, seen="bare")
    assert bench.part(survey, part.id).verdict.grade != "reuse"


def test_a_part_that_turns_up_ends_what_was_said_of_its_absence(survey: bench.Survey) -> None:
    bench.set_position(survey, "B052", "missing")
    part = bench.add_part(survey, "B052")
    assert "B052" not in {gap.component.id for gap in bench.gaps(survey)}
    bench.remove_part(survey, part.id)
    assert {gap.component.id: gap.state for gap in bench.gaps(survey)}["B052"] == "not-looked"


def test_naming_an_unknown_part_grades_it(survey: bench.Survey) -> None:
    part = bench.add_part(survey, None, label="bent bar")
    bench.add_finding(survey, part.id, "bent", 3, seen="bare")
    assert bench.change_part(survey, part.id, component="B052").component == "B052"
    assert bench.part(survey, part.id).verdict.grade == "replace"
    for wrong in (
        {"component": "Z1"},
        {"colour": "red"},
        {"quantity": 0},
        {"inside": part.id},
        {"material": "mithril"},
    ):
        with pytest.raises((BadValue, NoSuchThing)):
            bench.change_part(survey, part.id, **wrong)


@pytest.mark.parametrize("state", ["missing", "not-fitted", "not-looked", "unseen"])
def test_naming_an_unknown_part_ends_what_was_said_of_its_absence(survey: bench.Survey, state: str) -> None:
    part = bench.add_part(survey, None, label="bent bar")
    bench.set_position(survey, "B052", state, "not in the boxes")  # type: ignore[arg-type]
    bench.set_position(survey, "B053", "missing")
    bench.change_part(survey, part.id, label="a bar")
    assert said_of(survey) == {"B052": state, "B053": "missing"}, "nobody has said yet what it is"
    bench.change_part(survey, part.id, component="B052")
    assert said_of(survey) == {"B053": "missing"}
    assert last_batch(survey) == [("change part", "part"), ("change part", "position")]
    bench.change_part(survey, part.id, component=None)
    assert {gap.component.id: gap.state for gap in bench.gaps(survey)}["B052"] == "not-looked"
    bench.undo(survey)
    bench.undo(survey)
    assert said_of(survey) == {"B052": state, "B053": "missing"}


def test_nothing_is_missing_that_a_part_fills(survey: bench.Survey) -> None:
    bar = bench.add_part(survey, "B052").id
    for state in ("missing", "not-fitted", "not-looked"):
        with pytest.raises(BadValue, match=f"cannot be {state}: part {bar} of this survey answers to it"):
            bench.set_position(survey, "B052", state)  # type: ignore[arg-type]
    bench.set_position(survey, "B052", "wrong")
    bench.add_part(survey, "B068", quantity=bench.component(survey, "B068").quantity - 1)
    bench.set_position(survey, "B068", "missing", "one spoke short")
    assert said_of(survey) == {"B052": "wrong", "B068": "missing"}


def test_naming_a_part_leaves_what_was_said_of_the_wrong_one(survey: bench.Survey) -> None:
    part = bench.add_part(survey, None)
    bench.set_position(survey, "B052", "wrong", "off a racer")
    bench.change_part(survey, part.id, component="B052")
    assert said_of(survey) == {"B052": "wrong"}


def said_of(survey: bench.Survey) -> dict[str, str]:
    return {row["component"]: row["state"] for row in survey.store.rows("SELECT component, state FROM position")}


def test_the_latest_reading_of_a_name_counts(survey: bench.Survey) -> None:
    """Rim run-out: DVSA, motorcycle inspection manual: 4 mm lateral for a steel rim."""
    part = bench.add_part(survey, "B067")
    kinds = {kind.id for kind in bench.reading_kinds(survey, part.id)}
    lateral = next(name for name in kinds if "lateral" in name and not name.endswith("-book"))
    bench.add_reading(survey, part.id, lateral, "5 mm")
    assert bench.part(survey, part.id).verdict.outcome in ("replace", "examine-first", "repair")
    again = bench.add_reading(survey, part.id, lateral, "1.5")
    bench.remove_reading(survey, again.id)
    assert [reading.value for reading in bench.part(survey, part.id).readings] == [5.0]
    with pytest.raises(NoSuchThing):
        bench.add_reading(survey, part.id, "blood-pressure", "1 mm")


def test_threads_of_the_browser_door_take_turns(survey: bench.Survey) -> None:
    with ThreadPoolExecutor(8) as crew:
        made = list(crew.map(lambda n: bench.add_part(survey, None, label=f"bolt {n}").id, range(40)))
    assert sorted(made) == sorted(set(made)) and len(bench.parts(survey)) == 40


def test_everything_is_there_after_opening_again(survey: bench.Survey, photo: int) -> None:
    part = bench.add_part(survey, "B052", photos=[photo], quantity=2, box="box 3", note="bent left end")
    bench.add_finding(survey, part.id, "bent", 3, seen="bare", photo=photo, points=[(0.5, 0.5)])
    bench.override(survey, part.id, "repair", "a friend has a former")
    bench.describe(survey, year="1957")
    bench.add_number(survey, "frame", "HP 1057 *")
    before = (bench.parts(survey), bench.photos(survey), bench.machine(survey), bench.gaps(survey))
    survey.close()
    with bench.open_survey(survey.folder) as again:
        assert (bench.parts(again), bench.photos(again), bench.machine(again), bench.gaps(again)) == before


TEXTS: dict[str, Callable[[bench.Survey, int, int, str], object]] = {
    "label": lambda survey, part, photo, text: bench.change_part(survey, part, label=text),
    "box": lambda survey, part, photo, text: bench.add_part(survey, None, box=text),
    "note of a part": lambda survey, part, photo, text: bench.add_part(survey, None, note=text),
    "note of a finding": lambda survey, part, photo, text: bench.add_finding(survey, part, "crack", 1, note=text),
    "note of a look": lambda survey, part, photo, text: bench.nothing_wrong(survey, part, note=text),
    "note of a photo": lambda survey, part, photo, text: bench.note_photo(survey, photo, note=text),
    "note of a position": lambda survey, part, photo, text: bench.set_position(survey, "B053", "missing", text),
    "reason": lambda survey, part, photo, text: bench.override(survey, part, "repair", text),
    "reading": lambda survey, part, photo, text: bench.add_reading(survey, part, "rim-lateral", text),
    "tool": lambda survey, part, photo, text: bench.add_reading(survey, part, "rim-lateral", "3 mm", text),
    "number": lambda survey, part, photo, text: bench.add_number(survey, "frame", text),
    "place": lambda survey, part, photo, text: bench.add_number(survey, text, "HP 1057"),
    "machine": lambda survey, part, photo, text: bench.describe(survey, maker=text),
    "component": lambda survey, part, photo, text: bench.add_component(
        survey, Component("P01", text, "Carrier", None, 1, "running", "stay", "steel", own=True)
    ),
}


@pytest.mark.parametrize("verb", TEXTS.values(), ids=TEXTS)
def test_text_that_cannot_be_kept_is_refused_by_every_verb(
    survey: bench.Survey, photo: int, verb: Callable[[bench.Survey, int, int, Any], object]
) -> None:
    rim = bench.add_part(survey, "B067").id
    before = len(bench.history(survey))
    for text in ("a\0b", "caf\udcff", "x" * 4001, "\x1b[2J", 5, b"rust"):
        with pytest.raises(BadValue) as refusal:
            verb(survey, rim, photo, text)
        assert len(refusal.value.sentence) < 400
    assert len(bench.history(survey)) == before


def test_a_long_note_in_many_lines_is_kept_as_it_is(survey: bench.Survey) -> None:
    note = "Box three, under the chain:\n\twrapped in the Dairyman's Gazette \N{RACING MOTORCYCLE} \u05d0\u05d1\n" * 55
    assert bench.add_part(survey, None, note=note).note == note.strip()


@pytest.mark.parametrize("number", [0, -1, 10_001, 10**20, True, 2.0, "2", None], ids=repr)
def test_a_count_is_a_whole_number_within_reason(survey: bench.Survey, number: int) -> None:
    part = bench.add_part(survey, "B052").id
    for verb in (
        lambda: bench.add_part(survey, None, quantity=number),
        lambda: bench.change_part(survey, part, quantity=number),
        lambda: bench.set_quantity(survey, "B068", number),
        lambda: bench.add_component(
            survey, Component("P01", "Carrier", "Carrier", None, number, "running", "stay", "steel", own=True)
        ),
        lambda: bench.add_finding(survey, part, "crack", number if number != "2" else 5),
    ):
        with pytest.raises(BadValue):
            verb()


@pytest.mark.parametrize("number", [10**20, -(10**20), 2**63])
def test_a_number_beyond_counting_is_refused_plainly(survey: bench.Survey, photo: int, number: int) -> None:
    part = bench.add_part(survey, "B052").id
    for verb in (
        lambda: bench.part(survey, number),
        lambda: bench.photo(survey, number),
        lambda: bench.place_photo(survey, number, part),
        lambda: bench.add_finding(survey, number, "crack", 1),
        lambda: bench.remove_finding(survey, number),
        lambda: bench.add_part(survey, None, inside=number),
        lambda: bench.add_part(survey, None, photos=[number]),
        lambda: bench.picture_path(survey, number, "thumb"),
    ):
        with pytest.raises((BadValue, NoSuchThing)):
            verb()


def test_parts_do_not_sit_in_a_ring(survey: bench.Survey) -> None:
    first, second, third = (bench.add_part(survey, None, label=name).id for name in ("tin", "box", "bag"))
    bench.change_part(survey, first, inside=second)
    bench.change_part(survey, second, inside=third)
    for inside in (first, second, third):
        with pytest.raises(BadValue):
            bench.change_part(survey, third, inside=inside)
    assert bench.change_part(survey, first, inside=third).inside == third
    assert bench.change_part(survey, second, inside=None).inside is None
    assert bench.change_part(survey, third, inside=second).inside == second
