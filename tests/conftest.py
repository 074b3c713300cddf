"""What every test may ask for: settings that are nobody's, and a browser where there is one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import long_form
import pytest
import side_by_side
from chromium import chromium

if TYPE_CHECKING:
    from flask import Flask
    from playwright.sync_api import Browser, Page
    from web_client import CheckedClient

    from survey.store.survey import Survey

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


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """As many workers as there are cores, when folders of tests are asked for; they take over each other's tests."""
    if config.option.dist == "no":
        config.option.dist = "worksteal"
    return side_by_side.worker_count(config)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """A test that holds a measured time against its limit runs while no other worker is at anything."""
    factory: pytest.TempPathFactory = item.config._tmp_path_factory  # type: ignore[attr-defined]
    alone = item.get_closest_marker("bench") is not None
    workers = "PYTEST_XDIST_WORKER" in os.environ
    with side_by_side.one_test(side_by_side.room_of_run(factory), alone) if workers else nullcontext():
        return (yield)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A worker hands over what it counted."""
    if hasattr(session.config, "workeroutput"):
        session.config.workeroutput["told"] = long_form.TOLD


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """What a worker counted is told at the end of the whole run."""
    long_form.TOLD += getattr(node, "workeroutput", {}).get("told", [])


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
    from survey.photos import decode_child

    decode_child.POOL.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty folder to be a survey's."""
    made = tmp_path / "my-machine"
    made.mkdir()
    return made


@pytest.fixture(scope="session", autouse=True)
def _templates_are_compiled_once() -> Iterator[None]:
    """Each app that a test makes would compile all of them anew."""
    from compiled_templates import KeepingEnvironment
    from flask import Flask

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Flask, "jinja_environment", KeepingEnvironment)
        yield


@pytest.fixture
def unsynced(monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is not waited for: for tests of many edits that say nothing of a loss of power."""
    monkeypatch.setattr("survey.store.database._SYNCHRONOUS", "OFF")


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey of a few photos and parts for the browser door, made once a run and copied for each test."""
    from web_survey import build

    return side_by_side.made_once(tmp_path_factory, "built", lambda room: build(room / "heap", room)) / "heap"


@pytest.fixture(scope="session")
def full(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey with a row in every table, made once a run; a test that writes copies it."""
    from full_survey import build

    return side_by_side.made_once(tmp_path_factory, "full", lambda room: build(room / "heap", room)) / "heap"


@pytest.fixture
def app(built: Path, tmp_path: Path, unsynced: None) -> Iterator[Flask]:
    """The browser door over a copy of that survey."""
    import web

    shutil.copytree(built, tmp_path / "heap")
    made = web.create_app(tmp_path / "heap")
    yield made
    made.extensions["survey"].close()


@pytest.fixture
def survey(app: Flask) -> Survey:
    """The survey that the door shows."""
    return app.extensions["survey"]  # type: ignore[no-any-return]


@pytest.fixture
def client(app: Flask) -> CheckedClient:
    """A client that inspects every page it is given."""
    from web_client import CheckedClient

    return CheckedClient(app)
