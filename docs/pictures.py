"""Pictures of every section at both sizes, made anew from the demo: ``python -m docs.pictures``.

Needs a Chromium (see README, tests) and some 30 seconds. They are written to docs/pictures and shown in the README
and the tutorial.
"""

from __future__ import annotations

import io
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from queue import Queue
from typing import TYPE_CHECKING

import web
from survey.cli.demo import build_demo
from survey.parts.verbs import list_parts
from survey.shelf.verbs import open_survey
from tests.support.chromium import chromium

if TYPE_CHECKING:
    from playwright.sync_api import Page

TO = Path(__file__).parent / "pictures"
SIZES = {"laptop": {"width": 1280, "height": 800}, "phone": {"width": 390, "height": 844}}
QUALITY = 82


def sections(folder: Path) -> dict[str, str]:
    """The name of each picture and the address it shows; photos and parts are found by what they show."""
    with open_survey(folder) as survey:
        carburettor = next(one for one in list_parts(survey) if one.part.component == "B144")
    return {
        "today": "",
        "photos": "photos/",
        "photo": f"photos/{carburettor.marks[0].photo}",
        "parts": "parts/",
        "part": f"parts/{carburettor.part.id}",
        "gaps": "gaps/",
        "where": "boxes/",
        "plan": "plan/",
        "order": "plan/order",
        "wants": "plan/wants/",
        "outwork": "plan/outwork/",
        "money": "plan/money/",
        "gates": "plan/gates/",
        "report": "report/page",
        "rules": "rules/",
    }


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of the demo's pages with its key, for as long as this program runs."""
    said: Queue[str] = Queue()
    threading.Thread(target=web.serve, args=(folder, 0, False, said.put), daemon=True).start()
    yield said.get(timeout=30)


def take(page: Page, address: str, to: Path) -> None:
    """One picture of what the window shows of that page."""
    from PIL import Image

    page.goto(address, wait_until="networkidle")
    with Image.open(io.BytesIO(page.screenshot())) as shot:
        shot.convert("RGB").save(to, "JPEG", quality=QUALITY, optimize=True)


def main() -> None:
    """Make every picture; prints their names."""
    from playwright.sync_api import sync_playwright

    TO.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as room, sync_playwright() as playwright:
        folder = Path(room) / "ferryman"
        build_demo(folder, print).close()
        browser = playwright.chromium.launch(executable_path=chromium(), chromium_sandbox=False)
        with served(folder) as printed:
            for size, viewport in SIZES.items():
                page = browser.new_page(viewport=viewport, device_scale_factor=1)  # type: ignore[arg-type]
                page.goto(printed)
                home = printed.partition("?")[0]
                page.goto(home)  # from here on this browser holds the key, and its address is clean
                for name, address in sections(folder).items():
                    take(page, home.partition("?")[0] + address, TO / f"{name}-{size}.jpg")
                    print(TO / f"{name}-{size}.jpg")
        browser.close()


if __name__ == "__main__":
    main()
