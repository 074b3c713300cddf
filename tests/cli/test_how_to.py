"""What the how-to pages type works: every command line of a page, in its order, on a fresh copy of the demo."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from house import TOP
from photo_factory import picture
from side_by_side import made_once

from survey.cli.demo import build_demo
from web.main import main

PAGES = sorted((TOP / "docs" / "how-to").glob("*.md"))
FENCE = re.compile(r"^```(.*)\n((?:.*\n)*?)```$", re.MULTILINE)
ELSEWHERE = ("serve", "demo")
"""Commands that serve pages and make the demo: the tests of the browser door and of the demo run them."""


def command_lines(page: Path) -> Iterator[str]:
    """Every line that a page types, one that goes on (after a backslash, within quotes) as a whole."""
    for name, block in FENCE.findall(page.read_text("utf-8")):
        assert name == "sh", f"a block of {page.name} does not say that it is for a shell"
        script = block.replace("\\\n", "")
        yield from re.findall(r'(?:"[^"]*"|[^"\n])+', script)


def run(line: str) -> None:
    """Run one command line; what stands behind a pipe gets what the command printed."""
    words = shlex.split(line)
    assert words[0] == "teachest"
    command, behind = (words[: words.index("|")], words[words.index("|") + 1 :]) if "|" in words else (words, [])
    result = CliRunner().invoke(main, command[1:], catch_exceptions=False)
    assert result.exit_code == 0, f"{line}\n{result.output}"
    if behind:
        assert behind[0] == "python3"
        piped = subprocess.run(
            [sys.executable, *behind[1:]], input=result.stdout, capture_output=True, text=True, check=False
        )
        assert piped.returncode == 0 and piped.stdout, piped.stderr


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's survey, made once a run; a test that writes copies it."""
    return made_once(tmp_path_factory, "demo", lambda room: build_demo(room / "my-machine", str).close()) / "my-machine"


@pytest.fixture
def bench(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in as a reader of a page does: a copy of the demo in it, a phone's photos and a stick."""
    shutil.copytree(demo, tmp_path / "my-machine")
    for name in ("phone-export", "stick"):
        (tmp_path / name).mkdir()
    (tmp_path / "phone-export" / "IMG_1.jpg").write_bytes(picture())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_there_are_pages_with_command_lines() -> None:
    assert len(PAGES) > 8
    assert [page.name for page in PAGES if not list(command_lines(page))] == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_command_line_of_a_page_works_on_the_demo_in_its_order(bench: Path, page: Path) -> None:
    for line in command_lines(page):
        if line.split()[1] not in ELSEWHERE:
            run(
                line.replace("~/phone-export", str(bench / "phone-export")).replace(
                    "/media/stick", str(bench / "stick")
                )
            )
