"""Marks in a real browser: drawn, enlarged, moved, nudged, taken off, and kept when saving fails."""

from __future__ import annotations

import math
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser_door import DESK, LEAST_TARGET_PX, PHONE, Watched, let_in, serve
from browser_hands import At, Fingers, Mouse, with_script
from web_survey import BAR, PLATE

from survey.model.photos import Mark
from survey.parts.verbs import get_part
from survey.photos.verbs import list_marks, remove_mark, take_in_photos
from survey.shelf.verbs import open_survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

pytestmark = pytest.mark.browser

WITHIN = 0.01
"""House rule: a mark is stored within a hundredth of the picture from where it was drawn."""
RING: tuple[At, ...] = tuple(
    (0.5 + 0.2 * math.cos(step * math.pi / 12), 0.75 + 0.15 * math.sin(step * math.pi / 12)) for step in range(24)
)


class Bench:
    """A page to mark, the hands for it, and what the survey keeps."""

    def __init__(self, folder: Path, watched: Watched, hand: Mouse | Fingers) -> None:
        self.folder, self.watched, self.hand, self.page = folder, watched, hand, watched.page

    def open(self, photo: int, part: int) -> None:
        self.photo = photo
        self.page.goto(f"{self.watched.home}photos/{photo}/mark?part={part}")
        with_script(self.page, "marks.js", "photo-marks")
        self.page.wait_for_function("() => document.querySelector('photo-marks img').complete")

    def take(self, shape: str) -> None:
        self.page.locator(f"button[data-shape={shape}]").click()

    def marks(self) -> list[Mark]:
        with open_survey(self.folder) as survey:
            return list_marks(survey, self.photo)

    def says(self, words: str) -> None:
        self.page.locator("photo-marks [role=status]", has_text=words).wait_for()

    def kept(self, count: int) -> list[Mark]:
        """Wait until no mark waits to be saved; the survey then keeps that many."""
        self.page.wait_for_function(
            "() => document.querySelector('photo-marks').ledger.marks.every(mark => mark.state === 'kept')"
        )
        found = self.marks()
        assert len(found) == count, found
        return found

    @property
    def times(self) -> float:
        return float(self.page.evaluate("document.querySelector('photo-marks').view.times"))


@pytest.fixture
def heap(built: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(built, tmp_path / "heap"))


def _opened(browser: Browser, heap: Path, touch: bool) -> tuple[BrowserContext, Bench]:
    context = browser.new_context(viewport=PHONE if touch else DESK, has_touch=touch)
    home = serve(heap)
    page = let_in(context, home).new_page()
    watched = Watched(page, home)
    watched.watch()
    hand = Fingers(page, context.new_cdp_session(page)) if touch else Mouse(page)
    return context, Bench(heap, watched, hand)


@pytest.fixture(params=[True, False], ids=["touch", "mouse"])
def work(request: pytest.FixtureRequest, browser: Browser, heap: Path) -> Iterator[Bench]:
    context, made = _opened(browser, heap, request.param)
    yield made
    context.close()
    assert not made.watched.faults, "\n".join(made.watched.faults)


@pytest.fixture
def desk(browser: Browser, heap: Path) -> Iterator[Bench]:
    context, made = _opened(browser, heap, touch=False)
    yield made
    context.close()
    assert not made.watched.faults, "\n".join(made.watched.faults)


@pytest.fixture
def phone(browser: Browser, heap: Path) -> Iterator[Bench]:
    context, made = _opened(browser, heap, touch=True)
    yield made
    context.close()
    assert not made.watched.faults, "\n".join(made.watched.faults)


def near(points: Sequence[At], meant: Sequence[At]) -> bool:
    return len(points) == len(meant) and all(
        abs(got - wanted) <= WITHIN for one, other in zip(points, meant, strict=True)
        for got, wanted in zip(one, other, strict=True)
    )  # fmt: skip


def test_each_shape_is_drawn_and_stored_where_it_was_drawn(work: Bench) -> None:
    work.open(photo=2, part=PLATE)
    work.hand.tap((0.8, 0.12))
    assert near(work.kept(2)[-1].points, [(0.8, 0.12)])
    work.take("box")
    work.hand.drag([(0.95, 0.55), (0.8, 0.3), (0.7, 0.25)])
    box = work.kept(3)[-1]
    assert box.shape == "box" and near(box.points, [(0.7, 0.25), (0.95, 0.55)])
    work.take("outline")
    work.hand.drag(RING)
    outline = work.kept(4)[-1]
    assert outline.shape == "outline" and outline.part == PLATE and 8 <= len(outline.points) <= 80
    edges = [*zip(*outline.points, strict=True)]
    assert near([(min(edges[0]), min(edges[1])), (max(edges[0]), max(edges[1]))], [(0.3, 0.6), (0.7, 0.9)])


