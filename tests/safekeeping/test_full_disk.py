"""A disk that is full: said plainly, nothing lost or half written, and it goes on once there is room.

On a small file system of its own (tmpfs, mounted where only the child sees it), which takes Linux and the right to
mount; ``TEACHEST_REQUIRE_SMALL_DISK=1`` makes it a failure where that is not to be had.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import photo_factory as make
import pytest
from house import TOP
from long_form import tell
from older_surveys import older

from survey.safekeeping.verbs import back_up
from survey.shelf.verbs import open_survey

pytestmark = pytest.mark.slow

REQUIRED = os.environ.get("TEACHEST_REQUIRE_SMALL_DISK") == "1"
MOUNTED = 'mount -t tmpfs -o size=6m,mode=700 teachest "$1" && shift && exec "$@"'


def on_small_disk(disk: Path, *command: str) -> list[str] | None:
    """The command as it runs with a small file system in that place; None where none can be had."""
    for unshare in (["unshare", "--mount"], ["unshare", "--mount", "--map-root-user"]):
        within = [*unshare, "sh", "-c", MOUNTED, "sh", str(disk)]
        if (
            shutil.which("unshare")
            and not subprocess.run([*within, "true"], capture_output=True, check=False).returncode
        ):
            return [*within, *command]
    return None


@pytest.fixture(scope="module")
def ends(full: Path, tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    """What became of each thing that was begun on the full disk."""
    room = tmp_path_factory.mktemp("full disk")
    (room / "disk").mkdir()
    within = on_small_disk(
        room / "disk", sys.executable, str(TOP / "tests" / "support" / "full_disk.py"), str(room / "disk")
    )
    if within is None:
        assert not REQUIRED, "TEACHEST_REQUIRE_SMALL_DISK is set and no small file system can be mounted"
        pytest.skip("no small file system can be mounted here")
    shutil.copytree(full, room / "heap")
    given = {"heap": room / "heap", "backup": room / "backup.zip", "phone": room / "phone", "older": room / "older"}
    with open_survey(given["heap"]) as survey:
        back_up(survey, given["backup"])
    older(given["heap"], 1, given["older"])
    given["phone"].mkdir()
    for number in range(6):
        (given["phone"] / f"{number}.jpg").write_bytes(make.picture(image=make.textured(640, 480, seed=number)))
    (room / "temporary").mkdir()
    run = subprocess.run(
        [*within, json.dumps({name: str(path) for name, path in given.items()})],
        cwd=TOP, capture_output=True, text=True, check=False, env=os.environ | {"TMPDIR": str(room / "temporary")},
    )  # fmt: skip
    assert run.returncode == 0, run.stderr[-3000:]
    return list(json.loads(run.stdout))


def test_every_thing_was_begun_and_most_could_not_be_done(ends: list[dict[str, Any]]) -> None:
    refused = {one["act"] for one in ends if "refused" in one}
    assert {one["act"] for one in ends} - refused == set()


def test_nothing_breaks_and_it_is_said_that_the_disk_is_full(ends: list[dict[str, Any]]) -> None:
    assert [one for one in ends if "broke" in one] == []
    tell(f"{len(ends)} things begun on a full disk: {sum('refused' in one for one in ends)} refused, the others done")
    unclear = [one for one in ends if "refused" in one and not any(word in one["refused"].lower() for word in FULL)]
    assert unclear == []


FULL = ("is full", "no space left")


def test_nothing_is_lost_or_left_half_written(ends: list[dict[str, Any]]) -> None:
    assert [one for one in ends if one["wrong"] or one.get("lost") or one.get("new")] == []


def test_it_goes_on_once_there_is_room(ends: list[dict[str, Any]]) -> None:
    assert [one for one in ends if "refused" in one and one["after"] != {"wrong": []}] == []
