"""The browser door: numbers that agree with the report, names and ways that can be read, text that cannot harm."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from web_client import CheckedClient
from web_survey import BAR, PLATE

from survey.grading.reasons import number_findings
from survey.machine.verbs import add_number
from survey.parts.finding_verbs import add_finding, get_default_seen, list_finding_kinds
from survey.parts.verbs import add_part, get_part
from survey.photos.verbs import change_photo, get_photo, list_photos, take_in_photos
from survey.placing.verbs import suggest_parts
from survey.schedule.verbs import list_components
from survey.store.survey import Survey
from web import forms
from web.pages.photos_upload import sent_name
from web.presenters.schedule_picker import matches
from web.words import describe_camera


def labels(client: CheckedClient, address: str) -> list[str]:
    """What stands beside the marks of a page's pictures."""
    return [one.text for one in client.get(address).all("text") if one["class"] == "badge-number"]


def test_a_finding_has_one_number_on_every_page_and_in_the_report(client: CheckedClient, survey: Survey) -> None:
    add_finding(survey, BAR, "dent", 2, seen="bare", photo=3, points=[(0.7, 0.7)])
    second = add_finding(survey, BAR, "wear", 2, seen="bare", photo=3, points=[(0.2, 0.2)])
    report = client.get("/report/page")
    on_paper = [one.text for one in report.all("span") if one["class"] == "badge"]
    assert {"1", "2", "3"} <= set(on_paper)
    assert labels(client, "/photos/3") == ["2", "3"], "as in the report, though the photo shows no finding 1"
    assert number_findings(get_part(survey, BAR).findings)[second.id] == 3
    label = next(kind.label for kind in list_finding_kinds() if kind.id == "wear")
    worn = next(one for one in report.all("li") if one.text.strip().startswith(f"3{label}"))
    assert worn.within("article") is not None


def test_two_parts_in_one_picture_are_told_apart_by_letters(client: CheckedClient, survey: Survey) -> None:
    add_finding(survey, PLATE, "pitting", 1, seen="bare", photo=1, points=[(0.9, 0.9)])
    assert sorted(labels(client, "/photos/1")) == ["a1", "b2"]
    shows = client.get("/photos/1").by_id("shows").text
    assert "a1" in shows and "b2" in shows


def test_a_ruling_that_two_findings_give_is_told_once_with_both(client: CheckedClient, survey: Survey) -> None:
    part = add_part(survey, "B170").id
    add_finding(survey, part, "bent", 2, seen="paint")
    add_finding(survey, part, "dent", 2, seen="paint")
    rulings = [ruling.rule for ruling in get_part(survey, part).verdict.rulings]
    assert len(rulings) > len(set(rulings)), "the two give the same ruling"
    told = [one for one in client.get(f"/parts/{part}").all("li") if one["class"] == "ruling"]
    assert len(told) == len(set(rulings))
    numbers = [[badge.text for badge in one.walk() if badge["class"] == "badge-word"] for one in told]
    assert ["1", "2"] in numbers


@pytest.mark.parametrize(
    ("make", "model", "said"),
    [
        ("Corvale", "Corvale Lantern 3", "Corvale Lantern 3"), ("CORVALE", "Corvale Lantern 3", "Corvale Lantern 3"),
        ("Corvale", "Lantern 3", "Corvale Lantern 3"), ("Corvale", "Corvales", "Corvale Corvales"),
        ("Corvale", "", "Corvale"), ("", "Lantern 3", "Lantern 3"), ("", "", ""),
    ],
)  # fmt: skip
def test_a_camera_is_named_once(make: str, model: str, said: str) -> None:
    assert describe_camera(make, model) == said


def test_results_of_a_zip_name_the_zip_and_the_entry(client: CheckedClient, survey: Survey) -> None:
    from PIL import Image

    picture, packed = io.BytesIO(), io.BytesIO()
    Image.new("RGB", (80, 60), "maroon").save(picture, "PNG")
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("evening/one.png", picture.getvalue())
        archive.writestr("evening/notes.txt", "no picture at all")
    sent = {"photos": [(io.BytesIO(packed.getvalue()), "boxes.zip")]}
    page = client.post("/photos/add", sent, 200, content_type="multipart/form-data")
    assert "boxes.zip: evening/one.png" in page.links
    assert "boxes.zip: evening/notes.txt" in page.words and "teachest-" not in page.html


