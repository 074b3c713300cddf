"""Killed while photos come in: what was acknowledged is there, whole and with its tags, and the next run completes it.

The kill is SIGKILL at a random moment; TEACHEST's own store keeps the ledger. The number of kills is small here;
KILLS in the environment makes it larger.
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

from survey import bench

KILLS = int(os.environ.get("KILLS", "6"))
PHOTOS = 24

TAKE_IN = """
import sys
import time
from pathlib import Path
from survey import bench
with bench.open_survey(Path(sys.argv[1])) as survey:
    bench.take_in(survey, [Path(sys.argv[2])], lambda done, total, name: print(name, flush=True))
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


def killed_intake(folder: Path, phone: Path, after_lines: int, pause: float) -> list[str]:
    """Run an intake, kill it some time after it has told of so many files; what it had told by then."""
    child = subprocess.Popen(
        [sys.executable, "-c", TAKE_IN, str(folder), str(phone)], stdout=subprocess.PIPE, text=True, cwd=TOP
    )
    with child:
        assert child.stdout
        told = [child.stdout.readline() for _ in range(after_lines)]
        try:
            child.wait(pause)
        except subprocess.TimeoutExpired:
            child.send_signal(signal.SIGKILL)
        told += child.stdout.readlines()
    return [line.strip() for line in told if line.endswith("\n")]


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.slow
def test_kills_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    folder, phone = tmp_path / "my-machine", tmp_path / "phone"
    bench.make_survey(folder, "lightweight", "Haldane-Pike Ferryman").close()
    dice, acknowledged, hashes = random.Random(20241), set[str](), dict[str, str]()
    for kill in range(KILLS):
        box = phone / f"box {kill:03}"
        box.mkdir(parents=True)
        hashes |= fill(box, kill * PHOTOS)
        told = killed_intake(folder, box, dice.randint(0, PHOTOS // 2), dice.uniform(0, 0.4))
        acknowledged |= {name for name in told if name != "done"}
        with bench.open_survey(folder) as survey:
            recorded = {photo.name: photo for photo in bench.photos(survey)}
        assert acknowledged <= set(recorded)
        for name, photo in recorded.items():
            assert hashlib.sha256((folder / photo.path).read_bytes()).hexdigest() == photo.sha256
            # One that was killed between its renaming and its recording is adopted by the next intake, which was
            # offered another box and so knows it by its hash alone.
            assert photo.sha256 == hashes.get(name) or name.startswith(photo.sha256)
            assert (photo.taken_from, photo.make) == ("original", "Invented")
    with bench.open_survey(folder) as survey:
        result = bench.take_in(survey, [phone])
        assert len(result.added) + len(result.already) == len(hashes)
        assert not result.refused and not result.warned
        assert {photo.sha256 for photo in bench.photos(survey)} == set(hashes.values())
        assert bench.check(survey) == []
    assert [file.name for file in (folder / "incoming").iterdir()] == ["lock"]


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_the_children_go_with_a_killed_parent(tmp_path: Path) -> None:
    code = (
        "from survey.folder import decode_child as d\n"
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
