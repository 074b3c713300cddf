"""Open data: every row in CSV and JSON lines, photos under readable names, and nothing in them that tells a place."""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path

import photo_factory as make
import pytest
from click.testing import CliRunner
from PIL import Image

from survey.errors import AlreadyASurvey, BadValue
from survey.parts.verbs import add_part
from survey.photos.verbs import get_photo, get_picture_path, take_in_photos
from survey.safekeeping.verbs import export_survey
from survey.shelf.verbs import make_survey, open_survey
from survey.store.tables import TABLES
from web.main import main

CANARY = "CANARY-9F3A"


@pytest.fixture
def heap(built: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(built, tmp_path / "heap"))


def test_every_row_is_there_twice(heap: Path, tmp_path: Path) -> None:
    with open_survey(heap) as survey:
        done = export_survey(survey, tmp_path / "open")
        rows = {table: survey.store.rows(f"SELECT * FROM {table}") for table in TABLES}
    for table, told in rows.items():
        lines = (done.folder / "lines" / f"{table}.jsonl").read_text("utf-8").splitlines()
        assert sorted(map(json.dumps, map(json.loads, lines))) == sorted(map(json.dumps, told))
        with (done.folder / "tables" / f"{table}.csv").open(encoding="utf-8-sig", newline="") as stream:
            assert len(list(csv.DictReader(stream))) == len(told)
    assert done.rows == sum(map(len, rows.values())) and (done.photos, done.damaged) == (3, ())
    names = sorted(file.name for file in (done.folder / "photos").iterdir())
    assert names[0] == "0001 2026-06-06 Handlebar.jpg" and names[2] == "0003 2026-06-07.jpg"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["heap", "open"]


def test_no_cell_is_a_formula(heap: Path, tmp_path: Path) -> None:
    """The characters that spreadsheets take for the beginning of a formula: OWASP, CSV Injection."""
    with open_survey(heap) as survey:
        for start in "=+-@":
            add_part(survey, None, label=f"{start}1+1", note=f"{start}cmd")
        export_survey(survey, tmp_path / "open")
    for file in (tmp_path / "open" / "tables").iterdir():
        with file.open(encoding="utf-8-sig", newline="") as stream:
            assert not [cell for row in csv.reader(stream) for cell in row if cell[:1] in tuple("=+@\t\r")]


def test_what_the_camera_wrote_stays_at_home_unless_asked_for(tmp_path: Path) -> None:
    photo = tmp_path / "one.jpg"
    image = make.textured(640, 480, seed=1)
    photo.write_bytes(make.picture("JPEG", image, exif=make.exif(original="2026:06:06 10:00:00", make=CANARY)))
    assert CANARY.encode() in photo.read_bytes()
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find") as survey:
        take_in_photos(survey, [photo])
        export_survey(survey, tmp_path / "open")
        export_survey(survey, tmp_path / "with originals", originals=True)
    (shared,) = (tmp_path / "open" / "photos").iterdir()
    assert CANARY.encode() not in shared.read_bytes()
    with Image.open(shared) as opened:
        assert not opened.getexif()
    (kept,) = (tmp_path / "with originals" / "photos").iterdir()
    assert kept.read_bytes() == photo.read_bytes()


def test_only_a_free_place_is_taken(heap: Path, tmp_path: Path) -> None:
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "dear.txt").write_text("Dear")
    with open_survey(heap) as survey:
        (heap / get_photo(survey, 1).path).unlink()
        get_picture_path(survey, 1, "view").unlink()
        with pytest.raises(AlreadyASurvey):
            export_survey(survey, tmp_path / "letters")
        with pytest.raises(BadValue):
            export_survey(survey, heap / "open")
    said = CliRunner().invoke(main, ["export", str(heap), "--to", str(tmp_path / "open"), "--json"])
    told = json.loads(said.stdout)
    assert (told["photos"], len(told["damaged"])) == (2, 1)
