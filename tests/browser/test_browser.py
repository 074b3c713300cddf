"""The main path in a real browser, without any script: from an upload to the report."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser_door import DESK, PHONE, PRINTED, Watched, let_in, serve

from survey.photos.verbs import list_marks
from survey.shelf.verbs import open_survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser

NARROW = {"width": 320, "height": 640}
SECTIONS = ("Today", "Photos", "Parts", "Gaps", "Plan", "Report")
PAGES = (
    "photos/1", "photos/3?what=lever", "photos/2/mark?part=2", "photos/add", "parts/2", "parts/new",
    "parts/new?what=tank", "parts/1/find?photo=1", "parts/1/find?photo=1&kind=crack", "parts/1/look", "gaps/?show=all",
    "plan/order", "report/page", "rules/", "rules/findings", "rules/tables/cracks", "machine",
)  # fmt: skip


@pytest.fixture
def address(built: Path, tmp_path: Path) -> str:
    """A served survey of three photos."""
    shutil.copytree(built, tmp_path / "heap")
    return serve(tmp_path / "heap")


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def opened(request: pytest.FixtureRequest, browser: Browser, address: str) -> Iterator[Watched]:
    context = browser.new_context(viewport=request.param, java_script_enabled=False, has_touch=request.param is PHONE)
    watched = Watched(let_in(context, address).new_page(), address)
    watched.watch()
    watched.page.goto(address)
    yield watched
    context.close()
    assert not watched.faults, "\n".join(watched.faults)


def test_a_photo_is_taken_in_placed_marked_graded_and_reported(opened: Watched, tmp_path: Path) -> None:
    from PIL import Image

    page = opened.page
    opened.go("Add photos")
    Image.new("RGB", (1200, 900), "sienna").save(tmp_path / "bars.jpg")
    page.get_by_label("Photos, or a zip file of them").set_input_files(tmp_path / "bars.jpg")
    opened.press("Take them in")
    assert page.get_by_role("heading", name="1 photo taken in").is_visible()
    opened.go("bars.jpg")
    page.get_by_text("From the whole schedule").click()
    page.get_by_label("A part not recorded yet").select_option("B052")
    opened.press("Record and place it")
    page.get_by_text("More", exact=True).click()
    opened.go("A finding with a mark and a note")
    opened.go("Bent or out of true")
    picture = page.locator("input[type=image]:visible")
    box = picture.bounding_box()
    assert box is not None
    picture.click(position={"x": box["width"] * 0.3, "y": box["height"] * 0.6})
    opened.fits()
    page.get_by_role("radio", name="4 ").check()
    page.get_by_role("radio", name="On the bare part").check()
    page.get_by_label("Note, if you like").fill("under the left clamp")
    opened.press("Record the finding")
    # DVSA motor-cycle inspection manual, steering: a bent handlebar is refused.
    shows = page.locator("#shows")
    assert "Replace" in shows.inner_text() and "Bent" in shows.inner_text()
    pin = page.locator(".overlay circle.line").first.bounding_box()
    plate = page.locator(".plate img").first.bounding_box()
    assert pin is not None and plate is not None
    assert abs(pin["x"] + pin["width"] / 2 - plate["x"] - 0.3 * plate["width"]) < 2
    assert abs(pin["y"] + pin["height"] / 2 - plate["y"] - 0.6 * plate["height"]) < 2
    opened.go("Handlebar")
    assert "under the left clamp" in page.locator("#findings").inner_text()
    page.locator("#rulings a").first.click()
    assert page.locator(".rule:target").count() == 1
    opened.go("Report")
    opened.go("Read the bench copy here, or print it")
    assert "under the left clamp" in page.locator("body").inner_text()


def test_a_position_is_answered(opened: Watched) -> None:
    opened.go("Gaps")
    position = opened.page.locator("details#B159")
    summary = position.locator("summary")
    summary.scroll_into_view_if_needed()
    closed = summary.bounding_box()
    summary.click()
    opened_box = summary.bounding_box()
    assert closed is not None and opened_box is not None
    assert opened_box["height"] == closed["height"], "a position keeps its one line when it is opened"
    position.get_by_role("button", name="Missing", exact=True).click()
    opened.fits()
    assert opened.page.locator("#state-missing details#B159 summary").is_visible()
    assert opened.page.url.endswith("#B159")


def test_a_box_is_drawn_with_two_presses(opened: Watched, tmp_path: Path) -> None:
    page = opened.page
    page.goto(f"{opened.home}photos/1")
    page.get_by_text("More", exact=True).first.click()
    opened.go("Mark where it is")
    opened.go("A box")
    for across, down in ((0.2, 0.3), (0.7, 0.8)):
        picture = page.locator("input[type=image]:visible")
        box = picture.bounding_box()
        assert box is not None
        picture.click(position={"x": box["width"] * across, "y": box["height"] * down})
    opened.press("Keep this mark")
    with open_survey(tmp_path / "heap") as survey:
        (first, second) = list_marks(survey, 1)[-1].points
    assert all(abs(got - meant) < 0.01 for got, meant in zip((*first, *second), (0.2, 0.3, 0.7, 0.8), strict=True))


def test_every_section_fits_in_light_and_dark(browser: Browser, address: str) -> None:
    seen = [("light", PHONE), ("dark", PHONE), ("light", DESK), ("dark", DESK), ("light", NARROW)]
    for scheme, size in seen:
        context = browser.new_context(viewport=size, color_scheme=scheme, java_script_enabled=False)
        watched = Watched(let_in(context, address).new_page(), address)
        watched.watch()
        watched.page.goto(address)
        for section in SECTIONS:
            watched.go(section)
        faint: list[str] = []
        for path in PAGES:
            watched.page.goto(address + path)
            watched.fits()
            if path != "report/page":  # a document of its own, whose letters stand on its own paper
                faint += watched.page.evaluate(FAINT_WORDS)
        context.close()
        assert not watched.faults and not faint, (scheme, size, watched.faults, faint)


# Contrast as WCAG 2.2 reckons it (success criterion 1.4.3: 4.5 to 1), of each colour of words against the paper.
FAINT_WORDS = """() => {
  const light = words => {
    const [r, g, b] = words.match(/[\\d.]+/g).map(Number).map(v => v / 255)
      .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const paper = light(getComputedStyle(document.body).backgroundColor);
  const words = [...document.querySelectorAll('main *, footer *, nav *')]
    .filter(one => one.checkVisibility() && !one.matches('.badge-word, .main-act'));
  return [...new Set(words.map(one => getComputedStyle(one).color))]
    .filter(ink => { const l = light(ink); return (Math.max(l, paper) + 0.05) / (Math.min(l, paper) + 0.05) < 4.5; });
}"""


def test_the_keyboard_reaches_the_page_first_and_shows_where_it_is(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport=DESK)
    page = context.new_page()
    page.goto(PRINTED[address])
    assert page.url == address, "the key stays in no address"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the page itself"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('main') !== null")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    context.close()
