"""The whole path in a real browser with its script: sent, placed, marked, graded, taken back, reported, printed."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import photo_factory
import pytest
from browser_door import DESK, PHONE, Watched, let_in, serve
from browser_hands import Picture
from pypdf import PdfReader

from survey.parts.verbs import list_parts
from survey.photos.verbs import list_photos
from survey.schedule.verbs import list_positions
from survey.shelf.verbs import make_survey, open_survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


@pytest.fixture(params=[(PHONE, "light"), (DESK, "dark")], ids=["phone", "desk-dark"])
def opened(request: pytest.FixtureRequest, browser: Browser, tmp_path: Path) -> Iterator[Watched]:
    size, scheme = request.param
    make_survey(tmp_path / "heap", "lightweight", "Dairy find").close()
    context = browser.new_context(viewport=size, color_scheme=scheme, has_touch=size is PHONE)
    home = serve(tmp_path / "heap")
    watched = Watched(let_in(context, home).new_page(), home)
    watched.watch()
    watched.page.goto(watched.home)
    yield watched
    context.close()
    assert not watched.faults, "\n".join(watched.faults)


def send(watched: Watched, room: Path, count: int) -> None:
    """Photos sent from the page, waited for."""
    for number in range(count):
        photo_factory.textured(900, 600, seed=number).save(room / f"bar{number}.jpg", quality=80)
    watched.page.get_by_role("link", name="Add photos").first.click()
    field = watched.page.get_by_label("Photos, or a zip file of them")
    field.set_input_files([room / f"bar{number}.jpg" for number in range(count)])
    watched.page.locator("upload-queue [role=status]", has_text=f"All sent: {count} files.").wait_for()


def test_from_a_first_photo_to_a_printed_report(opened: Watched, tmp_path: Path) -> None:
    page = opened.page
    assert "Photograph what came out of the boxes" in page.inner_text("main")  # a first survey explains itself
    send(opened, tmp_path, 2)
    page.goto(f"{opened.home}photos/1")
    page.get_by_role("combobox").fill("handleb")
    page.get_by_role("option", name="Handlebar").first.click()
    page.locator("#shows h3", has_text="Handlebar").wait_for()
    page.mouse.click(*Picture(page).pixel((0.3, 0.6)))
    page.locator("details.kind summary", has_text="Bent or out of true").click()
    page.locator("button[value='bent:4']").click()
    # DVSA motor-cycle inspection manual, steering: a bent handlebar is refused.
    page.locator("#shows .grade-replace").wait_for()
    opened.fits()
    with open_survey(tmp_path / "heap") as survey:
        (part,) = list_parts(survey)
        (mark,) = part.marks
    assert mark.finding == part.findings[0].id
    assert abs(mark.points[0][0] - 0.3) < 0.01 and abs(mark.points[0][1] - 0.6) < 0.01
    page.locator("#said").get_by_role("button").click()
    page.locator("#shows .findings").wait_for(state="detached")
    page.locator("#last-act").get_by_role("button", name="Do again").click()
    page.locator("#shows .grade-replace").wait_for()
    page.goto(f"{opened.home}report/page")
    page.emulate_media(media="print")
    printed = "".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(page.pdf())).pages)
    assert "Handlebar" in printed and "Replace" in printed
    assert "Back to" not in printed, "what leads about on a page is not for paper"


@pytest.mark.parametrize("opened", [(DESK, "light")], ids=["desk"], indirect=True)
def test_the_loop_goes_by_keys_alone(opened: Watched, tmp_path: Path) -> None:
    page = opened.page
    send(opened, tmp_path, 3)
    page.goto(f"{opened.home}photos/1")
    keys = page.keyboard
    keys.press("/")
    keys.type("clutch lev")
    keys.press("Enter")
    page.locator("#shows h3", has_text="Clutch lever").wait_for()
    keys.press("1")
    keys.press("3")
    page.locator("#shows .findings").wait_for()
    keys.press("n")
    page.locator("h1", has_text="Photo 2").wait_for()
    keys.press("1")
    page.locator("#shows h3", has_text="Clutch lever").wait_for()
    keys.press("u")
    page.locator("#place").wait_for()
    keys.press("r")
    page.locator("#shows").wait_for()
    keys.press("ArrowRight")
    page.locator("h1", has_text="Photo 3").wait_for()
    keys.press("s")
    page.get_by_role("heading", name="It is set aside").wait_for()
    keys.press("?")
    page.get_by_role("heading", name="Keys").wait_for()
    keys.press("Escape")
    with open_survey(tmp_path / "heap") as survey:
        assert [photo.state for photo in list_photos(survey)] == ["placed", "placed", "aside"]
        assert [finding.step for finding in list_parts(survey)[0].findings] == [3]


@pytest.mark.parametrize("opened", [(DESK, "light"), (PHONE, "light")], ids=["desk", "phone"], indirect=True)
def test_a_run_is_chosen_and_placed_at_once(opened: Watched, tmp_path: Path) -> None:
    page = opened.page
    send(opened, tmp_path, 4)
    page.goto(f"{opened.home}photos/")
    for box in page.locator("input[name=photo]").all()[:3]:
        box.check()
    assert "3 photos chosen" in page.locator(".chosen-count").inner_text()
    page.get_by_text("They all show").click()
    page.get_by_role("combobox", name="They all show").fill("petrol tank")
    page.locator("[role=option]").first.click()
    page.locator("#said", has_text="Placed, all of them.").wait_for()
    opened.fits()
    with open_survey(tmp_path / "heap") as survey:
        assert [photo.state for photo in list_photos(survey)].count("placed") == 3


@pytest.mark.parametrize("opened", [(PHONE, "light")], ids=["phone"], indirect=True)
def test_positions_are_answered_at_one_press_each(opened: Watched, tmp_path: Path) -> None:
    page = opened.page
    page.goto(f"{opened.home}gaps/")
    for position, answer, words in (
        ("B005", "missing", "Missing"), ("B009", "here", "Here"), ("B020", "not-fitted", "Not fitted"),
    ):  # fmt: skip
        page.locator(f"#row-{position} .one-press button[value={answer}]").click()
        page.locator(f"#row-{position} .state", has_text=words).wait_for()
        page.locator("#said", has_text="Answer recorded.").wait_for()
    opened.fits()
    with open_survey(tmp_path / "heap") as survey:
        states = {one.component.id: one.state for one in list_positions(survey)}
    assert (states["B005"], states["B009"], states["B020"]) == ("missing", "here", "not-fitted")
