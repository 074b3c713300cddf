"""The working surface without script: several photos at once, where things are, finding a photo, taking back."""

from __future__ import annotations

import pytest
from web_client import CheckedClient

from survey.parts.verbs import add_part, get_part, list_parts
from survey.photos.verbs import change_photo, get_photo
from survey.placing.verbs import suggest_parts
from survey.schedule.verbs import list_positions
from survey.store.survey import Survey
from web.presenters.parts import PAGE_PARTS


def test_several_photos_are_placed_and_the_page_says_so(client: CheckedClient, survey: Survey) -> None:
    sheet = client.get("/photos/?show=waiting")
    assert [one["value"] for one in sheet.all("input") if one["name"] == "photo"] == ["3"]
    page = client.send("/photos/several/new-part", {"photo": ["1", "3"], "component": "B104"})
    assert "Placed, all of them." in page.words
    made = list_parts(survey)[-1].part
    assert (made.component, made.photos) == ("B104", (1, 3))
    client.send("/photos/several/place", {"photo": ["2"], "part": made.id})
    assert get_part(survey, made.id).part.photos == (1, 2, 3)
    client.send("/photos/several/aside", {"photo": ["3"]})
    assert get_photo(survey, 3).state == "aside" or get_photo(survey, 3).parts
    client.send("/photos/several/box", {"photo": ["1", "2"], "box": "box 9"})
    assert [get_photo(survey, one).box for one in (1, 2)] == ["box 9", "box 9"]


def test_nothing_chosen_is_refused_in_words(client: CheckedClient) -> None:
    assert "No photo was chosen." in client.post("/photos/several/aside", {}, 400).words
    assert "No part was chosen." in client.post("/boxes/put", {"box": "shelf"}, 400).words


def test_a_whole_run_is_ticked_by_its_link(client: CheckedClient) -> None:
    sheet = client.get("/photos/")
    links = [one["href"] for one in sheet.all("a") if "run=" in one["href"]]
    assert links
    ticked = client.get(links[0])
    assert len([one for one in ticked.all("input") if one["name"] == "photo" and one.has("checked")]) > 1


def test_parts_are_moved_together(client: CheckedClient, survey: Survey) -> None:
    page = client.send("/boxes/put", {"part": ["1", "2"], "box": "with a friend"})
    assert "With a friend" in next(one.text for one in page.all("h2"))
    assert {get_part(survey, one).part.box for one in (1, 2)} == {"with a friend"}


@pytest.mark.parametrize(
    ("asked", "found"), [("q=spacer+bevel", {"2"}), ("box=box+3&q=bevel", {"2"}), ("q=bevel&box=box+1", set())]
)
def test_a_photo_is_found_again(client: CheckedClient, survey: Survey, asked: str, found: set[str]) -> None:
    change_photo(survey, 2, note="Spacer sat with the bevel to the bearing", box="box 3")
    page = client.get(f"/photos/?{asked}")
    assert {one["value"] for one in page.all("input") if one["name"] == "photo"} == found


def test_the_last_act_is_taken_back_on_every_page(client: CheckedClient, survey: Survey) -> None:
    client.send("/photos/3/new-part", {"component": "B104"})
    page = client.get("/gaps/")
    assert "Done last: Part recorded: part" in page.html
    client.send("/undo", page.form("/undo"))
    assert get_photo(survey, 3).state == "waiting"
    client.send("/redo", client.get("/").form("/redo"))
    assert get_photo(survey, 3).state == "placed"


def test_an_act_that_another_page_followed_is_not_taken_back(client: CheckedClient, survey: Survey) -> None:
    client.send("/photos/3/new-part", {"component": "B104"})
    old = client.get("/").form("/undo")
    change_photo(survey, 1, note="seen since")
    assert "Something else was done since" in client.post("/undo", old, 409).words
    assert get_photo(survey, 3).state == "placed"


def test_one_press_of_the_palette_says_kind_and_step(client: CheckedClient, survey: Survey) -> None:
    client.send("/photos/3/new-part", {"component": "B104"})
    page = client.get("/photos/3")
    part = get_photo(survey, 3).parts[0]
    press = next(one for one in page.all("button") if one["value"] == "crack:2")
    form = page.form(f"/parts/{part}/findings")
    client.send(f"/parts/{part}/findings", {**form, "found": press["value"]})
    (finding,) = get_part(survey, part).findings
    assert (finding.kind, finding.step, finding.photos) == ("crack", 2, (3,))


def test_the_photo_page_offers_what_lies_near_first(client: CheckedClient, survey: Survey) -> None:
    page = client.get("/photos/3")
    chips = [form for form in page.all("form") if "chips" in form["class"]]
    offered = [one["value"] for one in page.all("button") if one.within("form") in chips]
    told = suggest_parts(survey, 3)
    near = [str(one.part.id) for one in told.parts] + [one.id for one in (*told.components, *told.main)]
    assert offered[: len(near)] == near  # the whole schedule follows, by assembly


PRESS = {"HX-Request": "true"}


def test_a_press_on_gaps_is_answered_with_the_row_alone(client: CheckedClient, survey: Survey) -> None:
    answer = client.client.post(
        "/gaps/answer", data={"component": "B009", "state": "missing"}, headers={"Origin": "http://localhost", **PRESS}
    )
    assert answer.status_code == 200
    assert 'id="row-B009"' in answer.text and "<html" not in answer.text
    assert 'hx-swap-oob="true"' in answer.text and "Answer recorded." in answer.text
    assert next(one for one in list_positions(survey) if one.component.id == "B009").state == "missing"


def test_here_on_gaps_records_what_is_still_wanted(client: CheckedClient, survey: Survey) -> None:
    add_part(survey, "B068", quantity=30)
    client.send("/gaps/answer", {"component": "B068", "state": "here", "show": "all"})
    assert [one.part.quantity for one in list_parts(survey) if one.part.component == "B068"] == [30, 6]


@pytest.mark.parametrize("address", ["/gaps/", "/gaps/?show=all"])
def test_every_open_position_has_every_answer_at_one_press(client: CheckedClient, address: str) -> None:
    page = client.get(address)
    strips = [form for form in page.all("form") if "one-press" in form["class"]]
    assert len(strips) > 200
    wanted = ["here", "missing", "wrong", "unseen", "not-fitted", "not-looked"]
    offered = {tuple(one["value"] for one in page.all("button") if one.within("form") is strip) for strip in strips[:5]}
    assert offered == {tuple(wanted)}


def test_many_parts_stand_on_several_pages(client: CheckedClient, survey: Survey) -> None:
    with survey.together():
        for _ in range(PAGE_PARTS):
            add_part(survey, "B068")
    first, last = client.get("/parts/"), client.get("/parts/?page=99")
    assert "Page 1 of 2" in first.words and "Page 2 of 2" in last.words
    listed = [one["href"] for page in (first, last) for one in page.all("a") if one.within("h3")]
    assert len(listed) == len(set(listed)) == len(list_parts(survey))
