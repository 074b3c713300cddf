"""Placing many photos at once, saying where things are, and finding a photo again."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import photo_factory as make
import pytest

from survey.errors import BadValue, NoSuchThing
from survey.history.verbs import undo_act
from survey.model.photos import Photo
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part, get_part
from survey.photos.verbs import (
    add_mark,
    change_photo,
    get_photo,
    list_marks,
    list_photos,
    move_mark,
    set_photos_aside,
    take_in_photos,
)
from survey.placing.verbs import find_photos, list_boxes, place_photos, set_box, suggest_parts
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.today.verbs import list_next_things


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    """Five photos: three taken close together, two an hour later."""
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find", by="Wren") as made:
        for number, clock in enumerate(("18:00:10", "18:00:40", "18:01:10", "19:10:00", "19:10:30")):
            exif = make.exif(original=f"2026:06:{19 + number // 4:02} {clock}")
            picture = make.picture(image=make.textured(64, 48, number), exif=exif)
            (tmp_path / f"IMG_{number}.jpg").write_bytes(picture)
            take_in_photos(made, [tmp_path / f"IMG_{number}.jpg"])
        yield made


def numbers(found: list[Photo]) -> list[int]:
    return [one.id for one in found]


def test_several_photos_are_placed_in_one_act(survey: Survey) -> None:
    part = add_part(survey, "B006")
    set_photos_aside(survey, [2])
    assert [one.parts for one in place_photos(survey, [1, 2, 2, 3], part.id)] == [(part.id,)] * 3
    assert get_photo(survey, 2).state == "placed"
    undo_act(survey)
    assert [one.state for one in list_photos(survey)][:3] == ["waiting", "aside", "waiting"]


def test_one_wrong_number_places_none(survey: Survey) -> None:
    part = add_part(survey, "B006")
    with pytest.raises(NoSuchThing):
        place_photos(survey, [1, 99], part.id)
    with pytest.raises(BadValue):
        place_photos(survey, [], part.id)
    assert get_photo(survey, 1).state == "waiting"


def test_the_run_tells_what_the_next_photo_shows(survey: Survey) -> None:
    carburettor = add_part(survey, "B144", photos=[1])
    add_part(survey, "B006", photos=[4])
    told = suggest_parts(survey, 2)
    assert told.parts[0].part == get_part(survey, carburettor.id).part
    # common practice, no source: who photographs a carburettor goes on with what is inside it
    assert {one.id for one in told.components[:8]} & {"B146", "B146a", "B146b"}
    assert "B144" not in {one.id for one in told.components}


def test_an_empty_survey_suggests_the_main_pieces(survey: Survey) -> None:
    assert suggest_parts(survey, 1) == suggest_parts(survey, 5)
    told = suggest_parts(survey, 1)
    assert (told.parts, told.components) == ((), ())
    assert {"B006", "B137", "B144"} <= {one.id for one in told.main}  # frame, tank, carburettor


def test_where_things_are(survey: Survey) -> None:
    part = add_part(survey, "B006")
    set_box(survey, " box 10 ", photo_ids=[1, 2])
    set_box(survey, "box 2", photo_ids=[3], part_ids=[part.id])
    assert [(one.name, one.photos, one.parts) for one in list_boxes(survey)] == [("box 2", 1, 1), ("box 10", 2, 0)]
    undo_act(survey)
    assert [one.name for one in list_boxes(survey)] == ["box 10"]


def test_which_way_round_did_that_spacer_sit(survey: Survey) -> None:
    hub = add_part(survey, "B060", photos=[2], box="shelf 1")
    change_photo(survey, 2, note="Spacer sat with the bevel to the bearing", box="box 3")
    add_finding(survey, hub.id, "wear", 2, photo=2, note="brake side")
    assert numbers(find_photos(survey, "SPACER bevel")) == [2]
    assert numbers(find_photos(survey, "brake side")) == [2]
    assert numbers(find_photos(survey, "spacer", box="box 3", finding="wear")) == [2]
    assert numbers(find_photos(survey, "spacer", finding="crack")) == []
    assert numbers(find_photos(survey, since="2026-06-20")) == [5]
    assert numbers(find_photos(survey, until="2026-06-19")) == [1, 2, 3, 4]
    assert numbers(find_photos(survey)) == [1, 2, 3, 4, 5]


def test_a_component_finds_what_is_inside_it_too(survey: Survey) -> None:
    add_part(survey, "B146", photos=[3])
    assert numbers(find_photos(survey, component="B144")) == [3]
    assert numbers(find_photos(survey, component="B006")) == []


def test_other_names_find_it(survey: Survey) -> None:
    """Mudguard and fender are one thing: common practice, no source."""
    add_part(survey, "B170", photos=[4])
    assert numbers(find_photos(survey, "fender")) == [4]


def test_a_mark_is_moved_and_moved_back(survey: Survey) -> None:
    mark = add_mark(survey, 1, "pin", [(0.2, 0.2)])
    assert move_mark(survey, mark.id, [(0.4, 0.5)]).points == ((0.4, 0.5),)
    undo_act(survey)
    assert list_marks(survey, 1)[0].points == ((0.2, 0.2),)
    with pytest.raises(BadValue):
        move_mark(survey, mark.id, [(0.4, 0.5), (0.6, 0.6)])


def test_the_next_things_of_a_fresh_survey_are_its_photos(survey: Survey) -> None:
    told = list_next_things(survey)
    assert [thing.doing for thing in told][:2] == ["place", "place"]
    assert len(told) == 10
