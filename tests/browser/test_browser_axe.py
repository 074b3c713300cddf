"""The axe rules (axe-core, as packaged in axe-playwright-python) on every page, at both sizes, in light and dark."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser_door import DESK, PHONE, let_in, serve
from web_visits import VISITS

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

NO_PAGES = ("/static", "/pictures", "/take", "/report/style.css")
ADDRESSES = [
    address
    for rule, visits in VISITS.items()
    if not any(piece in rule for piece in NO_PAGES)
    for address in (visits if rule == "/report/page" else visits[:1])
]


@pytest.fixture(scope="module")
def address(built: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    return serve(Path(shutil.copytree(built, tmp_path_factory.mktemp("axe") / "heap")))


def violations(page: Page) -> list[str]:
    from axe_playwright_python.sync_playwright import Axe

    told = Axe().run(page).response
    assert len(told["passes"]) > 5, "the rules did not run"
    return [
        f"{page.url}: {rule['id']} ({rule['impact']}): {node['html'][:160]}"
        for rule in told["violations"]
        for node in rule["nodes"]
    ]


@pytest.mark.parametrize(
    ("size", "scheme"), [(PHONE, "light"), (DESK, "light"), (PHONE, "dark")], ids=["phone", "desk", "phone-dark"]
)
def test_no_page_breaks_an_axe_rule(browser: Browser, address: str, size: dict[str, int], scheme: str) -> None:
    # The rules are put into the page as a script, which our own policy would refuse.
    context = browser.new_context(viewport=size, color_scheme=scheme, bypass_csp=True, reduced_motion="reduce")
    page = let_in(context, address).new_page()
    found = []
    for one in ADDRESSES:
        page.goto(address.rstrip("/") + one)
        found += violations(page)
    context.close()
    assert not found, "\n".join(found)
