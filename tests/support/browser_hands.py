"""Hands for the browser tests: fingers, a mouse and a keyboard on a picture, and the page they work on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import CDPSession, Page

At = tuple[float, float]


def with_script(page: Page, name: str, element: str) -> None:
    """See to it that the page runs that module, and wait until its element lives."""
    if not page.locator(f'script[src*="js/{name}"]').count():
        page.add_script_tag(type="module", url=f"/static/js/{name}")
    page.wait_for_function("name => customElements.get(name) !== undefined", arg=element)


@dataclass
class Picture:
    """Where the picture of a page stands; places on it are fractions of what is on show."""

    page: Page

    def pixel(self, at: At) -> At:
        """The place in pixels of the browser's window."""
        self.page.locator("photo-marks").scroll_into_view_if_needed()
        box = self.page.locator("photo-marks .window").bounding_box()
        assert box is not None
        return box["x"] + at[0] * box["width"], box["y"] + at[1] * box["height"]


@dataclass
class Mouse(Picture):
    """A mouse."""

    def tap(self, at: At) -> None:
        self.page.mouse.click(*self.pixel(at))

    def drag(self, path: Sequence[At], button: str = "left") -> None:
        self.page.mouse.move(*self.pixel(path[0]))
        self.page.mouse.down(button=button)  # type: ignore[arg-type]
        for at in path[1:]:
            self.page.mouse.move(*self.pixel(at), steps=3)
        self.page.mouse.up(button=button)  # type: ignore[arg-type]

    def closer(self, at: At) -> None:
        self.page.mouse.move(*self.pixel(at))
        self.page.wait_for_timeout(300)  # a page that has just been scrolled goes on taking the wheel
        self.page.mouse.wheel(0, -400)
        self.page.wait_for_function("() => document.querySelector('photo-marks').view.enlarged")


@dataclass
class Fingers(Picture):
    """One finger or two, told to the browser as its own touch screen would."""

    session: CDPSession

    def _send(self, kind: str, pixels: Sequence[At]) -> None:
        points = [{"x": x, "y": y, "id": number} for number, (x, y) in enumerate(pixels)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def tap(self, at: At) -> None:
        self._send("touchStart", [self.pixel(at)])
        self._send("touchEnd", [])

    def drag(self, path: Sequence[At]) -> None:
        pixels = [self.pixel(at) for at in path]
        self._send("touchStart", pixels[:1])
        for (x, y), (next_x, next_y) in pairwise(pixels):
            for step in (1, 2, 3):
                self._send("touchMove", [(x + (next_x - x) * step / 3, y + (next_y - y) * step / 3)])
        self._send("touchEnd", [])

    def both(self, first: Sequence[At], second: Sequence[At]) -> None:
        """Two fingers, each along its path; the paths are equally long."""
        pairs = [(self.pixel(one), self.pixel(other)) for one, other in zip(first, second, strict=True)]
        self._send("touchStart", pairs[0][:1])
        self._send("touchStart", pairs[0])
        for pair in pairs[1:]:
            self._send("touchMove", pair)
        self._send("touchEnd", [])

    def closer(self, at: At) -> None:
        x, y = at
        reach = [0.06, 0.09, 0.12, 0.15]
        self.both([(x - wide, y) for wide in reach], [(x + wide, y) for wide in reach])
