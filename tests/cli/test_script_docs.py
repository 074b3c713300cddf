"""docs/how-to/use-it-from-a-script.md names every key that a command answers with, and none that it does not."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from web.main import main

PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "use-it-from-a-script.md"
ROWS = {row[1]: row[2] for row in re.finditer(r"^\| `([a-z]+)` \| (.*) \|$", PAGE.read_text("utf-8"), re.MULTILINE)}
MORE = {"docket": ["1"], "spend": ["--what", "rags"], "part": ["--component", "B170"]}
"""What a command wants besides the folder."""

ELSEWHERE = {"intake", "kinds"}
"""Their answers are held by test_cli.py and test_intake.py: the one wants photos, the other no folder."""


@pytest.fixture(scope="module")
def heap(full: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(full, tmp_path_factory.mktemp("script") / "heap"))


def keys(answer: Any) -> Iterator[str]:
    """Every key at any depth."""
    if isinstance(answer, dict):
        yield from answer
    for one in answer.values() if isinstance(answer, dict) else answer if isinstance(answer, list) else ():
        yield from keys(one)


def test_the_rooms_of_the_plan_are_told_of() -> None:
    told = "order blocks wants stuck fit belongs batch docket money spend worth gates copies"
    assert set(told.split()) <= ROWS.keys()


@pytest.mark.parametrize("command", sorted(ROWS.keys() - ELSEWHERE))
def test_every_key_is_told_of(heap: Path, command: str) -> None:
    result = CliRunner().invoke(main, [command, str(heap), *MORE.get(command, ()), "--json"], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    first = answer[0] if isinstance(answer, list) else answer
    named = set(re.findall(r'"([a-z_0-9]+)"', ROWS[command]))
    assert ROWS[command].startswith("list") == isinstance(answer, list)
    assert set(first) <= named
    assert named <= set(keys(answer))