def test_a_mark_drawn_on_an_enlarged_picture_is_stored_where_it_was_drawn(work: Bench) -> None:
    work.open(photo=1, part=BAR)
    work.hand.closer((0.4, 0.6))
    assert work.times > 1.5
    # What lies under the fingers stays under them.
    left, top = 0.4 - 0.4 / work.times, 0.6 - 0.6 / work.times
    work.take("box")
    work.hand.drag([(0.6, 0.3), (0.75, 0.4), (0.9, 0.7)])
    meant = [(left + x / work.times, top + y / work.times) for x, y in ((0.6, 0.3), (0.9, 0.7))]
    assert near(work.kept(3)[-1].points, meant)


def test_two_fingers_shift_the_picture_and_two_taps_bring_it_back(phone: Bench) -> None:
    assert isinstance(phone.hand, Fingers)
    phone.open(photo=1, part=BAR)
    phone.hand.closer((0.5, 0.5))
    before = phone.page.evaluate("document.querySelector('photo-marks').view.across")
    phone.hand.both([(0.6, 0.5), (0.5, 0.5), (0.4, 0.5)], [(0.8, 0.5), (0.7, 0.5), (0.6, 0.5)])
    after = phone.page.evaluate("document.querySelector('photo-marks').view.across")
    assert abs(after - before - 0.2 / phone.times) < WITHIN
    phone.hand.tap((0.9, 0.1))
    phone.hand.tap((0.9, 0.1))
    assert phone.times == 1
    phone.page.wait_for_timeout(400)
    assert len(phone.kept(2)) == 2, "two taps drew something"


def test_one_finger_with_a_pin_in_it_scrolls_the_page_past_the_picture(phone: Bench) -> None:
    assert isinstance(phone.hand, Fingers)
    phone.open(photo=2, part=PLATE)
    phone.page.evaluate("document.body.style.minHeight = '3000px'")
    before = phone.page.evaluate("scrollY")
    phone.hand.drag([(0.85, 0.9 - 0.05 * step) for step in range(13)])
    phone.page.wait_for_function("before => scrollY > before + 100", arg=before)
    assert len(phone.kept(1)) == 1


def test_the_mouse_shifts_an_enlarged_picture(desk: Bench) -> None:
    assert isinstance(desk.hand, Mouse)
    desk.open(photo=1, part=BAR)
    desk.hand.closer((0.5, 0.5))
    where = "(() => { const { across, down } = document.querySelector('photo-marks').view; return [across, down]; })()"
    for shift in ("pin", "middle", "space"):
        desk.take({"pin": "pin", "middle": "box", "space": "box"}[shift])
        before = desk.page.evaluate(where)
        if shift == "space":
            desk.page.mouse.move(*desk.hand.pixel((0.8, 0.8)))
            desk.page.keyboard.down("Space")
        desk.hand.drag([(0.8, 0.8), (0.75, 0.75), (0.7, 0.7)], "middle" if shift == "middle" else "left")
        desk.page.keyboard.up("Space")
        after = desk.page.evaluate(where)
        assert near([after], [tuple(edge + 0.1 / desk.times for edge in before)]), shift
    assert len(desk.kept(2)) == 2


def test_a_mark_is_chosen_moved_and_taken_off(work: Bench) -> None:
    work.open(photo=1, part=BAR)
    work.hand.tap((0.25, 0.5))
    work.hand.drag([(0.25, 0.5), (0.4, 0.7), (0.7, 0.8)])
    moved = next(mark for mark in work.kept(2) if mark.shape == "pin")
    assert near(moved.points, [(0.7, 0.8)]) and moved.finding is not None
    work.page.get_by_role("button", name="Take this mark off").click()
    work.says("Mark taken off.")
    assert [mark.shape for mark in work.marks()] == ["outline"]


