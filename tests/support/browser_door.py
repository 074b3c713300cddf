"""The browser door served for a real browser, and a page that is watched."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from pathlib import Path
from queue import Queue
from typing import TYPE_CHECKING

import web

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}

LEAST_TARGET_PX = 44
"""House rule; WCAG 2.2 success criterion 2.5.8 asks for 24."""


def serve(folder: Path) -> str:
    """The served survey's address without its key; ``let_in`` gives that to a browser."""
    said: Queue[str] = Queue()
    threading.Thread(target=web.serve, args=(folder, 0, False, said.put), daemon=True).start()
    return announced(said.get(timeout=20))


def announced(address: str) -> str:
    """Remember an address that a server printed; the same without its key."""
    home = address.partition("?")[0]
    PRINTED[home] = address
    return home


PRINTED: dict[str, str] = {}
"""The whole address that was printed, by the same without its key."""


def let_in(context: BrowserContext, home: str) -> BrowserContext:
    """Let a browser ask for the printed address once, so that it holds the key from then on."""
    assert context.request.get(PRINTED[home], max_redirects=0).status == 303
    return context


@dataclass
class Watched:
    """A page that notes whatever it should not do."""

    page: Page
    home: str
    faults: list[str] = field(default_factory=list)

    def watch(self) -> None:
        self.page.on("console", lambda said: self._note(said.type in ("error", "warning"), f"console: {said.text}"))
        self.page.on("pageerror", lambda fault: self._note(True, f"script: {fault}"))
        self.page.on("request", lambda asked: self._note(not asked.url.startswith(self.home), f"foreign: {asked.url}"))
        # What a page was still loading when the next was asked for is dropped by the browser itself.
        self.page.on(
            "requestfailed", lambda asked: self._note(asked.failure != "net::ERR_ABORTED", f"failed: {asked.url}")
        )
        self.page.on("response", lambda got: self._note(got.status >= 400, f"{got.status}: {got.url}"))

    def _note(self, wrong: bool, what: str) -> None:
        if wrong:
            self.faults.append(what)

    def fits(self) -> None:
        """Nothing runs over the side, and what is pressed is large enough for an oily thumb."""
        self.page.wait_for_load_state()
        wide = self.page.viewport_size["width"]  # type: ignore[index]
        assert self.page.evaluate("document.documentElement.scrollWidth") <= wide, f"{self.page.url} scrolls sideways"
        small = self.page.evaluate(SMALL_TARGETS, LEAST_TARGET_PX)
        assert not small, f"{self.page.url}: too small to press: {small}"

    def go(self, link: str) -> None:
        self.page.get_by_role("link", name=link, exact=True).first.click()
        self.fits()

    def press(self, button: str) -> None:
        self.page.get_by_role("button", name=button, exact=True).first.click()
        self.fits()


# Links within running text may be smaller (WCAG 2.2, 2.5.8, "inline"); everything else is measured.
SMALL_TARGETS = """least => [...document.querySelectorAll(
    'button, select, summary, nav a, a.button, .choices a, .contact a, .ledger a, li > a, h3 > a, .alone > a, ' +
    'label:has([type=checkbox], [type=radio]), input:not([type=hidden], [type=radio], [type=checkbox])')]
  .filter(one => one.checkVisibility() && !one.closest('.report'))
  .map(one => [one.textContent.trim().slice(0, 30) || one.name, one.getBoundingClientRect()])
  .filter(([, box]) => box.height < least && box.height > 1)
  .map(([words, box]) => words + ' ' + Math.round(box.height))"""
