"""Snapshots are made once a day and ten are kept; what can be rebuilt is rebuilt, and nothing else is touched."""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from survey.errors import CannotWrite, SurveyBusy
from survey.machine.verbs import change_machine, get_machine
from survey.photos.staging import open_staging
from survey.photos.verbs import get_photo, get_picture_path, list_photos, take_in_photos, take_snapshot_before_intake
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import repair_survey, take_daily_snapshot, take_snapshot
from survey.shelf.verbs import make_survey, open_survey
from web.main import main


@pytest.fixture
def heap(built: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(built, tmp_path / "heap"))


def test_ten_snapshots_are_kept_and_each_is_the_database_of_its_day(heap: Path, tmp_path: Path) -> None:
    (heap / "snapshots" / "before-update-20260101T000000Z.db").write_bytes(b"")
    with open_survey(heap) as survey:
        for day in range(1, 13):
            change_machine(survey, note=f"day {day}")
            made = take_snapshot(survey, lambda day=day: f"2026-11-{day:02}T12:00:00Z")  # type: ignore[misc]
    kept = sorted(file.name for file in (heap / "snapshots").iterdir())
    assert kept == ["before-update-20260101T000000Z.db", *(f"day-202611{day:02}T120000Z.db" for day in range(3, 13))]
    shutil.copy(heap / "snapshots" / kept[1], heap / "survey.db")
    with open_survey(heap) as survey:
        assert get_machine(survey).note == "day 3" and check_survey(survey) == []
    assert made.name == kept[-1]


def test_one_is_made_before_photos_come_in_if_there_is_something_to_lose(
    heap: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def copies(folder: Path) -> list[str]:
        return sorted(file.name for file in (folder / "snapshots").iterdir())

    box = tmp_path / "box"
    box.mkdir()
    for shade in range(4):
        Image.new("RGB", (40, 30), (shade, 90, 9)).save(box / f"{shade}.png")
    times = iter(["2026-11-25T12:00:00Z", "2026-11-25T12:59:59Z", "2026-11-25T13:00:00Z"])
    monkeypatch.setattr(take_snapshot_before_intake, "__defaults__", (lambda: next(times),))
    for snapshot in (heap / "snapshots").iterdir():
        snapshot.unlink()
    with open_survey(heap) as survey:
        for shade in range(3):
            take_in_photos(survey, [box / f"{shade}.png"])
    assert copies(heap) == ["intake-20261125T120000Z.db", "intake-20261125T130000Z.db"]
    for copy, photos in zip(copies(heap), (3, 5), strict=True):
        shutil.copy(heap / "snapshots" / copy, heap / "survey.db")
        with open_survey(heap) as survey:
            assert len(list_photos(survey)) == photos
    monkeypatch.undo()
    with make_survey(tmp_path / "new", "lightweight", "New") as survey:
        take_in_photos(survey, [box])
    assert copies(tmp_path / "new") == []


def test_what_a_broken_off_copy_has_left_is_not_taken_for_one(heap: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from survey.store.database import os

    with open_survey(heap) as survey:
        for snapshot in (heap / "snapshots").iterdir():
            snapshot.unlink()
        monkeypatch.setattr(os, "replace", full)
        with pytest.raises(CannotWrite):
            take_snapshot(survey)
    assert list((heap / "snapshots").iterdir()) == []


def full(*_: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_one_a_day(heap: Path) -> None:
    with open_survey(heap) as survey:
        times = ["2026-11-25T12:00:00Z", "2026-11-26T11:59:59Z", "2026-11-26T12:00:00Z"]
        made = [take_daily_snapshot(survey, lambda time=time: time) for time in times]  # type: ignore[misc]
    assert [bool(one) for one in made] == [True, False, True]


def test_serving_makes_the_days_snapshot(heap: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("web.serve", lambda *_: None)
    for _ in range(2):
        assert CliRunner().invoke(main, ["serve", str(heap), "--no-browser"]).exit_code == 0
    assert len(list((heap / "snapshots").glob("day-*.db"))) == 1
    assert CliRunner().invoke(main, ["snapshot", str(heap)]).exit_code == 0


def test_pictures_are_made_again_and_strays_taken_up(heap: Path, tmp_path: Path) -> None:
    with open_survey(heap) as survey:
        gone, cut, empty = (get_picture_path(survey, number, "thumb") for number in (1, 2, 3))
        good = cut.read_bytes()
        originals = {file: file.read_bytes() for file in (heap / "originals").rglob("*.jpg")}
        gone.unlink()
        cut.write_bytes(good[: len(good) // 2])
        empty.write_bytes(b"")
        mended = repair_survey(survey)
        assert (mended.adopted, mended.pictures) == (0, 3)
        assert cut.read_bytes() == good
        assert (repair_survey(survey).pictures, check_survey(survey)) == (0, [])
        stray = heap / get_photo(survey, 1).path
    with make_survey(tmp_path / "other", "lightweight", "Other") as other:
        to = tmp_path / "other" / stray.relative_to(heap)
        to.parent.mkdir(parents=True)
        shutil.copy(stray, to)
        assert len(check_survey(other)) == 1
        assert repair_survey(other).adopted == 1
        assert check_survey(other) == [] and len(list_photos(other)) == 1
    assert {file: file.read_bytes() for file in originals} == originals


def test_what_cannot_be_mended_is_still_named(heap: Path) -> None:
    with open_survey(heap) as survey:
        rotten = get_photo(survey, 1).path
        (heap / rotten).write_bytes(b"rotten")
        get_picture_path(survey, 2, "thumb").unlink()
    said = CliRunner().invoke(main, ["check", str(heap), "--mend"])
    assert said.exit_code == 1
    assert "Mended: 1 picture made, 0 photos taken up." in said.stdout and rotten in said.stdout


def test_nothing_is_mended_while_photos_come_in(heap: Path) -> None:
    with open_survey(heap) as survey, open_staging(heap), pytest.raises(SurveyBusy):
        repair_survey(survey)