def test_marks_are_nudged_stretched_and_deleted_by_key(desk: Bench) -> None:
    page = desk.page
    desk.open(photo=2, part=PLATE)
    page.locator("[data-mark]").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowDown")
    step, big = 0.0025, 0.025 * 480 / 640  # shares of the width; this picture is 480 wide and 640 high
    assert near(desk.kept(1)[0].points, [(0.2 + step, 0.2 + big), (0.6 + step, 0.7 + big)])
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert (
        page.evaluate("document.querySelector('photo-marks').shadowRoot.activeElement.ariaLabel")
        == "Lower right corner"
    )
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    assert near(desk.kept(1)[0].points, [(0.2 + step, 0.2 + big), (0.7 + step, 0.7 + big)])
    page.keyboard.press("Delete")
    desk.says("Mark taken off.")
    assert desk.marks() == []


def test_the_keyboard_alone_places_each_shape(desk: Bench) -> None:
    page = desk.page
    desk.open(photo=3, part=BAR)
    page.locator("photo-marks .window").focus()
    page.keyboard.press("+")
    page.keyboard.press("ArrowRight")
    piece = page.evaluate("document.querySelector('photo-marks').view.piece")
    for number, shape in enumerate(("pin", "box", "outline"), 1):
        page.locator(f"button[data-shape={shape}]").focus()
        if shape != "pin":
            page.keyboard.press("Enter")
        while page.evaluate("document.querySelector('photo-marks').shadowRoot.activeElement.className") != "middle":
            page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        made = desk.kept(number)[-1]
        across = [x for x, _ in made.points]
        assert made.shape == shape
        assert abs((min(across) + max(across)) / 2 - (piece["left"] + piece["right"]) / 2) < WITHIN
    page.keyboard.press("0")
    assert desk.times == 1


def test_what_could_not_be_saved_says_so_and_is_tried_again(work: Bench) -> None:
    work.open(photo=3, part=BAR)
    work.page.route("**/photos/3/marks", lambda route: route.abort())
    work.hand.tap((0.5, 0.5))
    work.says("The mark is not saved. Teachest does not answer.")
    work.page.unroute("**/photos/3/marks")
    work.watched.faults.clear()
    assert work.marks() == [] and work.page.locator(".failed").count() == 1
    work.page.get_by_role("button", name="Try again").click()
    work.says("Mark drawn.")
    assert near(work.kept(1)[0].points, [(0.5, 0.5)])
    with open_survey(work.folder) as survey:
        remove_mark(survey, work.marks()[0].id)
    work.hand.drag([(0.5, 0.5), (0.6, 0.6)])
    work.says("The mark is not saved. There is no mark")
    work.watched.faults.clear()


TAKER = """() => {
  const form = document.createElement('form');
  form.dataset.takesMark = '';
  form.innerHTML = '<input type="hidden" name="shape"><input type="hidden" name="points"><button>Bent</button>';
  form.addEventListener('submit', event => {
    event.preventDefault();
    window.sent = Object.fromEntries(new FormData(form));
  });
  document.querySelector('main').append(form);
  document.addEventListener('mark-drawn', event => { window.drawn = event.detail; });
}"""


def test_a_finding_takes_the_mark_along(work: Bench) -> None:
    page = work.page
    work.open(photo=3, part=BAR)
    page.evaluate(TAKER)
    work.hand.tap((0.1, 0.1))
    work.take("box")
    work.hand.drag([(0.4, 0.4), (0.5, 0.5), (0.6, 0.7)])
    work.says("The finding you choose next takes it.")
    assert page.locator(".held").count() == 1, "the second mark did not replace the first"
    assert page.evaluate("window.drawn.shape") == "box"
    page.evaluate("document.querySelector('form[data-takes-mark]').points.value = ''")  # as a swapped page would
    page.get_by_role("button", name="Bent").click()
    sent = page.evaluate("window.sent")
    points = [tuple(float(edge) for edge in pair.split(",")) for pair in sent["points"].split(";")]
    assert sent["shape"] == "box" and near(points, [(0.4, 0.4), (0.6, 0.7)])  # type: ignore[arg-type]
    assert work.marks() == []
    # The page that comes back tells the mark as the finding's own.
    told = '[{"id": 90, "shape": "box", "points": [[0.4, 0.4], [0.6, 0.7]], "label": "1", "says": "Box 1: bent"}]'
    page.evaluate("told => { document.querySelector('photo-marks').dataset.marks = told; }", told)
    page.get_by_role("button", name="Box 1: bent").wait_for()
    assert page.locator("[data-mark]").count() == 1 and page.locator(".held").count() == 0


