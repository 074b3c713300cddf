"""The verbs of the bench: one act, one transaction, one batch of history; nothing half done."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

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
