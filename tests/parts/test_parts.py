"""The verbs of the bench: one act, one transaction, one batch of history; nothing half done."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from survey.errors import BadValue, NoSuchThing
from survey.history.bin_verbs import put_back
from survey.history.verbs import list_events, undo_act
from survey.machine.verbs import add_number, change_machine, get_machine
from survey.model.schedule import Component
from survey.parts.finding_verbs import (
    add_finding,
    add_look,
    add_reading,
    list_reading_kinds,
    remove_finding,
    remove_reading,
)
from survey.parts.verbs import (
    add_part,
    change_part,
    get_facts,
    get_part,
    list_parts,
    remove_part,
    set_own_grade,
)
from survey.photos.verbs import (
    add_mark,
    change_photo,
    get_photo,
    get_picture_path,
    list_marks,
    list_photos,
    place_photo,
    remove_mark,
    set_photos_aside,
    take_in_photos,
    unplace_photo,
)
from survey.schedule.verbs import (
    add_component,
    get_component,
    get_default_duty,
    get_extra_component,
    list_components,
    list_gaps,
    list_kinds,
    set_position,
    set_quantity,
)
from survey.shelf.verbs import make_survey, open_survey
from survey.store.survey import Survey

NOW = "2026-06-01T20:00:00Z"


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren", clock=lambda: NOW) as made:
        yield made


@pytest.fixture
def photo(survey: Survey, tmp_path: Path) -> int:
    path = tmp_path / "bar.png"
    Image.new("RGB", (64, 48), "brown").save(path)
    return take_in_photos(survey, [path]).added[0].photo


def last_batch(survey: Survey) -> list[tuple[str, str]]:
    events = list_events(survey)
    return [(event.verb, event.entity) for event in events if event.batch == events[-1].batch]


def test_the_schedule_is_the_surveys_own_copy(survey: Survey) -> None:
    (catalogue,) = [one for one in list_kinds() if one.kind == "lightweight"]
    assert tuple(list_components(survey)) == catalogue.components
    set_quantity(survey, "B068", 40)
    assert get_component(survey, "B068").quantity == 40
    assert next(one for one in catalogue.components if one.id == "B068").quantity != 40


def test_an_unknown_component_is_told_what_it_may_have_meant(survey: Survey) -> None:
    with pytest.raises(NoSuchThing) as refusal:
        add_part(survey, "handlebar")
    assert "B052" in refusal.value.next_step
    assert list_parts(survey) == []


def test_an_own_component_takes_part_in_everything(survey: Survey) -> None:
    own = Component("P01", "Parcel carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
    assert add_component(survey, own) == own
    assert list_components(survey)[-1] == own
    assert "P01" in {gap.component.id for gap in list_gaps(survey)}
    part = add_part(survey, "P01")
    add_finding(survey, part.id, "bent", 3, seen="bare")
    assert get_part(survey, part.id).verdict.rulings
    assert "P01" not in {gap.component.id for gap in list_gaps(survey)}


@pytest.mark.parametrize(
    "wrong",
    [
        {"duty": "vital"}, {"part_class": "gizmo"}, {"material": "mithril"}, {"quantity": 0}, {"label": " "},
        {"id": "B052"},
    ],
)  # fmt: skip
def test_an_own_component_uses_the_closed_words(survey: Survey, wrong: dict[str, object]) -> None:
    words: dict[str, object] = {
        "id": "P01", "label": "Carrier", "assembly": "Carrier", "inside": None, "quantity": 1, "duty": "running",
        "part_class": "stay", "material": "steel",
    }  # fmt: skip
    with pytest.raises(BadValue):
        add_component(survey, Component(**{**words, **wrong}))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("part_class", "duty"), [("frame", "running"), ("brake-shoe", "cosmetic"), ("tyre", "paperwork")]
)
def test_a_safety_class_cannot_be_talked_down(survey: Survey, part_class: str, duty: str) -> None:
    """Common practice, no source: what throws the rider when it fails is a safety part on any machine."""
    own = Component("P01", "A thing", "Own additions", None, 1, duty, part_class, "steel", own=True)  # type: ignore[arg-type]
    with pytest.raises(
        BadValue, match=f"class {part_class} cannot be of duty {duty}: it is at least safety"
    ) as refusal:
        add_component(survey, own)
    assert "another class" in refusal.value.next_step
    assert "P01" not in {one.id for one in list_components(survey)}
    unsaid = replace(own, duty=get_default_duty(part_class))
    assert add_component(survey, unsaid).duty == "safety"


def test_an_own_component_does_not_take_the_id_of_another_thing(tmp_path: Path) -> None:
    """A rule may name a catalogue's component: that for a bent mudguard (B170) must not speak of somebody's frame."""
    with make_survey(tmp_path / "auto", "autocycle", "Ferry") as survey:
        own = Component("B170", "Trailer frame", "Own additions", None, 1, "safety", "frame", "steel", own=True)
        with pytest.raises(BadValue, match="'B170' is the id of another component") as refusal:
            add_component(survey, own)
        assert refusal.value.next_step
        add_component(survey, replace(own, id="P01"))


def test_a_part_is_never_graded_for_less_than_its_class(survey: Survey) -> None:
    """A schedule made before the least duties were known may hold a frame that is only "running"."""
    frame = get_part(survey, add_part(survey, "B006").id)
    assert frame.component is not None
    old = replace(frame, component=replace(frame.component, duty="running"))
    assert get_facts(old).duty == "safety"
    lever = get_part(survey, add_part(survey, "B056").id)
    assert get_facts(lever).duty == "running"


def test_an_extra_of_the_catalogue_can_be_taken_in(survey: Survey) -> None:
    extra = get_extra_component(survey, "B021")
    assert extra.id not in {one.id for one in list_components(survey)}
    add_component(survey, extra)
    assert extra.id in {one.id for one in list_components(survey)}


def test_a_finding_its_photo_and_its_mark_are_one_act(survey: Survey, photo: int) -> None:
    part = add_part(survey, "B052")
    found = add_finding(
        survey, part.id, "crack", 2, seen="bare", photo=photo, points=[(0.25, 0.5)], note="by the clamp"
    )
    assert last_batch(survey) == [
        ("add finding", "finding"), ("add finding", "part_photo"), ("add finding", "finding_photo"),
        ("add finding", "mark"),
    ]  # fmt: skip
    assert found.by == "Wren" and found.at == NOW and found.photos == (photo,)
    (mark,) = list_marks(survey, photo)
    assert (mark.finding, mark.part, mark.points) == (found.id, part.id, ((0.25, 0.5),))
    assert get_photo(survey, photo).state == "placed"
    remove_finding(survey, found.id)
    assert list_marks(survey, photo) == [] and get_part(survey, part.id).findings == ()


def test_a_photo_of_a_removed_part_waits_again(survey: Survey, photo: int) -> None:
    part = add_part(survey, "B052", photos=[photo, photo])
    assert get_photo(survey, photo).parts == (part.id,)
    remove_part(survey, part.id)
    assert get_photo(survey, photo).state == "waiting"
    with pytest.raises(NoSuchThing):
        get_part(survey, part.id)


def test_a_removed_part_holds_nothing_and_nothing_points_at_it(survey: Survey, photo: int) -> None:
    tin, ring = (add_part(survey, None, label=name).id for name in ("tin", "ring"))
    change_part(survey, ring, inside=tin)
    of_tin = add_mark(survey, photo, "pin", [(0.1, 0.1)], part=tin)
    of_ring = add_mark(survey, photo, "pin", [(0.9, 0.9)], part=ring)
    remove_part(survey, tin)
    assert get_part(survey, ring).part.inside is None
    assert list_marks(survey, photo) == [of_ring]
    put_back(survey, "part", tin)
    assert get_part(survey, ring).part.inside == tin
    assert list_marks(survey, photo) == [of_tin, of_ring]


def test_photos_set_aside_come_back_when_they_are_placed(survey: Survey, photo: int) -> None:
    set_photos_aside(survey, [photo])
    assert [one.id for one in list_photos(survey, "aside")] == [photo]
    part = add_part(survey, None, label="strange lug")
    assert place_photo(survey, photo, part.id).state == "placed"
    assert unplace_photo(survey, photo, part.id).state == "waiting"


def test_marks_of_three_shapes(survey: Survey, photo: int) -> None:
    part = add_part(survey, "B052")
    add_mark(survey, photo, "box", [(0.1, 0.1), (0.4, 0.5)], part=part.id)
    outline = add_mark(survey, photo, "outline", [(0.1, 0.1), (0.4, 0.5), (0.1, 0.5)])
    assert [mark.shape for mark in list_marks(survey, photo)] == ["box", "outline"]
    remove_mark(survey, outline.id)
    assert [mark.shape for mark in list_marks(survey, photo)] == ["box"]
    for shape, points in (
        ("pin", []),
        ("box", [(0.1, 0.1)]),
        ("outline", [(0.0, 0.0)] * 2),
        ("star", [(0.0, 0.0)]),
        ("pin", [(1.01, 0.5)]),
    ):
        with pytest.raises(BadValue):
            add_mark(survey, photo, shape, points)  # type: ignore[arg-type]


def test_an_unknown_part_is_never_fit(survey: Survey) -> None:
    part = add_part(survey, None, label="strange lug")
    add_look(survey, part.id, seen="bare")
    assert get_part(survey, part.id).verdict.grade != "reuse"


def test_a_part_that_turns_up_ends_what_was_said_of_its_absence(survey: Survey) -> None:
    set_position(survey, "B052", "missing")
    part = add_part(survey, "B052")
    assert "B052" not in {gap.component.id for gap in list_gaps(survey)}
    remove_part(survey, part.id)
    assert {gap.component.id: gap.state for gap in list_gaps(survey)}["B052"] == "not-looked"


def test_naming_an_unknown_part_grades_it(survey: Survey) -> None:
    part = add_part(survey, None, label="bent bar")
    add_finding(survey, part.id, "bent", 3, seen="bare")
    assert change_part(survey, part.id, component="B052").component == "B052"
    assert get_part(survey, part.id).verdict.grade == "replace"
    for wrong in (
        {"component": "Z1"},
        {"colour": "red"},
        {"quantity": 0},
        {"inside": part.id},
        {"material": "mithril"},
    ):
        with pytest.raises((BadValue, NoSuchThing)):
            change_part(survey, part.id, **wrong)


@pytest.mark.parametrize("state", ["missing", "not-fitted", "not-looked", "unseen"])
def test_naming_an_unknown_part_ends_what_was_said_of_its_absence(survey: Survey, state: str) -> None:
    part = add_part(survey, None, label="bent bar")
    set_position(survey, "B052", state, "not in the boxes")  # type: ignore[arg-type]
    set_position(survey, "B053", "missing")
    change_part(survey, part.id, label="a bar")
    assert said_of(survey) == {"B052": state, "B053": "missing"}, "nobody has said yet what it is"
    change_part(survey, part.id, component="B052")
    assert said_of(survey) == {"B053": "missing"}
    assert last_batch(survey) == [("change part", "part"), ("change part", "position")]
    change_part(survey, part.id, component=None)
    assert {gap.component.id: gap.state for gap in list_gaps(survey)}["B052"] == "not-looked"
    undo_act(survey)
    undo_act(survey)
    assert said_of(survey) == {"B052": state, "B053": "missing"}


def test_nothing_is_missing_that_a_part_fills(survey: Survey) -> None:
    bar = add_part(survey, "B052").id
    for state in ("missing", "not-fitted", "not-looked"):
        with pytest.raises(BadValue, match=f"cannot be {state}: part {bar} of this survey answers to it"):
            set_position(survey, "B052", state)  # type: ignore[arg-type]
    set_position(survey, "B052", "wrong")
    add_part(survey, "B068", quantity=get_component(survey, "B068").quantity - 1)
    set_position(survey, "B068", "missing", "one spoke short")
    assert said_of(survey) == {"B052": "wrong", "B068": "missing"}


def test_naming_a_part_leaves_what_was_said_of_the_wrong_one(survey: Survey) -> None:
    part = add_part(survey, None)
    set_position(survey, "B052", "wrong", "off a racer")
    change_part(survey, part.id, component="B052")
    assert said_of(survey) == {"B052": "wrong"}


def said_of(survey: Survey) -> dict[str, str]:
    return {row["component"]: row["state"] for row in survey.store.rows("SELECT component, state FROM position")}


def test_the_latest_reading_of_a_name_counts(survey: Survey) -> None:
    """Rim run-out: DVSA, motorcycle inspection manual: 4 mm lateral for a steel rim."""
    part = add_part(survey, "B067")
    kinds = {kind.id for kind in list_reading_kinds(survey, part.id)}
    lateral = next(name for name in kinds if "lateral" in name and not name.endswith("-book"))
    add_reading(survey, part.id, lateral, "5 mm")
    assert get_part(survey, part.id).verdict.outcome in ("replace", "examine-first", "repair")
    again = add_reading(survey, part.id, lateral, "1.5")
    remove_reading(survey, again.id)
    assert [reading.value for reading in get_part(survey, part.id).readings] == [5.0]
    with pytest.raises(NoSuchThing):
        add_reading(survey, part.id, "blood-pressure", "1 mm")


def test_threads_of_the_browser_door_take_turns(survey: Survey) -> None:
    with ThreadPoolExecutor(8) as crew:
        made = list(crew.map(lambda n: add_part(survey, None, label=f"bolt {n}").id, range(40)))
    assert sorted(made) == sorted(set(made)) and len(list_parts(survey)) == 40


def test_everything_is_there_after_opening_again(survey: Survey, photo: int) -> None:
    part = add_part(survey, "B052", photos=[photo], quantity=2, box="box 3", note="bent left end")
    add_finding(survey, part.id, "bent", 3, seen="bare", photo=photo, points=[(0.5, 0.5)])
    set_own_grade(survey, part.id, "repair", "a friend has a former")
    change_machine(survey, year="1957")
    add_number(survey, "frame", "HP 1057 *")
    before = (list_parts(survey), list_photos(survey), get_machine(survey), list_gaps(survey))
    survey.close()
    with open_survey(survey.folder) as again:
        assert (list_parts(again), list_photos(again), get_machine(again), list_gaps(again)) == before


TEXTS: dict[str, Callable[[Survey, int, int, str], object]] = {
    "label": lambda survey, part, photo, text: change_part(survey, part, label=text),
    "box": lambda survey, part, photo, text: add_part(survey, None, box=text),
    "note of a part": lambda survey, part, photo, text: add_part(survey, None, note=text),
    "note of a finding": lambda survey, part, photo, text: add_finding(survey, part, "crack", 1, note=text),
    "note of a look": lambda survey, part, photo, text: add_look(survey, part, note=text),
    "note of a photo": lambda survey, part, photo, text: change_photo(survey, photo, note=text),
    "note of a position": lambda survey, part, photo, text: set_position(survey, "B053", "missing", text),
    "reason": lambda survey, part, photo, text: set_own_grade(survey, part, "repair", text),
    "reading": lambda survey, part, photo, text: add_reading(survey, part, "rim-lateral", text),
    "tool": lambda survey, part, photo, text: add_reading(survey, part, "rim-lateral", "3 mm", text),
    "number": lambda survey, part, photo, text: add_number(survey, "frame", text),
    "place": lambda survey, part, photo, text: add_number(survey, text, "HP 1057"),
    "machine": lambda survey, part, photo, text: change_machine(survey, maker=text),
    "component": lambda survey, part, photo, text: add_component(
        survey, Component("P01", text, "Carrier", None, 1, "running", "stay", "steel", own=True)
    ),
}


@pytest.mark.parametrize("verb", TEXTS.values(), ids=TEXTS)
def test_text_that_cannot_be_kept_is_refused_by_every_verb(
    survey: Survey, photo: int, verb: Callable[[Survey, int, int, Any], object]
) -> None:
    rim = add_part(survey, "B067").id
    before = len(list_events(survey))
    for text in ("a\0b", "caf\udcff", "x" * 4001, "\x1b[2J", 5, b"rust"):
        with pytest.raises(BadValue) as refusal:
            verb(survey, rim, photo, text)
        assert len(refusal.value.sentence) < 400
    assert len(list_events(survey)) == before


def test_a_long_note_in_many_lines_is_kept_as_it_is(survey: Survey) -> None:
    note = "Box three, under the chain:\n\twrapped in the Dairyman's Gazette \N{RACING MOTORCYCLE} \u05d0\u05d1\n" * 55
    assert add_part(survey, None, note=note).note == note.strip()


@pytest.mark.parametrize("number", [0, -1, 10_001, 10**20, True, 2.0, "2", None], ids=repr)
def test_a_count_is_a_whole_number_within_reason(survey: Survey, number: int) -> None:
    part = add_part(survey, "B052").id
    for verb in (
        lambda: add_part(survey, None, quantity=number),
        lambda: change_part(survey, part, quantity=number),
        lambda: set_quantity(survey, "B068", number),
        lambda: add_component(
            survey, Component("P01", "Carrier", "Carrier", None, number, "running", "stay", "steel", own=True)
        ),
        lambda: add_finding(survey, part, "crack", number if number != "2" else 5),
    ):
        with pytest.raises(BadValue):
            verb()


@pytest.mark.parametrize("number", [10**20, -(10**20), 2**63])
def test_a_number_beyond_counting_is_refused_plainly(survey: Survey, photo: int, number: int) -> None:
    part = add_part(survey, "B052").id
    for verb in (
        lambda: get_part(survey, number),
        lambda: get_photo(survey, number),
        lambda: place_photo(survey, number, part),
        lambda: add_finding(survey, number, "crack", 1),
        lambda: remove_finding(survey, number),
        lambda: add_part(survey, None, inside=number),
        lambda: add_part(survey, None, photos=[number]),
        lambda: get_picture_path(survey, number, "thumb"),
    ):
        with pytest.raises((BadValue, NoSuchThing)):
            verb()


def test_parts_do_not_sit_in_a_ring(survey: Survey) -> None:
    first, second, third = (add_part(survey, None, label=name).id for name in ("tin", "box", "bag"))
    change_part(survey, first, inside=second)
    change_part(survey, second, inside=third)
    for inside in (first, second, third):
        with pytest.raises(BadValue):
            change_part(survey, third, inside=inside)
    assert change_part(survey, first, inside=third).inside == third
    assert change_part(survey, second, inside=None).inside is None
    assert change_part(survey, third, inside=second).inside == second