def test_on_the_photo_page_a_mark_goes_with_the_next_finding(work: Bench) -> None:
    """Nothing is loaded anew: the page that comes back is merged into the one that is there."""
    page = work.page
    work.photo = 1
    page.goto(f"{work.watched.home}photos/1")
    with_script(page, "marks.js", "photo-marks")
    page.evaluate("document.querySelector('photo-marks').stays = true")
    work.hand.tap((0.7, 0.7))
    work.says("The finding you choose next takes it.")
    page.locator("summary", has_text="Crack").first.click()
    page.locator("details[open] button", has_text="1").first.click()
    page.get_by_role("button", name="Pin 2: crack").wait_for()
    with open_survey(work.folder) as survey:
        (crack,) = [one for one in get_part(survey, BAR).findings if one.kind == "crack"]
    (mark,) = [one for one in work.kept(3) if one.finding == crack.id]
    assert near(mark.points, [(0.7, 0.7)])
    page.get_by_role("button", name="Take it back").first.click()
    page.wait_for_function("() => document.querySelector('photo-marks').ledger.marks.length === 2")
    page.get_by_role("link", name="Next", exact=True).click()
    page.wait_for_function("() => document.querySelector('photo-marks').dataset.photo === '2'")
    page.wait_for_function("() => document.querySelector('photo-marks').ledger.marks.length === 1")
    assert page.evaluate("document.querySelector('photo-marks').stays")


def test_a_picture_may_be_opened_with_nothing_to_draw(desk: Bench) -> None:
    desk.open(photo=3, part=BAR)
    desk.page.evaluate("document.querySelector('photo-marks').dataset.tool = ''")
    desk.says("Nothing is drawn.")
    desk.hand.tap((0.5, 0.5))
    desk.page.wait_for_timeout(200)
    assert desk.kept(0) == []
    desk.page.evaluate("document.querySelector('photo-marks').dataset.tool = 'pin'")
    desk.hand.tap((0.5, 0.5))
    desk.kept(1)


def test_a_mark_may_be_kept_without_a_finding(desk: Bench) -> None:
    desk.open(photo=3, part=BAR)
    desk.page.evaluate(TAKER)
    desk.hand.tap((0.3, 0.4))
    desk.page.get_by_role("button", name="Keep it without a finding").click()
    desk.says("Mark drawn.")
    kept = desk.kept(1)[0]
    assert near(kept.points, [(0.3, 0.4)]) and (kept.part, kept.finding) == (BAR, None)
    assert desk.page.evaluate("document.querySelector('form[data-takes-mark]').points.value") == ""


def test_a_swapped_page_finds_the_element_as_it_should_be(desk: Bench) -> None:
    page = desk.page
    desk.open(photo=1, part=BAR)
    shown = "[...document.querySelector('photo-marks').shadowRoot.querySelectorAll('[data-mark]')].length"
    assert page.evaluate(shown) == 2
    page.evaluate("""() => {
      const element = document.querySelector('photo-marks');
      const parent = element.parentNode;
      element.remove();
      parent.prepend(element);
    }""")
    desk.hand.tap((0.8, 0.8))
    desk.kept(3)
    page.evaluate("""() => {
      const { dataset } = document.querySelector('photo-marks');
      dataset.photo = '3';
      dataset.marks = '[]';
      dataset.action = '/photos/3/marks';
    }""")
    page.wait_for_function(f"() => {shown} === 0")
    desk.photo = 3
    desk.hand.tap((0.5, 0.5))
    desk.kept(1)


def test_a_mark_of_a_photo_that_was_left_is_not_lost(desk: Bench) -> None:
    page = desk.page
    desk.photo = 1
    page.goto(f"{desk.watched.home}photos/3")
    with_script(page, "marks.js", "photo-marks")
    page.route("**/photos/3/marks", lambda route: route.abort())
    desk.hand.tap((0.5, 0.5))
    assert page.locator("[data-mark]").count() == 0, "a tap marked while no tool was in hand"
    desk.take("pin")
    desk.hand.tap((0.5, 0.5))
    desk.says("The mark is not saved.")
    page.evaluate("""() => {
      const { dataset } = document.querySelector('photo-marks');
      dataset.photo = '1';
      dataset.marks = '[]';
      dataset.action = '/photos/1/marks';
    }""")
    desk.says("Tap the picture where it is.")
    page.unroute("**/photos/3/marks")
    page.get_by_role("button", name="Try again").click()
    desk.says("Photo 3: Mark drawn.")
    assert page.get_by_role("button", name="Try again").count() == 0
    assert page.locator("[data-mark]").count() == 0
    desk.photo = 3
    assert near(desk.marks()[0].points, [(0.5, 0.5)])
    desk.watched.faults.clear()