def test_what_was_sent_is_called_by_its_name() -> None:
    room = Path("/rooms/one")
    assert sent_name("/rooms/one/0/IMG_1.jpg", room) == "IMG_1.jpg"
    assert sent_name("/rooms/one/12/a.zip/DCIM/IMG_1.jpg", room) == "a.zip: DCIM/IMG_1.jpg"


def test_a_part_is_recorded_with_the_photo_that_shows_it(client: CheckedClient, survey: Survey) -> None:
    form = client.get("/parts/new?photo=3").form("/parts/new")
    assert form["photo"] == "3"
    client.send("/parts/new", {**form, "component": "B110"})
    assert get_photo(survey, 3).state == "placed"
    refused = client.get("/parts/new?photo=999", 404)
    assert "There is no photo 999 in this survey." in refused.words


@pytest.mark.parametrize(
    "referrer",
    [
        "http://localhost//evil.example", "http://localhost///evil.example/x", "http://localhost/\\evil.example",
        "http://localhost\\@evil.example/", "http://localhost.evil.example/", "http://evil.example/", "//evil.example",
        "http://localhost@evil.example/x", "javascript:alert(1)", "https://localhost/parts/", "http://localhost:99/",
        "http://[broken", "", "http://localhost/\tparts",
    ],
)  # fmt: skip
def test_the_way_back_stays_here(client: CheckedClient, referrer: str) -> None:
    page = client.get("/photos/99", 404, headers={"Referer": referrer})
    assert page.links["Back to where you were"] == "/"


def test_the_way_back_leads_to_the_page_before(client: CheckedClient) -> None:
    page = client.get("/photos/99", 404, headers={"Referer": "http://localhost/parts/?grade=repair&q=a+b"})
    assert page.links["Back to where you were"] == "/parts/?grade=repair&q=a+b"


@pytest.mark.parametrize("said", ["a\x00b", "a\x1bb", "a\u202eb", "a\ud800b", "a\x85b"])
def test_characters_that_nobody_wrote_are_left_out(said: str) -> None:
    assert forms.text({"note": said}, "note") == "ab"
    assert forms.as_written({"note": f" {said}  "}, "note") == " ab  "


def test_no_form_takes_it_that_a_safety_part_was_seen_bare(client: CheckedClient, survey: Survey) -> None:
    """A coat hides cracks; nobody is credited with a bare look that was not taken (common practice, no source)."""
    for component in [one for one in list_components(survey) if one.duty == "safety"]:
        assert get_default_seen(component) != "bare", component.label
    for page in (f"/parts/{BAR}/look", f"/parts/{BAR}/find?kind=bent", "/photos/1"):
        chosen = [one["value"] for one in client.get(page).all("input") if one["name"] == "seen" and one.has("checked")]
        assert set(chosen) == {"paint"}, page


def test_a_component_is_found_by_any_of_its_names(client: CheckedClient, survey: Survey) -> None:
    page = client.get("/photos/3?what=gas+tank")
    radios = [one for one in page.all("input") if one["name"] == "component"]
    tank = next(one for one in list_components(survey) if "gas tank" in one.names)
    assert tank.id in {one["value"] for one in radios} and radios[-1]["value"] == "unknown"
    assert tank.label in page.by_id("place").text
    shown = {one["value"] for one in radios if one["value"] != "unknown"}
    assert shown == {one.id for one in list_components(survey) if matches(one, "gas tank")}
    placed = client.send("/photos/3/new-part", {"component": tank.id, "quantity": "1"})
    assert tank.label in placed.by_id("shows").text


