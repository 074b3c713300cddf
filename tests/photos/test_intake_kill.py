"""Killed while photos come in: what was acknowledged is there, whole and with its tags, and the next run completes it.

The kill is SIGKILL at a random moment; Teachest's own store keeps the ledger. ``long_form`` says how many kills.
"""

from __future__ import annotations

import hashlib
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import photo_factory as make
import pytest
from house import TOP
from long_form import tell, times

from survey.photos.verbs import list_photos, take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.shelf.verbs import make_survey, open_survey

KILLS = times(6, full=200)
PHOTOS = 24

TAKE_IN = """
import sys
import time
from pathlib import Path
from survey.photos.verbs import take_in_photos
from survey.shelf.verbs import open_survey
with open_survey(Path(sys.argv[1])) as survey:
    print("at it", flush=True)
    take_in_photos(survey, [Path(sys.argv[2])], lambda done, total, name: print(name, flush=True))
print("done", flush=True)
"""


def fill(phone: Path, start: int) -> dict[str, str]:
    """Photos and their hashes; every eighth is a PNG, which a child process decodes."""
    hashes = {}
    for number in range(start, start + PHOTOS):
        image = make.textured(640, 480, seed=number)
        kind = "PNG" if number % 8 == 0 else "JPEG"
        block = make.exif(original=f"2024:05:01 10:{number // 60 % 60:02}:{number % 60:02}", make="Invented")
        data = make.picture(kind, image, exif=block)
        name = f"{number:05}.{kind.lower()}"
        (phone / name).write_bytes(data)
        hashes[name] = hashlib.sha256(data).hexdigest()
    return hashes


def killed_intake(folder: Path, phone: Path, after: float | None) -> tuple[list[str], float]:
    """Run an intake and kill it that many seconds after its beginning; what it had told by then, and how long it ran.

    None: it is left alone.
    """
    child = subprocess.Popen(
        [sys.executable, "-c", TAKE_IN, str(folder), str(phone)], stdout=subprocess.PIPE, text=True, cwd=TOP
    )
    with child:
        assert child.stdout and child.stdout.readline() == "at it\n"
        start = time.monotonic()
        try:
            child.wait(after)
        except subprocess.TimeoutExpired:
            child.send_signal(signal.SIGKILL)
        told = child.stdout.readlines()
    return [line.strip() for line in told if line.endswith("\n")], time.monotonic() - start


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.slow
@pytest.mark.long_form
def test_kills_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    folder, phone = tmp_path / "my-machine", tmp_path / "phone"
    make_survey(folder, "lightweight", "Haldane-Pike Ferryman").close()
    dice, acknowledged, hashes, during, longest = random.Random(20241), set[str](), dict[str, str](), 0, 0.0
    for kill in range(-1, KILLS):  # the first is left alone; the quickest whole run says when the next kill may fall
        box = phone / f"box {kill + 1:03}"
        box.mkdir(parents=True)
        hashes |= fill(box, (kill + 1) * PHOTOS)
        told, took = killed_intake(folder, box, dice.uniform(0, longest) if longest else None)
        whole = "done" in told
        longest = min(longest or took, took) if whole else longest
        during += not whole
        acknowledged |= {name for name in told if name != "done"}
        with open_survey(folder) as survey:
            recorded = {photo.name: photo for photo in list_photos(survey)}
        assert acknowledged <= set(recorded)
        for name, photo in recorded.items():
            assert hashlib.sha256((folder / photo.path).read_bytes()).hexdigest() == photo.sha256
            # One that was killed between its renaming and its recording is adopted by the next intake, which was
            # offered another box and so knows it by its hash alone.
            assert photo.sha256 == hashes.get(name) or name.startswith(photo.sha256)
            assert (photo.taken_from, photo.make) == ("original", "Invented")
    with open_survey(folder) as survey:
        result = take_in_photos(survey, [phone])
        assert len(result.added) + len(result.already) == len(hashes)
        assert not result.refused and not result.warned
        assert {photo.sha256 for photo in list_photos(survey)} == set(hashes.values())
        assert check_survey(survey) == []
    assert [file.name for file in (folder / "incoming").iterdir()] == ["lock"]
    assert during > KILLS // 2, "the kills come too late"
    tell(
        f"{during} of {KILLS} kills while {len(hashes)} photos came in: {len(acknowledged)} acknowledged,"
        " 0 lost, 0 changed, 0 without their tags"
    )


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_the_children_go_with_a_killed_parent(tmp_path: Path) -> None:
    code = (
        "from survey.photos import decode_child as d\n"
        "one = d.Decoder(); print(one._child.pid, flush=True); one._child.wait()"
    )
    with subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, cwd=TOP) as parent:
        assert parent.stdout
        child = int(parent.stdout.readline())
        parent.kill()
    for _ in range(200):
        try:
            os.kill(child, 0)
        except ProcessLookupError:
            return
        if Path(f"/proc/{child}/stat").is_file() and ") Z " in Path(f"/proc/{child}/stat").read_text():
            return
        time.sleep(0.05)
    pytest.fail("the child outlived its parent")
