"""One holder of a survey's folder at a time; a place that is poor for a database is told of."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner
from house import TOP
from PIL import Image

from survey.errors import NotASurvey, SurveyBusy
from survey.safekeeping import lock
from survey.safekeeping.verbs import back_up, hold_survey
from survey.shelf.verbs import make_survey, open_survey
from web.main import main

SERVE = "from web.main import main; main()"
NOON = "2026-11-25T12:00:00Z"


@pytest.fixture
def heap(tmp_path: Path) -> Path:
    make_survey(tmp_path / "heap", "lightweight", "Dairy find").close()
    return tmp_path / "heap"


@contextmanager
def served(folder: Path) -> Iterator[subprocess.Popen[str]]:
    """A server of that survey in a process of its own, up and answering."""
    words = [sys.executable, "-c", SERVE, "serve", str(folder), "--port", "0", "--no-browser"]
    with subprocess.Popen(words, cwd=TOP, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout and server.stdout.readline().startswith("http://")
            yield server
        finally:
            server.kill()


@pytest.mark.bench
def test_a_second_server_ends_soon_and_names_the_first(heap: Path) -> None:
    with served(heap) as first:
        words = [sys.executable, "-c", SERVE, "serve", str(heap), "--port", "0", "--no-browser"]
        bare = time.monotonic()
        subprocess.run([sys.executable, "-c", "import web.main, web.app"], cwd=TOP, check=True)
        start = time.monotonic()
        second = subprocess.run(words, cwd=TOP, capture_output=True, text=True, timeout=60, check=False)
        took = time.monotonic() - start
        assert second.returncode == 1 and second.stdout == ""
        assert re.search(rf"process {first.pid}, serving since 20\d\d-\d\d-\d\dT", second.stderr)
        # Two seconds for what it does itself; loading Python and its libraries is the machine's.
        assert took - (start - bare) < 2


def test_ordinary_commands_work_beside_a_server(heap: Path) -> None:
    with served(heap):
        run = CliRunner().invoke(main, ["part", str(heap), "--component", "B052"])
        assert run.exit_code == 0, run.output
        assert CliRunner().invoke(main, ["check", str(heap)]).exit_code == 0


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
def test_the_lock_of_a_dead_process_is_none(heap: Path) -> None:
    with served(heap) as server:
        server.send_signal(signal.SIGKILL)
        server.wait()
        assert str(server.pid) in (heap / lock.IN_USE).read_text()
        with hold_survey(heap, "serving"):
            assert str(os.getpid()) in (heap / lock.IN_USE).read_text()
    assert (heap / lock.IN_USE).read_text() == ""


def test_two_in_one_process_are_told_apart_too(heap: Path) -> None:
    whose = f"process {os.getpid()}, serving since {NOON}"
    with hold_survey(heap, "serving", lambda: NOON), pytest.raises(SurveyBusy, match=whose), hold_survey(heap, "x"):
        pytest.fail("both had it")
    with hold_survey(heap, "serving"):
        pass


@pytest.mark.parametrize("note", [b"", b"\xff\xfe{", b"[]", b'{"pid": "x", "since": 1, "doing": 2}'])
def test_a_spoilt_note_is_no_stumbling_block(heap: Path, note: bytes) -> None:
    with hold_survey(heap, "serving"):
        (heap / lock.IN_USE).write_bytes(note)
        with pytest.raises(SurveyBusy, match="does not say which"), hold_survey(heap, "serving"):
            pytest.fail("both had it")


def test_there_must_be_a_survey_to_hold(tmp_path: Path) -> None:
    with pytest.raises(NotASurvey):
        hold_survey(tmp_path / "nothing", "serving")


def test_a_plain_folder_is_a_good_place(heap: Path) -> None:
    assert lock.find_folder_risk_in(heap, heap / "no such list") == ""


@pytest.mark.parametrize("kind", ["nfs4", "cifs", "fuse.sshfs"])
def test_a_network_drive_is_told_of(heap: Path, tmp_path: Path, kind: str) -> None:
    """The list is written as fstab(5) says: a blank is \\040; the deepest mount over the folder counts."""
    mounts = tmp_path / "mounts"
    above = str(heap.resolve().parent).replace(" ", "\\040")
    mounts.write_text(f"/dev/sda1 / ext4 rw 0 0\nhost:/share {above} {kind} rw 0 0\n")
    assert "network drive" in lock.find_folder_risk_in(heap, mounts)
    mounts.write_text(f"host:/ / {kind} rw 0 0\n/dev/sda1 {above} ext4 rw 0 0\n")
    assert lock.find_folder_risk_in(heap, mounts) == ""


@pytest.mark.parametrize("name", ["Dropbox", "OneDrive - Dairy", "Nextcloud"])
def test_a_sync_programs_folder_is_told_of_by_its_name(tmp_path: Path, name: str) -> None:
    assert name in lock.find_folder_risk_in(tmp_path / name / "bikes" / "heap")


def test_a_sync_programs_mark_is_told_of_by_every_command_that_makes_or_fills_a_survey(
    heap: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_survey(heap) as survey:
        backup = str(back_up(survey, tmp_path / "one.zip").path)
    Image.new("RGB", (30, 20), "teal").save(tmp_path / "one.png")
    monkeypatch.setattr("web.serve", lambda *_: None)
    commands = (
        ["serve", str(heap), "--port", "0", "--no-browser"], ["check", str(heap)],
        ["intake", str(heap), str(tmp_path / "one.png")], ["new", str(tmp_path / "new"), "--name", "New", "--json"],
        ["restore", backup, "--to", str(tmp_path / "again")],
    )  # fmt: skip
    assert "sync program" not in CliRunner().invoke(main, commands[1]).stderr
    (tmp_path / ".stfolder").mkdir()
    for command in commands:
        run = CliRunner().invoke(main, command)
        assert run.exit_code == 0 and "sync program" in run.stderr, command
