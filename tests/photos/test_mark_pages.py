"""Marks by address: what the page's script sends and is told, and the plain way beside it."""

from __future__ import annotations

import json
import mimetypes
from pathlib import Path

import pytest
from PIL import Image
from web_client import ORIGIN, CheckedClient
from web_survey import BAR, PLATE
from werkzeug.test import TestResponse

import web
from survey.history.verbs import list_acts
from survey.model.photos import Mark
from survey.photos.verbs import list_marks, take_in_photos
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from web.presenters.photos_marks import marks_json


def asked(client: CheckedClient, address: str, data: dict[str, str]) -> TestResponse:
    """As the page's script sends it."""
    return client.client.post(address, data=data, headers={"Accept": "application/json", "Origin": ORIGIN})


def test_a_mark_is_drawn_moved_and_taken_off_by_a_script(client: CheckedClient, survey: Survey) -> None:
    drawn = asked(client, "/photos/3/marks", {"shape": "box", "at": "0.1,0.2;0.4,0.5", "part": str(BAR)}).get_json()
    mark = drawn["mark"]
    assert drawn["says"] == "Mark drawn."
    assert (mark["shape"], mark["points"], mark["part"]) == ("box", [[0.1, 0.2], [0.4, 0.5]], BAR)
    moved = asked(client, f"/marks/{mark['id']}/move", {"at": "0.2,0.2;0.5,0.5"}).get_json()
    assert moved["mark"] == mark | {"points": [[0.2, 0.2], [0.5, 0.5]]}
    assert [one.points for one in list_marks(survey, 3)] == [((0.2, 0.2), (0.5, 0.5))]
    gone = asked(client, f"/marks/{mark['id']}/remove", {"photo": "3"})
    assert gone.get_json() == {"says": "Mark taken off."} and list_marks(survey, 3) == []


def test_a_form_that_moves_a_mark_is_sent_on_to_its_photo(client: CheckedClient, survey: Survey) -> None:
    pin = next(mark for mark in list_marks(survey, 1) if mark.shape == "pin")
    page = client.send(f"/marks/{pin.id}/move", {"at": "0.75,0.25"})
    assert "Mark moved." in page.words
    assert next(mark for mark in list_marks(survey, 1) if mark.id == pin.id).points == ((0.75, 0.25),)
    assert list_acts(survey, last=1)[0].words.startswith("Mark moved")


def test_an_outline_of_five_hundred_places_is_taken(client: CheckedClient, survey: Survey) -> None:
    places = ";".join(f"{step / 1000:.4f},{step % 7 / 10:.4f}" for step in range(500))
    assert asked(client, "/photos/3/marks", {"shape": "outline", "at": places}).status_code == 200
    assert len(list_marks(survey, 3)[0].points) == 500
    more = asked(client, "/photos/3/marks", {"shape": "outline", "at": places + ";0.5,0.5"})
    assert more.status_code == 400 and "3 to 500 points" in more.get_json()["says"]


@pytest.mark.parametrize(
    ("address", "data", "status", "says"),
    [
        ("/photos/3/marks", {"shape": "star", "at": "0.5,0.5"}, 400, "not among the choices"),
        ("/photos/3/marks", {"shape": "box", "at": "0.5,0.5"}, 400, "has 2 points, not 1"),
        ("/photos/99/marks", {"shape": "pin", "at": "0.5,0.5"}, 404, "There is no photo 99"),
        ("/marks/99/move", {"at": "0.5,0.5"}, 404, "There is no mark 99"),
        ("/marks/99/remove", {"photo": "1"}, 404, "There is no mark 99"),
        ("/marks/1/move", {"at": "1.5,0.5"}, 400, "outside the picture"),
    ],
)
def test_a_script_is_refused_in_words(
    client: CheckedClient, address: str, data: dict[str, str], status: int, says: str
) -> None:
    answer = asked(client, address, data)
    assert answer.status_code == status and answer.mimetype == "application/json"
    assert says in answer.get_json()["says"]


@pytest.mark.parametrize("accept", ["text/html,application/xhtml+xml,*/*;q=0.8", "*/*", ""])
def test_a_browser_gets_pages(client: CheckedClient, accept: str) -> None:
    data = {"shape": "pin", "at": "0.5,0.5"}
    assert client.post("/photos/3/marks", data, 303, headers={"Accept": accept}).status == 303
    page = client.post("/photos/3/marks", data | {"at": "9,9"}, 400, headers={"Accept": accept})
    assert page.all("h1")[0].text == "That was not done"


def test_a_page_tells_its_script_the_marks(client: CheckedClient, survey: Survey) -> None:
    (element,) = client.get(f"/photos/2/mark?part={PLATE}").all("photo-marks")
    (mark,) = list_marks(survey, 2)
    (told,) = json.loads(element["data-marks"])
    assert (told["id"], told["shape"], told["points"]) == (mark.id, "box", [[0.2, 0.2], [0.6, 0.7]])
    assert (element["data-photo"], element["data-part"]) == ("2", str(PLATE))
    assert element["data-action"] == "/photos/2/marks" and element["data-large"] == ""
    pin = Mark(7, 1, BAR, 5, "pin", ((0.5, 0.5),))
    (told,) = json.loads(marks_json([pin], {5: "a1"}, {7: "Pin a1: bent"}))
    assert (told["label"], told["says"], told["finding"]) == ("a1", "Pin a1: bent", 5)


def test_a_larger_picture_is_named_where_there_is_one(client: CheckedClient, survey: Survey, tmp_path: Path) -> None:
    for name in ("wide.jpg", "wide.png"):
        Image.new("RGB", (2600, 1300), "peru" if name.endswith("jpg") else "teal").save(tmp_path / name)
        taken = take_in_photos(survey, [tmp_path / name]).added[0].photo
        address = client.get(f"/photos/{taken}/mark?part={BAR}").all("photo-marks")[0]["data-large"]
        wanted = (
            f"/pictures/{taken}/original" if name.endswith("jpg") else f"/pictures/{taken}/crop?box=0,0,1,1&wide=2400"
        )
        assert address.replace("%2C", ",").startswith(wanted)
        assert client.get(address).response.mimetype == "image/jpeg"


def test_a_script_is_sent_as_a_script_whatever_the_machine_says(tmp_path: Path) -> None:
    mimetypes.add_type("text/plain", ".js")
    make_survey(tmp_path / "new", "autocycle", "Nothing yet").close()
    made = web.create_app(tmp_path / "new")
    for name in ("marks.js", "marks/shapes.js", "uploads.js"):
        assert CheckedClient(made).get(f"/static/js/{name}").response.mimetype == "text/javascript"
    made.extensions["survey"].close()


def test_a_finding_takes_an_outline_of_five_hundred_places_along(client: CheckedClient, survey: Survey) -> None:
    places = ";".join(f"{step / 1000:.4f},{step % 7 / 10:.4f}" for step in range(500))
    sent = {"kind": "bent", "step": "2", "photo": "3", "shape": "outline", "points": places}
    client.send(f"/parts/{BAR}/findings", sent)
    (mark,) = list_marks(survey, 3)
    assert mark.finding is not None and len(mark.points) == 500
