"""How many presses it takes from a waiting photo to one that is placed with a finding at a step, on the demo's photos.

A press is a tap, a click or a key. Every letter typed counts, and so does the key or tap that goes to the field.
Going to the next photo is one more and is timed by itself.
"""

from __future__ import annotations

import statistics
import time
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from browser_door import let_in, serve

from survey.model.photos import Photo
from survey.parts.verbs import list_parts
from survey.photos.verbs import change_photo, get_picture_path, list_photos, take_in_photos
from survey.schedule.verbs import add_component, get_component, get_extra_component
from survey.settings import get_sample_photos_dir
from survey.shelf.verbs import make_survey, open_survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator, Page

pytestmark = pytest.mark.browser

MOST_PRESSES, MOST_AGAIN = 3, 2
SWITCH_MS = 100.0
NEW_PHOTO = """number => document.querySelector('h1').textContent === `Photo ${number}` &&
    [...document.querySelectorAll('.plate img')].every(one => one.complete && one.currentSrc.includes(`/${number}/`))"""


@dataclass
class Told:
    """What the demo's story says of a photo: the part it shows first, and its first finding there."""

    component: str
    label: str
    finding: tuple[str, int] | None


@dataclass
class Hand:
    """A hand that counts what it presses."""

    page: Page
    presses: int = 0
    found: list[int] = field(default_factory=list)
    again: list[int] = field(default_factory=list)

    def press(self, what: Locator) -> None:
        what.click()
        self.presses += 1

    def write(self, words: str) -> None:
        self.page.keyboard.type(words)
        self.presses += len(words)

    def key(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.presses += 1


@pytest.fixture(scope="module")
def waiting(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The demo's photos, all of them waiting, served."""
    folder = tmp_path_factory.mktemp("loop") / "heap"
    with make_survey(folder, "lightweight", "Ferryman from the closed dairy") as survey:
        for extra in story()["extras"]:
            add_component(survey, get_extra_component(survey, extra))
        take_in_photos(survey, [get_sample_photos_dir() / name for name in story()["photos"]])
        for photo in list_photos(survey):
            get_picture_path(survey, photo.id, "view")
            change_photo(survey, photo.id, box=story()["boxes"].get(photo.name, ""))
    return folder, serve(folder)


def story() -> dict[str, Any]:
    return tomllib.loads((get_sample_photos_dir() / "demo.toml").read_text("utf-8"))


def told_of(name: str) -> Told | None:
    """The first part of the story that this photo shows; None where it shows none the schedule has."""
    for part in story()["part"]:
        if name in part.get("photos", ()) and part.get("component"):
            here = [one for one in part.get("finding", ()) if one.get("photo") == name]
            first = (here or part.get("finding") or [None])[0]
            return Told(part["component"], part.get("label", ""), first and (first["kind"], first["step"]))
    return None


def place(hand: Hand, folder: Path, photo: Photo, told: Told) -> bool:
    """Place the photo by the nearest way; whether its part was recorded already."""
    page = hand.page
    with open_survey(folder) as survey:
        known = {one.part.component: one.part.id for one in list_parts(survey)}
        label = get_component(survey, told.component).label
    if told.component in known:
        hand.press(page.locator(f"button[name=part][value='{known[told.component]}']"))
        return True
    chip = page.locator(f"form.chips button[name=component][value='{told.component}']")
    if chip.count():
        hand.press(chip)
        return False
    drawer = page.locator("details[name=assembly]", has=page.locator(f"button[value='{told.component}']"))
    if drawer.count():
        hand.press(drawer.locator("summary"))
        hand.press(drawer.locator(f"button[value='{told.component}']"))
        return False
    hand.key("/")
    hand.write(label.lower())
    hand.key("Enter")
    return False


def find(hand: Hand, kind: str, step: int) -> None:
    """Record the finding by the palette."""
    button = hand.page.locator(f"button[value='{kind}:{step}']")
    hand.press(hand.page.locator("details.kind", has=button).locator("summary"))
    hand.press(button)


def one_photo(hand: Hand, folder: Path, photo: Photo, told: Told) -> None:
    hand.presses = 0
    again = place(hand, folder, photo, told)
    hand.page.locator("#shows").wait_for()
    if again:
        hand.again.append(hand.presses)
    if told.finding:
        find(hand, *told.finding)
        hand.page.locator("#shows .findings").wait_for()
        hand.found.append(hand.presses)


@pytest.fixture
def desk(browser: Browser, waiting: tuple[Path, str]) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    yield let_in(context, waiting[1]).new_page()
    context.close()


@pytest.mark.bench
def test_the_demos_photos_are_placed_in_few_presses(waiting: tuple[Path, str], desk: Page) -> None:
    folder, address = waiting
    with open_survey(folder) as survey:
        order = list_photos(survey)
    hand, switches_ms = Hand(desk), []
    desk.goto(f"{address}photos/{order[0].id}")
    for here, after in zip(order, [*order[1:], None], strict=True):
        told = told_of(here.name)
        if told:
            one_photo(hand, folder, here, told)
        if after is not None:
            desk.wait_for_load_state("networkidle")
            start = time.perf_counter()
            desk.keyboard.press("ArrowRight")
            desk.wait_for_function(NEW_PHOTO, arg=after.id, polling="raf")
            switches_ms.append(1000 * (time.perf_counter() - start))
    figures = {
        "presses, with a finding": hand.found,
        "presses, again": hand.again,
        "switch ms": [round(ms) for ms in switches_ms],
    }
    print(figures)
    assert hand.found, "the story tells of no finding"
    assert statistics.median(hand.found) <= MOST_PRESSES, figures
    assert not hand.again or statistics.median(hand.again) <= MOST_AGAIN, figures
    with open_survey(folder) as survey:
        told_photos = [one for one in list_photos(survey) if told_of(one.name)]
        assert all(one.state == "placed" for one in told_photos)
    assert statistics.median(switches_ms) < SWITCH_MS, figures