def test_marks_stick_to_the_picture_at_any_size(desk: Bench) -> None:
    page = desk.page
    desk.open(photo=1, part=BAR)
    for width in (1280, 900, 390):
        page.set_viewport_size({"width": width, "height": 800})
        for _ in range(2):
            circle = page.locator("circle.line").bounding_box()
            plate = page.locator("photo-marks img").first.bounding_box()
            assert circle is not None and plate is not None
            assert abs(circle["x"] + circle["width"] / 2 - plate["x"] - 0.25 * plate["width"]) < 2
            assert abs(circle["y"] + circle["height"] / 2 - plate["y"] - 0.5 * plate["height"]) < 2
            assert abs(circle["width"] - 22) < 3, "the mark grew with the picture"
            page.get_by_role("button", name="Larger").click()
        page.locator("photo-marks .window").focus()
        page.keyboard.press("0")


def test_an_enlarged_picture_is_drawn_from_a_larger_one(desk: Bench) -> None:
    from PIL import Image

    Image.effect_noise((2600, 1950), 60).convert("RGB").save(desk.folder.parent / "large.jpg")
    with open_survey(desk.folder) as survey:
        take_in_photos(survey, [desk.folder.parent / "large.jpg"])
    desk.open(photo=4, part=BAR)
    assert desk.page.locator(".large").count() == 0
    for _ in range(4):
        desk.page.get_by_role("button", name="Larger").click()
    desk.page.locator(".large.ready").wait_for()
    assert (
        desk.page.evaluate("document.querySelector('photo-marks').shadowRoot.querySelector('.large').naturalWidth")
        == 2600
    )


def test_what_is_pressed_is_large_enough_and_nothing_runs_over_the_side(work: Bench) -> None:
    work.open(photo=2, part=PLATE)
    work.page.locator("[data-mark]").focus()
    work.watched.fits()
    boxes = [one.bounding_box() for one in work.page.locator("photo-marks button:visible:not(.middle)").all()]
    assert len(boxes) == 6
    assert all(box and min(box["width"], box["height"]) >= LEAST_TARGET_PX for box in boxes)


def test_a_drawn_line_is_simplified_as_ramer_douglas_and_peucker_did(browser: Browser, heap: Path) -> None:
    """Held against OpenCV's approxPolyDP, which is the same published algorithm (Douglas and Peucker 1973)."""
    import cv2
    import numpy as np

    context, made = _opened(browser, heap, touch=False)
    made.open(photo=1, part=BAR)
    run = "([points, slack]) => import('/static/js/marks/shapes.js').then(m => m.simplified(points, 1, slack))"
    numbers = np.random.default_rng(7)
    for _ in range(5):
        line = np.cumsum(numbers.normal(0, 0.01, (300, 2)), axis=0).astype(np.float32) + 0.5
        slack = 0.02
        ours = np.array(made.page.evaluate(run, [line.tolist(), slack]), dtype=np.float32)
        theirs = cv2.approxPolyDP(line[:, None, :], slack, closed=False)[:, 0, :]
        assert farthest(line, ours) <= slack + 1e-6
        assert abs(len(ours) - len(theirs)) <= 2, "OpenCV drops a few more points in a last pass of its own"
        assert {tuple(point) for point in theirs.tolist()} <= {tuple(point) for point in ours.tolist()}
    scribble = numbers.random((4000, 2)).tolist()
    assert len(made.page.evaluate(run, [scribble, 0.0001])) <= 500
    context.close()


def farthest(line: object, ours: object) -> float:
    """The largest distance of a point of the line from the simplified one."""
    import numpy as np

    points, corners = np.asarray(line, float), np.asarray(ours, float)
    begun, step = corners[:-1], np.diff(corners, axis=0)
    along = np.clip(
        ((points[:, None] - begun) * step).sum(-1) / np.maximum((step * step).sum(-1), 1e-12), 0, 1
    )  # fmt: skip
    return float(np.linalg.norm(points[:, None] - (begun + along[..., None] * step), axis=-1).min(axis=1).max())


def test_nobody_else_sees_the_page_of_a_mark_without_its_script(browser: Browser, heap: Path) -> None:
    context = browser.new_context(viewport=PHONE, java_script_enabled=False)
    home = serve(heap)
    page: Page = let_in(context, home).new_page()
    page.goto(f"{home}photos/1/mark?part=1")
    assert not page.locator("photo-marks").is_visible()
    assert page.get_by_role("link", name="A box").is_visible()
    context.close()
