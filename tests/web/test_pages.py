"""The browser door: every page, what can be said on it, and how it refuses."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from flask import Flask
from web_client import CheckedClient, Page, page_faults
from web_survey import BAR, LUG, PLATE, RIM
from web_visits import LEADS_ON, VISITS
from werkzeug.test import TestResponse
from werkzeug.wrappers import Response

import web
from survey.history.verbs import list_events
from survey.machine.verbs import add_number, change_machine, get_machine
from survey.model.schedule import Component
from survey.parts.finding_verbs import add_finding, add_look, list_finding_kinds
from survey.parts.verbs import add_part, get_part, list_parts, set_own_grade
from survey.photos.verbs import change_photo, get_photo, get_picture_path, list_marks, list_photos, take_in_photos
from survey.schedule.verbs import add_component, get_component, list_positions, set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[CheckedClient]:
    make_survey(tmp_path / "new", "autocycle", "Nothing yet").close()
    made = web.create_app(tmp_path / "new")
    yield CheckedClient(made)
    made.extensions["survey"].close()


def test_every_address_is_visited(app: Flask) -> None:
    answering = {rule.rule for rule in app.url_map.iter_rules() if "GET" in (rule.methods or ())}
    assert answering == set(VISITS) | LEADS_ON


@pytest.mark.parametrize("address", [address for visits in VISITS.values() for address in visits])
def test_every_page_is_sound(client: CheckedClient, address: str) -> None:
    page = client.get(address)
    if page.is_html and address != "/report/page":
        assert "None" not in page.words.split()


@pytest.mark.parametrize("address", ["/", "/photos/", "/parts/", "/parts/new", "/gaps/", "/report/", "/report/page",
                                     "/rules/", "/machine", "/photos/add"])  # fmt: skip
def test_every_section_of_an_empty_survey_is_sound(empty: CheckedClient, address: str) -> None:
    assert len(empty.get(address).words) > 40


def test_an_empty_survey_explains_itself_in_three_sentences_and_one_button(empty: CheckedClient) -> None:
    page = empty.get("/")
    first = next(one for one in page.all("div") if one["class"] == "first")
    assert [one.text.count(".") for one in first.children if one.tag == "p"] == [1, 1, 1, 0]
    assert page.links == {"Add the first photos": "/photos/add"}


def test_today_says_what_waits(client: CheckedClient) -> None:
    page = client.get("/")
    ledger = [" ".join(one.text.split()) for one in page.all("li") if one.within("main")]
    assert ledger[0] == "Photos to be placed 1"
    assert page.links["Photos to be placed"] == "/photos/?show=waiting"
    assert "Front brake plate" in page.by_id("owed").text
    assert "Front brake lever" in page.by_id("stops").text and "never in the boxes" in page.by_id("stops").text


def test_the_contact_sheet_keeps_runs_together(client: CheckedClient) -> None:
    page = client.get("/photos/")
    assert [" ".join(one.text.split()) for one in page.all("h2") if one.within("main")] == [
        "6 June 2026, 19:02 to 19:03 2 photos", "7 June 2026, 10:15 1 photo",
    ]  # fmt: skip
    pictures = page.all("img")
    assert [(one["width"], one["height"], one["loading"]) for one in pictures] == [
        ("480", "360", "lazy"), ("360", "480", "lazy"), ("480", "360", "lazy"),
    ]  # fmt: skip
    assert len(client.get("/photos/?show=waiting").all("img")) == 1


def test_a_photo_page_shows_marks_facts_and_parts(client: CheckedClient) -> None:
    page = client.get("/photos/1")
    overlay = next(one for one in page.all("svg") if one["class"] == "overlay")
    pin = next(one for one in overlay.children if one.tag == "svg" and one["x"])
    assert (pin["x"], pin["y"]) == ("25.00%", "50.00%")
    assert page.all("polygon")[0]["points"] == "10.00,10.00 50.00,10.00 50.00,60.00"
    for fact in ("box1.jpg", "640 × 480 pixels", "19:02, by the camera’s clock"):
        assert fact in page.words
    assert page.links["Handlebar"] == f"/parts/{BAR}"
    assert "Bent" in page.by_id("shows").text


def test_a_waiting_photo_is_placed_on_a_new_part(client: CheckedClient, survey: Survey) -> None:
    page = client.send("/photos/3/new-part", {"component": "B110", "label": "", "quantity": "1"})
    assert "Cylinder barrel" in page.by_id("shows").text and "Part recorded and photo placed." in page.words
    assert get_photo(survey, 3).state == "placed"
    made = get_photo(survey, 3).parts[0]
    assert "What does it show?" in client.send("/photos/3/unplace", {"part": made}).words
    assert "Cylinder barrel" in client.send("/photos/3/place", {"part": made}).by_id("shows").text


def test_a_part_nobody_knows_yet_is_recorded_as_such(client: CheckedClient, survey: Survey) -> None:
    client.send("/photos/3/new-part", {"component": "unknown", "label": "bent strap", "quantity": ""})
    part = get_part(survey, get_photo(survey, 3).parts[0])
    assert (part.part.component, part.part.label, part.part.quantity) == (None, "bent strap", 1)
    refused = client.post("/photos/3/new-part", {"component": "", "label": "x"}, 400)
    assert "Nobody said what the part is." in refused.words


def test_a_finding_is_recorded_in_two_steps_with_a_mark(client: CheckedClient, survey: Survey) -> None:
    kinds = client.get(f"/parts/{PLATE}/find?photo=2")
    steps = client.get(kinds.links["Pits"])
    for step in next(kind for kind in list_finding_kinds() if kind.id == "pitting").steps:
        assert step.looks_like in steps.words
    clicked = client.client.get(f"/parts/{PLATE}/find?photo=2&kind=pitting&shape=pin&w=288&pick.x=144&pick.y=96")
    marked = client.get(clicked.headers["Location"].split("#")[0])
    sent = marked.form(f"/parts/{PLATE}/findings")
    assert (sent["at"] == "0.5000,0.2500" and sent["seen"] == "bare") or sent["seen"] == "paint"
    page = client.send(f"/parts/{PLATE}/findings", {**sent, "step": "2", "seen": "bare", "note": "by the anchor"})
    assert page.response.request.path == "/photos/2"
    found = get_part(survey, PLATE).findings[-1]
    assert (found.kind, found.step, found.seen, found.note) == ("pitting", 2, "bare", "by the anchor")
    assert [mark.points for mark in list_marks(survey, 2) if mark.finding == found.id] == [((0.5, 0.25),)]


def test_a_box_takes_two_presses_and_a_third_begins_anew(client: CheckedClient, survey: Survey) -> None:
    def press(at: str, x: int, y: int) -> str:
        answer = client.client.get(f"/photos/1/mark?part=1&shape=box&at={at}&w=352&pick.x={x}&pick.y={y}")
        assert answer.status_code == 303
        page = client.get(answer.headers["Location"].split("#")[0])
        return next(one["value"] for one in page.all("input") if one["name"] == "at")

    one = press("", 88, 66)
    two = press(one, 264, 198)
    assert (one, two) == ("0.2500,0.2500", "0.2500,0.2500;0.7500,0.7500")
    assert press(two, 0, 0) == "0.0000,0.0000"
    page = client.send("/photos/1/marks", {"part": "1", "shape": "box", "at": two})
    made = list_marks(survey, 1)[-1]
    assert made.shape == "box" and made.points == ((0.25, 0.25), (0.75, 0.75))
    assert "Marks on the picture: 3" in page.words
    assert "Marks on the picture: 2" in client.send(f"/marks/{made.id}/remove", {"photo": "1"}).words


def test_a_place_can_be_given_in_figures(client: CheckedClient) -> None:
    """WCAG 2.2, success criteria 2.1.1 and 2.5.7: what is done by pointing can be done without."""
    answer = client.client.get("/photos/1/mark?part=1&shape=pin&across=30&down=70")
    assert "at=0.3000,0.7000" in answer.headers["Location"]
    assert "pin" in client.get("/photos/1/mark?part=1").links["A pin"]


def test_half_a_box_does_not_lose_the_finding(client: CheckedClient, survey: Survey) -> None:
    form = {"kind": "dent", "step": "2", "photo": "1", "shape": "box", "at": "0.2,0.2"}
    client.send(f"/parts/{BAR}/findings", form)
    found = get_part(survey, BAR).findings[-1]
    assert found.kind == "dent" and found.photos == (1,)
    assert not [mark for mark in list_marks(survey, 1) if mark.finding == found.id]


def test_nothing_wrong_seen_is_recorded_and_taken_back(client: CheckedClient, survey: Survey) -> None:
    client.send(f"/parts/{LUG}/looks", {"seen": "bare", "note": "wiped clean", "photo": "3"})
    look = get_part(survey, LUG).looks[0]
    assert (look.seen, look.note, look.photos) == ("bare", "wiped clean", (3,))
    page = client.send(f"/parts/{LUG}/looks/{look.id}/remove")
    assert "Nobody has said anything of it yet" in page.words


def test_a_part_page_tells_every_reason(client: CheckedClient, survey: Survey) -> None:
    page = client.get(f"/parts/{PLATE}")
    for ruling in get_part(survey, PLATE).verdict.rulings:
        rulings = " ".join(page.by_id("rulings").text.split())
        for said in (ruling.because, ruling.remedy, ruling.caution, ruling.argument, ruling.source, ruling.rule):
            assert said in rulings
        row = client.get(f"/rules/row/{ruling.rule}", 303).response.headers["Location"]
        address, _, anchor = row.partition("#")
        assert ruling.because in client.get(address).by_id(anchor).text
    assert "your own: Repair" in page.words and "an alloy welder has done two of these" in page.words


def test_an_own_grade_stands_beside_the_ruling(client: CheckedClient) -> None:
    page = client.send(f"/parts/{BAR}/grade", {"grade": "repair", "reason": "a friend has a former"})
    verdict = next(one for one in page.all("p") if one["class"] == "verdict")
    assert verdict.text.split() == ["Replace", "your", "own:", "Repair"]
    assert "needs a reason" in client.post(f"/parts/{BAR}/grade", {"grade": "reuse", "reason": " "}, 400).words
    back = client.send(f"/parts/{BAR}/grade", {"grade": ""})
    assert "your own" not in back.words


def test_readings_findings_and_particulars_change(client: CheckedClient, survey: Survey) -> None:
    page = client.get(f"/parts/{RIM}")
    name = next(one["value"] for one in page.all("input") if one["name"] == "name")
    client.send(f"/parts/{RIM}/readings", {"name": name, "written": "3/16 in", "tool": "rule"})
    reading = get_part(survey, RIM).readings[-1]
    assert reading.written == "3/16 in"
    client.send(f"/parts/{RIM}/readings/{reading.id}/remove")
    assert reading.id not in {one.id for one in get_part(survey, RIM).readings}
    assert client.post(f"/parts/{RIM}/readings", {"name": name, "written": "a fair bit"}, 400)
    assert "No reading was chosen" in client.post(f"/parts/{RIM}/readings", {"written": "1 mm"}, 400).words
    finding = get_part(survey, BAR).findings[0]
    assert "Removed." in client.send(f"/parts/{BAR}/findings/{finding.id}/remove").words
    form = {**client.get(f"/parts/{LUG}").form(f"/parts/{LUG}/change"), "component": "B110", "box": "shelf"}
    form |= {"quantity": "2", "inside": str(RIM), "material": "cast-iron"}
    changed = client.send(f"/parts/{LUG}/change", form)
    assert "Engine · B110" in changed.words and "inside Front wheel rim" in changed.words
    part = get_part(survey, LUG).part
    assert (part.quantity, part.box, part.inside, part.material) == (2, "shelf", RIM, "cast-iron")
    assert part.label == "strange lug"


def test_a_form_sent_back_unchanged_changes_nothing(client: CheckedClient, survey: Survey) -> None:
    for part in (BAR, PLATE, RIM, LUG):
        before = get_part(survey, part)
        client.send(f"/parts/{part}/change", client.get(f"/parts/{part}").form(f"/parts/{part}/change"))
        assert get_part(survey, part) == before
    before_machine = get_machine(survey)
    client.send("/machine", client.get("/machine").form("/machine"))
    assert get_machine(survey) == before_machine


def test_parts_are_found_by_their_words_and_other_names(client: CheckedClient) -> None:
    assert "Handlebar" in client.get("/parts/?q=box+3").words
    assert "Handlebar" in client.get("/parts/?q=smooth+curve").words
    assert "Handlebar" not in client.get("/parts/?q=lug").words
    assert "No part answers to that." in client.get("/parts/?q=sidecar").words


def test_a_part_is_recorded_and_removed(client: CheckedClient, survey: Survey) -> None:
    page = client.send("/parts/new", {"component": "B170", "label": "", "quantity": "1", "box": "loft", "note": "n"})
    made = list_parts(survey)[-1]
    assert page.response.request.path == f"/parts/{made.part.id}" and made.part.box == "loft"
    assert "Part removed." in client.send(f"/parts/{made.part.id}/remove").words
    assert client.get(f"/parts/{made.part.id}", 404)


def test_a_position_is_answered_and_the_answer_taken_back(client: CheckedClient, survey: Survey) -> None:
    states = lambda: {one.component.id: one.state for one in list_positions(survey)}  # noqa: E731
    for state in ("missing", "wrong", "unseen", "not-fitted"):
        client.send("/gaps/answer", {"component": "B159", "state": state, "note": "looked twice", "show": "all"})
        assert states()["B159"] == state
    client.send("/gaps/answer", {"component": "B159", "state": "", "show": "gaps"})
    assert states()["B159"] == "not-looked"
    assert client.post("/gaps/answer", {"component": "B052", "state": "missing"}, 400)
    page = client.send("/gaps/here", {"component": "B159", "quantity": "1"})
    assert states()["B159"] == "here" and page.response.request.path.startswith("/parts/")
    client.send("/gaps/quantity", {"component": "B068", "quantity": "40", "show": "all"})
    assert get_component(survey, "B068").quantity == 40


def test_the_tree_holds_gaps_under_the_parts_that_hold_them(client: CheckedClient) -> None:
    page = client.get("/gaps/?show=all")
    inner = page.by_id("row-B077")
    holder = inner.within("ul")
    assert holder is not None and holder.parent is not None
    assert any(one["id"] == "row-B076" for one in holder.parent.children)


def test_gaps_open_on_what_is_really_gone(client: CheckedClient, survey: Survey) -> None:
    add_part(survey, "B068", quantity=33)
    set_position(survey, "B144", "unseen")
    set_position(survey, "B159", "not-fitted")
    page = client.get("/gaps/")
    sections = [one["id"].removeprefix("state-") for one in page.all("section")]
    assert sections == ["missing", "short", "unseen", "not-looked", "not-fitted"]
    gone = [one["id"] for one in page.by_id("state-missing").walk() if one.tag == "details" and one["id"]]
    assert gone == ["B055"]
    stands = list_positions(survey)
    shown = [one["id"] for one in page.all("details") if one["id"]]
    assert sorted(shown) == sorted(one.component.id for one in stands if one.state != "here"), "each once"
    for state in ("missing", "short", "unseen", "not-looked"):
        count = sum(one.state == state for one in stands)
        jump = next(one for one in page.all("a") if one["href"] == f"#state-{state}")
        assert jump.parent is not None and jump.parent.text.split()[-1] == str(count)
    wrong = next(one for one in page.all("li") if one.text.startswith("Here but wrong"))
    assert wrong.text == "Here but wrong 0", "said even where there is none, and leads nowhere"


def test_the_machine_and_its_numbers(client: CheckedClient, survey: Survey) -> None:
    form = {**client.get("/machine").form("/machine"), "maker": "Haldane-Pike", "year": "1957"}
    assert 'value="Haldane-Pike"' in client.send("/machine", form).html
    client.send("/machine/numbers", {"place": "crankcase", "text": " F 1182", "note": ""})
    number = get_machine(survey).numbers[-1]
    assert number.text == " F 1182", "characters as they stand, blanks too"
    client.send(f"/machine/numbers/{number.id}/remove")
    assert number not in get_machine(survey).numbers


def test_photos_are_set_aside_noted_and_brought_back(client: CheckedClient, survey: Survey) -> None:
    client.send("/photos/3/aside", {"aside": "yes"})
    assert get_photo(survey, 3).state == "aside"
    assert "Bring it back" in client.get("/photos/3").words
    client.send("/photos/3/aside", {"aside": "no"})
    client.send("/photos/3/note", {"note": "which way round", "box": "Box 7"})
    photo = get_photo(survey, 3)
    assert (photo.state, photo.note, photo.box) == ("waiting", "which way round", "Box 7")


def test_upload_tells_how_each_file_ended(client: CheckedClient, survey: Survey, tmp_path: Path) -> None:
    from PIL import Image

    picture = io.BytesIO()
    Image.new("RGB", (90, 60), "navy").save(picture, "PNG")
    again = get_picture_path(survey, 1, "original").read_bytes()
    sent = [
        (io.BytesIO(picture.getvalue()), "C:/phone/../new one.png"),
        (io.BytesIO(again), "copy.jpg"),
        (io.BytesIO(b"%!PS-Adobe-3.0 EPSF"), "../../etc/passwd.jpg"),
        (io.BytesIO(picture.getvalue()), "CON.png"),
    ]
    page = client.post("/photos/add", {"photos": sent}, 200, content_type="multipart/form-data")
    heads = [" ".join(one.text.split()) for one in page.all("h1", "h2") if one.within("main")]
    assert heads == ["1 photo taken in", "Refused 1", "Already here 2", "Taken in 1"]
    assert {photo.name for photo in list_photos(survey)} == {"box1.jpg", "box2.jpg", "box3.jpg", "new one.png"}
    assert "passwd.jpg" in page.words and str(tmp_path) not in page.html
    assert "No photo was chosen." in client.post("/photos/add", {}, 400).words


@pytest.mark.parametrize(
    "sent", ["", ".", "..", "/", "a/..", "nul", "COM1.jpg", "a\x00b.jpg", "x" * 400 + ".jpg", "<b>.png"]
)
def test_a_file_name_is_made_plain(sent: str) -> None:
    from web.pages.photos_upload import plain_name

    name = plain_name(sent)
    assert name and name not in (".", "..") and len(name) <= 121
    assert not set(name) & set('/\\\x00<>:"|?*')
    assert name.split(".")[0].lower() not in ("con", "nul", "com1")
    assert sent[-4:] != ".jpg" or name.endswith(".jpg")


def test_pictures_are_sent_as_what_they_are(client: CheckedClient, survey: Survey) -> None:
    version = get_photo(survey, 1).sha256[:12]
    kept = client.get(f"/pictures/1/thumb?v={version}").response
    assert kept.mimetype == "image/jpeg" and "immutable" in kept.headers["Cache-Control"]
    assert "immutable" not in client.get("/pictures/1/thumb").response.headers["Cache-Control"]
    whole = client.get("/pictures/1/original").response
    assert whole.headers["Content-Disposition"] == "attachment; filename=box1.jpg"
    assert whole.get_data() == get_picture_path(survey, 1, "original").read_bytes()
    for box, wide in (("0,0,2,1", 100), ("0.5,0,0.2,1", 100), ("0,0,1,1", 99999), ("nan,0,1,1", 9), ("0,0,1", 9)):
        client.get(f"/pictures/1/crop?box={box}&wide={wide}", 400)


def test_the_report_is_a_page_of_its_own_and_four_files(client: CheckedClient) -> None:
    page = client.get("/report/page")
    assert {"Back to Ferryman in boxes"} <= {one.words for one in page.all("a")}
    assert all(one["src"].startswith("/pictures/") for one in page.all("img"))
    for one in page.all("img"):
        assert client.get(one["src"]).response.mimetype == "image/jpeg"
    assert client.get("/report/take/pdf").response.get_data()[:5] == b"%PDF-"
    for kind in ("pdf", "html", "csv", "json"):
        sent = client.get(f"/report/take/{kind}").response.headers["Content-Disposition"]
        assert sent == f"attachment; filename=ferryman-in-boxes-report.{kind}"


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/photos/99", 404), ("/parts/99", 404), ("/photos/1x", 404), ("/nothing", 404),
        ("/parts/1/find?kind=gremlins", 404), ("/photos/?show=everything", 400), ("/photos/?page=two", 400),
        ("/parts/?grade=perfect", 400), ("/gaps/?show=x", 400),
        ("/photos/1/mark", 400), ("/photos/1/mark?part=1&at=left", 400), ("/photos/1/mark?part=1&pick.x=4", 400),
        ("/rules/tables/none", 404), ("/rules/row/none", 404), ("/report/take/docx", 404), ("/console", 404),
        ("/photos/1/place", 405), ("/photos/1/mark?part=" + "9" * 40, 400), ("/parts/?q=" + "x" * 5000, 400),
    ],
)  # fmt: skip
def test_what_cannot_be_had_is_refused_in_words(client: CheckedClient, address: str, status: int) -> None:
    page = client.get(address, status)
    assert page.all("h1")[0].text == ("That is not here" if status == 404 else "That was not done")
    assert len(page.words) > 60 and "Traceback" not in page.html and "teachest " not in page.words


@pytest.mark.parametrize(
    ("address", "form", "status"),
    [
        ("/photos/1/place", {"part": "99"}, 404), ("/photos/1/place", {}, 400),
        ("/gaps/answer", {"component": "B052", "state": "gone"}, 400),
        ("/gaps/answer", {"component": "NONE", "state": "missing"}, 404), ("/gaps/answer", {"state": "missing"}, 400),
        ("/gaps/quantity", {"component": "B068", "quantity": "0"}, 400),
        ("/parts/1/findings", {"kind": "bent"}, 400), ("/parts/1/findings", {"kind": "none", "step": "1"}, 404),
        ("/parts/1/findings", {"kind": "bent", "step": "9"}, 400),
        ("/photos/1/marks", {"shape": "pin", "at": "2,2"}, 400),
        ("/photos/1/marks", {"shape": "pin", "at": "nan,0"}, 400),
        ("/machine/numbers", {"place": "", "text": "1"}, 400),
        ("/parts/1/change", {"component": "B052", "quantity": "many"}, 400), ("/parts/1/findings/77/remove", {}, 404),
    ],
)  # fmt: skip
def test_what_cannot_be_done_changes_nothing(
    client: CheckedClient, survey: Survey, address: str, form: dict[str, str], status: int
) -> None:
    before = len(list_events(survey))
    client.post(address, form, status)
    assert len(list_events(survey)) == before


def test_a_fault_of_our_own_shows_no_traceback(client: CheckedClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("the inside of the machine")

    monkeypatch.setattr("web.pages.parts.list_parts", fail)
    page = client.get("/parts/", 500)
    assert "Something in Teachest itself went wrong." in page.words
    assert "inside of the machine" not in page.html and "Traceback" not in page.html


PAYLOADS = (
    "<script>alert(1)</script>", "\"><img src=x onerror=alert(1)>", "'><svg onload=alert(1)>",
    "</title><script>1</script>",
    "</textarea><script>1</script>", "<style>*{display:none}</style>", "<a href=javascript:alert(1)>x</a>",
    "{{ 7*191 }}", "{% raw %}", "<iframe src=//evil.example>", "--><script>1</script>", "<base href=//evil.example>",
)  # fmt: skip


@pytest.mark.parametrize("payload", PAYLOADS)
def test_what_people_write_stays_words(app: Flask, survey: Survey, tmp_path: Path, payload: str) -> None:
    from PIL import Image

    client = CheckedClient(app)
    name = payload.replace("/", "")[:60] + ".png"
    Image.new("RGB", (31, 23), "teal").save(tmp_path / name)
    photo = take_in_photos(survey, [tmp_path / name]).added[0].photo
    own = Component("OWN1", payload, payload, None, 1, "running", "stay", "steel", names=(payload,), own=True)
    add_component(survey, own)
    words = {"note": payload, "box": payload}
    part = add_part(survey, "OWN1", label=payload, photos=[photo], **words).id
    change_photo(survey, photo, **words)
    add_finding(survey, part, "bent", 1, seen="bare", note=payload, photo=photo, points=[(0.5, 0.5)])
    add_look(survey, part, note=payload)
    set_own_grade(survey, part, "repair", payload)
    set_position(survey, "B159", "missing", payload)
    machine = ("name", "maker", "model", "year", "engine", "bought", "surveyor", "note")
    change_machine(survey, **dict.fromkeys(machine, payload))
    add_number(survey, payload, payload, payload)
    addresses = ["/", "/photos/", f"/photos/{photo}", f"/photos/{photo}/mark?part={part}", "/parts/", f"/parts/{part}",
                 f"/parts/?q={payload.split()[0][:6]}", "/parts/new", f"/parts/{part}/find?photo={photo}", "/gaps/",
                 f"/parts/{part}/look", "/machine", "/report/", "/report/page"]  # fmt: skip
    for address in addresses:
        page = client.get(address)
        assert not page.all("iframe", "base", "style"), address
        assert all(one["src"].startswith("/static/") and not one.text for one in page.all("script")), address
        assert "<" not in payload or payload not in page.html, address
        assert "1337" not in page.html, address
    assert payload in client.get(f"/parts/{part}").all("h1")[0].text


def test_the_inspection_sees_faults() -> None:
    html = """<!doctype html><html><head><title></title></head><body><main><h1></h1><h3>x</h3>
    <img src="http://a.example/x.png"><input name="a"><form><a href="#no"></a></form><p id="x" style="y"></p>
    <p id="x"></p>
    <script>1</script><fieldset></fieldset><nav></nav></main></body></html>"""
    faults = " | ".join(page_faults(Page(answer_of(html))))
    for seen in ("no language", "no title", "no viewport", "empty h1", "h3 follows h1", "alternative text",
                 "leads elsewhere",
                 "without a label", "without action", "without a button", "says nothing", "no place of the page",
                 "inline style", "inline <script>", "id twice", "without a legend", "not told apart"):  # fmt: skip
        assert seen in faults, seen


def answer_of(html: str) -> TestResponse:
    answer = Response(html, mimetype="text/html")
    return TestResponse(answer.response, answer.status, answer.headers, request=None)  # type: ignore[arg-type]
