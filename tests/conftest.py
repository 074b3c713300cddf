"""What every test may ask for: settings that are nobody's, and a browser where there is one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import long_form
import pytest
from chromium import chromium

if TYPE_CHECKING:
    from flask import Flask
    from playwright.sync_api import Browser, Page
    from web_client import CheckedClient

    from survey import bench

BROWSER_REQUIRED = os.environ.get("TEACHEST_REQUIRE_BROWSER") == "1"
REFERENCES_REQUIRED = os.environ.get("TEACHEST_REQUIRE_REFERENCES") == "1"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out what needs a browser or an outside reference that is not here, unless they are required."""
    no_browser = not BROWSER_REQUIRED and not chromium()
    for item in items:
        if no_browser and item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.skip(reason="no Chromium on this machine"))
        reference = item.get_closest_marker("reference")
        if reference and not REFERENCES_REQUIRED and not shutil.which(reference.args[0]):
            item.add_marker(pytest.mark.skip(reason=f"no {reference.args[0]} on this machine"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say it plainly when the pages were not tried in a browser, and what was counted in a run in full number."""
    for figures in long_form.TOLD if long_form.MANY else ():
        terminalreporter.write_line(f"MEASURED: {figures}")
    left_out = [report for report in terminalreporter.getreports("skipped") if "no Chromium" in str(report.longrepr)]
    if left_out:
        terminalreporter.write_line(
            f"NOTICE: {len(left_out)} browser tests were left out: no Chromium was found. Install one, or name it in"
            " TEACHEST_CHROMIUM; TEACHEST_REQUIRE_BROWSER=1 makes its absence a failure.",
            yellow=True,
        )


@pytest.fixture(autouse=True)
def _nobodys_settings(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test reads the settings of whoever runs it."""
    for name in [name for name in os.environ if name.startswith("TEACHEST_")]:
        monkeypatch.delenv(name)
    monkeypatch.setattr("platformdirs.user_config_path", lambda *_, **__: tmp_path_factory.getbasetemp() / "no-config")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A headless Chromium, one for the whole run."""
    from playwright.sync_api import sync_playwright

    path = chromium()
    assert path, "TEACHEST_REQUIRE_BROWSER is set and no Chromium was found"
    with sync_playwright() as playwright:
        # Chromium's own sandbox refuses to start as root, which is who runs the tests in a container.
        as_root = hasattr(os, "geteuid") and os.geteuid() == 0
        opened = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"] if as_root else [])
        yield opened
        opened.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A fresh page of the size of a phone; a fault in a page's script fails the test."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    opened = context.new_page()
    faults: list[str] = []
    opened.on("pageerror", lambda fault: faults.append(str(fault)))
    yield opened
    context.close()
    assert not faults, f"scripts of the page failed: {faults}"


@pytest.fixture(scope="module")
def no_child_is_left() -> Iterator[None]:
    """The children that decode are ended with the module that asked them."""
    yield
    from survey.folder import decode_child

    decode_child.POOL.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty folder to be a survey's."""
    made = tmp_path / "my-machine"
    made.mkdir()
    return made


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey of a few photos and parts for the browser door, made once and copied for each test."""
    from web_survey import build

    room = tmp_path_factory.mktemp("built")
    build(room / "heap", room)
    return room / "heap"


@pytest.fixture
def app(built: Path, tmp_path: Path) -> Iterator[Flask]:
    """The browser door over a copy of that survey."""
    import web

    shutil.copytree(built, tmp_path / "heap")
    made = web.create_app(tmp_path / "heap")
    yield made
    made.extensions["survey"].close()


@pytest.fixture
def survey(app: Flask) -> bench.Survey:
    """The survey that the door shows."""
    return app.extensions["survey"]  # type: ignore[no-any-return]


@pytest.fixture
def client(app: Flask) -> CheckedClient:
    """A client that inspects every page it is given."""
    from web_client import CheckedClient

    return CheckedClient(app)
