"""A backup made while the survey is in use can be put back, and everything in it is as its hash says.

``long_form`` says how many backups.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner
from house import TOP
from long_form import tell, times
from PIL import Image

from survey.errors import AlreadyASurvey, BadValue, CannotWrite, ForeignDatabase, SurveyBusy
from survey.history.verbs import redo_act, undo_act
from survey.photos.verbs import get_picture_path, list_photos
from survey.safekeeping import lock
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import back_up, restore_backup
from survey.shelf.verbs import open_survey
from survey.store.tables import TABLES
from web.main import main

BACKUPS = times(3, full=20)
UPLOADS = 24

WORK = """
import sys
from pathlib import Path
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part
from survey.photos.verbs import take_in_photos
from survey.shelf.verbs import open_survey
with open_survey(Path(sys.argv[1])) as survey:
    print("at it", flush=True)
    for photo in sorted(Path(sys.argv[2]).iterdir()):
        taken = take_in_photos(survey, [photo]).added[0]
        part = add_part(survey, "B052", photos=[taken.photo], note=photo.name)
        add_finding(survey, part.id, "bent", 2, photo=taken.photo, points=[(0.5, 0.5)])
"""


@pytest.fixture
def heap(built: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(built, tmp_path / "heap"))


@pytest.mark.long_form
def test_backups_taken_while_photos_come_in_are_all_whole(heap: Path, tmp_path: Path) -> None:
    seen = set()
    for number in range(BACKUPS):
        phone = tmp_path / f"phone {number}"
        phone.mkdir()
        for shade in range(UPLOADS):
            Image.new("RGB", (64, 48), (shade * 10, number * 12, 90)).save(phone / f"{shade:02}.jpg")
        words = [sys.executable, "-c", WORK, str(heap), str(phone)]
        with subprocess.Popen(words, cwd=TOP, stdout=subprocess.PIPE, text=True) as child:
            assert child.stdout and child.stdout.readline() == "at it\n"
            with open_survey(heap) as survey:
                made = back_up(survey, tmp_path / f"{number}.zip")
        assert child.returncode == 0
        seen.add(made.photos)
        assert made.damaged == ()
        with open_survey(restore_backup(made.path, tmp_path / f"again {number}").folder) as again:
            assert check_survey(again) == []
            photos = list_photos(again)
            assert len(photos) == made.photos
            for photo in photos:
                assert hashlib.sha256((again.folder / photo.path).read_bytes()).hexdigest() == photo.sha256
    assert len(seen) > 1
    tell(f"{BACKUPS} backups during {UPLOADS} uploads each: all whole; with {min(seen)} to {max(seen)} photos")


def test_a_backup_is_a_plain_zip_file_of_open_data(heap: Path, tmp_path: Path) -> None:
    """Read with the standard library alone: every row of every table, the history, the photos, a database."""
    with open_survey(heap) as survey:
        made = back_up(survey, tmp_path / "one.zip")
        originals = {photo.path: photo.sha256 for photo in list_photos(survey)}
    with zipfile.ZipFile(made.path) as archive:
        assert archive.testzip() is None
        assert {entry.compress_type for entry in archive.infolist()} == {zipfile.ZIP_STORED}
        manifest = json.loads(archive.read("manifest.json"))
        assert set(archive.namelist()) == {*manifest["files"], "manifest.json"}
        for name, said in manifest["files"].items():
            content = archive.read(name)
            assert (said["bytes"], said["sha256"]) == (len(content), hashlib.sha256(content).hexdigest())
        assert {name: said["sha256"] for name, said in manifest["files"].items() if "originals" in name} == originals
        rows = {name: [json.loads(line) for line in archive.read(f"data/{name}.jsonl").splitlines()]
                for name in TABLES}  # fmt: skip
        archive.extract("survey.db", tmp_path)
    assert made.rows == sum(map(len, rows.values())) and len(rows["event"]) > 20
    with sqlite3.connect(tmp_path / "survey.db") as other:
        for name, told in rows.items():
            assert other.execute(f"SELECT count(*) FROM {name}").fetchone() == (len(told),)
    other.close()


def test_what_comes_back_is_what_was(heap: Path, tmp_path: Path) -> None:
    def whole(folder: Path) -> list[object]:
        with open_survey(folder) as survey:
            return [survey.store.rows(f"SELECT * FROM {table}") for table in TABLES]

    with open_survey(heap) as survey:
        undo_act(survey)
        made = back_up(survey, tmp_path / "one.zip")
    restore_backup(made.path, tmp_path / "again")
    assert whole(tmp_path / "again") == whole(heap)
    with open_survey(tmp_path / "again") as again:
        assert redo_act(again).words.startswith("Missing")
        assert get_picture_path(again, 1, "thumb").stat().st_size


def test_two_backups_of_the_same_are_the_same(heap: Path, tmp_path: Path) -> None:
    with open_survey(heap) as survey:
        made = [back_up(survey, tmp_path / name, lambda: "2026-11-25T12:00:00Z") for name in ("a.zip", "b.zip")]
    assert made[0].path.read_bytes() == made[1].path.read_bytes()


def test_a_folder_gets_a_backup_with_the_day_in_its_name(heap: Path, tmp_path: Path) -> None:
    with open_survey(heap) as survey:
        made = back_up(survey, tmp_path, lambda: "2026-11-25T12:00:00Z")
    assert made.path == tmp_path.resolve() / "heap 2026-11-25 120000.zip"


def test_a_photo_that_was_damaged_before_is_told_of_and_comes_along(heap: Path, tmp_path: Path) -> None:
    with open_survey(heap) as survey:
        first, second, _ = list_photos(survey)
        (heap / first.path).write_bytes(b"rotten")
        (heap / second.path).unlink()
        made = back_up(survey, tmp_path / "one.zip")
        assert made.damaged == tuple(sorted([first.path, second.path]))
        named = {problem.where for problem in check_survey(survey)}
    assert restore_backup(made.path, tmp_path / "again").damaged == made.damaged
    with open_survey(tmp_path / "again") as again:
        assert {problem.where for problem in check_survey(again)} == named


def test_a_damaged_database_is_not_backed_up_as_if_it_were_whole(heap: Path, tmp_path: Path) -> None:
    with sqlite3.connect(heap / "survey.db") as other:
        other.execute("UPDATE machine SET name = 'another'")
    other.close()
    with open_survey(heap) as survey, pytest.raises(ForeignDatabase, match="history"):
        back_up(survey, tmp_path / "one.zip")
    assert [path.name for path in tmp_path.iterdir()] == ["heap"]


def test_a_backup_takes_no_others_place(heap: Path, tmp_path: Path) -> None:
    (tmp_path / "one.zip").write_text("something else")
    with open_survey(heap) as survey:
        with pytest.raises(AlreadyASurvey):
            back_up(survey, tmp_path / "one.zip")
        with pytest.raises(BadValue, match="lost with it"):
            back_up(survey, heap / "one.zip")
        with pytest.raises(CannotWrite):
            back_up(survey, tmp_path / "nowhere" / "one.zip")
        with lock.hold_lock(heap, "emptying the bin", "", lock.KEEPING), pytest.raises(SurveyBusy):
            back_up(survey, tmp_path / "two.zip")
    assert (tmp_path / "one.zip").read_text() == "something else"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["heap", "one.zip"]


def test_both_commands_answer_in_words_and_json(heap: Path, tmp_path: Path) -> None:
    to = str(tmp_path / "one.zip")
    said = CliRunner().invoke(main, ["backup", str(heap), "--to", to])
    assert said.exit_code == 0 and "3 photos" in said.stdout
    again = str(tmp_path / "again")
    told = json.loads(CliRunner().invoke(main, ["restore", to, "--to", again, "--json"]).stdout)
    assert (told["photos"], told["kept"], told["damaged"]) == (3, None, [])
    refused = CliRunner().invoke(main, ["restore", to, "--to", str(heap)])
    assert refused.exit_code == 1 and "--replace" in refused.stderr
    replaced = CliRunner().invoke(main, ["restore", to, "--to", str(heap), "--replace"])
    assert replaced.exit_code == 0 and "as it was" in replaced.stdout