def test_the_only_answer_is_chosen_and_none_leaves_unknown(client: CheckedClient, survey: Survey) -> None:
    wanted = [one.id for one in list_components(survey) if matches(one, "headlight bezel")]
    assert wanted == ["B160a"]
    assert client.get("/parts/new?what=headlight+bezel").form("/parts/new")["component"] == "B160a"
    none = client.get("/parts/new?what=sidecar+wheel&photo=3")
    assert "0 answers" in none.words
    assert [one["value"] for one in none.all("input") if one["name"] == "component"] == ["unknown"]
    assert "/parts/new?photo=3#place" in none.links.values(), "the way out of the search keeps the photo"


def test_likely_components_come_first_and_other_names_are_told(client: CheckedClient, survey: Survey) -> None:
    change_photo(survey, 3, box="Box 3")
    page = client.get("/photos/3")
    groups = [one["label"] for one in page.all("optgroup") if one.within("select")["name"] == "component"]  # type: ignore[index]
    assert groups[0] == "Likely, from what lies near it"
    select = next(one for one in page.all("select") if one["name"] == "component")
    likely = [one["value"] for one in select.children[2].children]
    assert likely == [one.id for one in suggest_parts(survey, 3).components] and likely
    assert groups[1:] == list(dict.fromkeys(one.assembly for one in list_components(survey)))
    options = [one.text for one in page.all("option")]
    for one in list_components(survey):
        assert any(text.startswith(one.label) and all(name in text for name in one.names) for text in options)


def test_a_stamped_number_does_not_break_in_itself(client: CheckedClient, survey: Survey) -> None:
    """Blanks in a number are part of it: on a narrow page it stays one line, unless no line could hold it."""
    add_number(survey, "gearbox", "7 " * 60)
    report = [one for one in client.get("/report/page").all("td") if one["class"].startswith("stamped")]
    assert (report[0].text, report[0]["class"]) == ("HP57 1182 *", "stamped")
    assert report[1]["class"] == "stamped long"
    for address, rule in (("/static/teachest.css", ".stamped {"), ("/report/style.css", ".stamped {")):
        sheet = client.get(address).response.get_data(as_text=True)
        assert "white-space: pre;" in sheet.partition(rule)[2].partition("}")[0]


def test_the_time_of_sending_is_no_time_of_a_photo(client: CheckedClient, survey: Survey) -> None:
    from PIL import Image

    picture = io.BytesIO()
    Image.new("RGB", (70, 50), "indigo").save(picture, "PNG")
    sent = {"photos": [(io.BytesIO(picture.getvalue()), "plain.png")]}
    page = client.post("/photos/add", sent, 200, content_type="multipart/form-data")
    assert page.all("h1")[0].text == "1 photo taken in"
    photo = next(one for one in list_photos(survey) if one.name == "plain.png")
    assert (photo.taken, photo.taken_from) == (None, None)
    assert "no time is known" in client.get(f"/photos/{photo.id}").words
    again = {"photos": [(io.BytesIO(picture.getvalue()), "plain.png")]}
    page = client.post("/photos/add", again, 200, content_type="multipart/form-data")
    assert page.all("h1")[0].text == "No new photo taken in"


def test_photos_taken_singly_are_not_chosen_as_one_run(client: CheckedClient, survey: Survey, tmp_path: Path) -> None:
    from PIL import Image

    for number in (1, 2):
        exif = Image.Exif()
        exif.get_ifd(0x8769)[0x9003] = f"2026:06:0{number + 7} 08:00:00"
        Image.new("RGB", (64, 48), (number, 90, 40)).save(tmp_path / f"lone{number}.jpg", exif=exif)
    take_in_photos(survey, [tmp_path / "lone1.jpg", tmp_path / "lone2.jpg"])
    page = client.get("/photos/")
    heads = [one.text for one in page.all("h2")]
    assert heads[1].startswith("Taken singly, 7 June 2026, 10:15 to 9 June 2026, 08:00") and "3 photos" in heads[1]
    assert [one for one in page.links if "whole run" in one] == ["Choose the whole run"], "of the real run alone"
    lone = client.get("/photos/?run=3")
    assert not [one for one in lone.all("input") if one["name"] == "photo" and one.has("checked")]
