"""Taking photos in: every file ends as added, already here, or refused; nothing twice, nothing lost."""

from __future__ import annotations

import hashlib
import os
import shutil
import threading
import time
from pathlib import Path

import photo_factory as make
import pytest
from intake_results import ends, photo, whole

from survey.errors import CannotWrite, SurveyBusy
from survey.model.photos import IntakeResult
from survey.photos import intake, pictures, staging
from survey.photos.verbs import list_photos
from survey.safekeeping.check_verbs import check_survey
from survey.shelf.verbs import make_survey, open_survey

pytestmark = [pytest.mark.filterwarnings("ignore::UserWarning:PIL"), pytest.mark.usefixtures("no_child_is_left")]


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    made = tmp_path / "phone"
    made.mkdir()
    return made


def fill(phone: Path, count: int) -> None:
    for number in range(count):
        (phone / f"IMG_{number:04}.jpg").write_bytes(photo(number))


def test_every_kind_from_folders_files_and_zip_files(folder: Path, phone: Path, tmp_path: Path) -> None:
    (phone / "box 1").mkdir()
    (phone / "a.jpg").write_bytes(make.picture(exif=make.exif(orientation=6, original="2024:05:01 17:20:03")))
    (phone / "box 1" / "b.HEIC").write_bytes(make.picture("HEIF"))
    (phone / "box 1" / "c").write_bytes(make.mpo())
    (phone / "d.jpg").write_bytes(make.picture("PNG"))  # the content counts, not the name
    archive = make.zipped(
        {"e.webp": make.picture("WEBP"), "inner/f.avif": make.picture("AVIF"), "empty/": b""}, tmp_path / "more.zip"
    )
    single = tmp_path / "g.tif"
    single.write_bytes(make.picture("TIFF"))
    ledger = make.Memory()
    result = intake.run_intake(folder, [phone, archive, single], ledger)
    assert set(ends(result).values()) == {"added"}
    assert {one.name: one.format for one in ledger.arrivals} == {
        "a.jpg": "jpeg", "b.HEIC": "heif", "c": "mpo", "d.jpg": "png",
        "e.webp": "webp", "f.avif": "avif", "g.tif": "tiff",
    }  # fmt: skip
    first = next(one for one in ledger.arrivals if one.name == "a.jpg")
    assert (first.width, first.height, first.taken, first.taken_from) == (200, 320, "2024-05-01T17:20:03", "original")
    assert first.path == f"originals/{first.sha256[:2]}/{first.sha256}.jpg"
    assert first.source == str(phone / "a.jpg")
    assert {one.source for one in ledger.arrivals} >= {f"{archive}/inner/f.avif", str(single)}
    whole(folder, ledger)
    for one in ledger.arrivals:
        for size in ("thumb", "view"):
            assert pictures.picture_path(folder, one.sha256, size).is_file()


def test_a_second_run_adds_nothing_and_rewrites_nothing(folder: Path, phone: Path) -> None:
    fill(phone, 10)
    ledger = make.Memory()
    first = intake.run_intake(folder, [phone], ledger)
    before = {file: file.stat().st_mtime_ns for file in folder.rglob("*.jpg")}
    second = intake.run_intake(folder, [phone], ledger)
    assert (len(first.added), len(second.added), len(second.already)) == (10, 0, 10)
    assert {(one.photo, one.sha256) for one in second.already} == {(one.photo, one.sha256) for one in first.added}
    assert {file: file.stat().st_mtime_ns for file in folder.rglob("*.jpg")} == before


def test_the_same_file_ten_times_is_one_photo(folder: Path, phone: Path) -> None:
    for number in range(10):
        (phone / f"{number}.jpg").write_bytes(photo(1))
    ledger = make.Memory()
    result = intake.run_intake(folder, [phone, phone / "3.jpg"], ledger)
    assert (len(result.added), len(result.already), len(ledger.arrivals)) == (1, 10, 1)
    assert {one.photo for one in (*result.added, *result.already)} == {1}
    whole(folder, ledger)


def test_twins_of_a_damaged_file_are_refused_with_it(folder: Path, phone: Path) -> None:
    for number in range(5):
        (phone / f"{number}.png").write_bytes(make.picture("PNG")[:300])
    result = intake.run_intake(folder, [phone], make.Memory())
    assert set(ends(result).values()) == {"damaged"}
    assert len(result.refused) == 5


def test_the_same_picture_in_another_wrapping_is_told_and_kept(folder: Path, phone: Path) -> None:
    (phone / "a.jpg").write_bytes(make.picture())
    (phone / "b.jpg").write_bytes(make.motion_photo())
    ledger = make.Memory()
    result = intake.run_intake(folder, [phone], ledger)
    assert len(result.added) == 2
    assert [(Path(one.path).name, one.reason) for one in result.warned] == [("b.jpg", "looks-like")]
    assert "photo 1" in result.warned[0].message
    (phone / "c.jpg").write_bytes(make.picture() + b"another trailer")
    again = intake.run_intake(folder, [phone], ledger)
    assert [(Path(one.path).name, one.reason) for one in again.warned] == [("c.jpg", "looks-like")]


def test_a_photo_cut_short_is_taken_with_a_warning(folder: Path, phone: Path) -> None:
    (phone / "a.jpg").write_bytes(photo(1)[:-200])
    result = intake.run_intake(folder, [phone], make.Memory())
    assert ends(result) == {"a.jpg": "added"}
    assert [one.reason for one in result.warned] == ["cut-short"]


def test_progress_counts_every_file_once_and_only_after_it_has_ended(folder: Path, phone: Path) -> None:
    fill(phone, 12)
    (phone / "note.txt").write_text("bring the tin of clips")
    (phone / "twin.jpg").write_bytes(photo(3))
    ledger = make.Memory()
    told: list[tuple[int, int, str]] = []
    acknowledged: dict[str, int] = {}

    def progress(done: int, total: int, name: str) -> None:
        told.append((done, total, name))
        acknowledged[name] = len(ledger.arrivals)
        if name.startswith("IMG"):
            assert name in {one.name for one in ledger.arrivals}

    intake.run_intake(folder, [phone], ledger, progress)
    assert [done for done, _, _ in told] == list(range(1, 15))
    assert {total for _, total, _ in told} == {14}
    assert sum(ledger.calls) == 12 and max(ledger.calls) <= intake.PHOTOS_A_TRANSACTION


def test_bytes_are_safe_before_the_ledger_knows_them(
    folder: Path, phone: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(phone, 3)
    steps: list[str] = []
    real_sync, real_replace, real_write = os.fsync, os.replace, pictures.write_pictures

    def sync(descriptor: int) -> None:
        steps.append("sync folder" if os.path.isdir(f"/proc/self/fd/{descriptor}") else "sync file")
        real_sync(descriptor)

    def rename(source: Path, to: Path) -> None:
        if "originals" in str(to):
            assert str(source).startswith(str(folder / "incoming"))
            steps.append("rename")
        real_replace(source, to)

    class Watching(make.Memory):
        def record(self, arrivals: list[intake.NewPhoto]) -> list[int]:
            steps.append("record")
            assert all((folder / one.path).is_file() for one in arrivals)
            return super().record(arrivals)

    monkeypatch.setattr(os, "fsync", sync)
    monkeypatch.setattr(os, "replace", rename)
    monkeypatch.setattr(pictures, "write_pictures", lambda *given: (steps.append("pictures"), real_write(*given))[1])
    intake.run_intake(folder, [phone], Watching(), lambda *_: steps.append("told"))
    body = [step for step in steps if step != "sync folder"]
    assert body == ["sync file"] * 3 + ["rename"] * 3 + ["record"] + ["told"] * 3 + ["pictures"] * 3
    assert "sync folder" in steps[steps.index("rename") : steps.index("record")]


def test_a_damaged_or_lost_original_is_put_back(folder: Path, phone: Path) -> None:
    fill(phone, 3)
    ledger = make.Memory()
    intake.run_intake(folder, [phone], ledger)
    (folder / ledger.arrivals[0].path).unlink()
    lost = bytearray((folder / ledger.arrivals[1].path).read_bytes())
    lost[500] ^= 1
    (folder / ledger.arrivals[1].path).write_bytes(lost)
    result = intake.run_intake(folder, [phone], ledger)
    assert (len(result.already), len(result.added)) == (3, 0)
    assert [one.reason for one in result.warned] == ["put-back", "put-back"]
    whole(folder, ledger)


def test_what_a_broken_off_intake_left_is_cleared_or_adopted(folder: Path, phone: Path) -> None:
    fill(phone, 3)
    data = {photo(number) for number in (0, 7)}  # one that is offered again, one that is not
    room = folder / "incoming" / "run-dead"
    room.mkdir(parents=True)
    (room / "half").write_bytes(photo(5)[:100])
    for one in data:
        sha = hashlib.sha256(one).hexdigest()
        path = folder / staging.original_path(sha, "jpeg")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(one)
        os.utime(path, (1_700_000_000, 1_700_000_000))
    ledger = make.Memory()
    result = intake.run_intake(folder, [phone], ledger)
    assert len(result.added) == 4
    assert {one.name for one in ledger.arrivals} >= {"IMG_0000.jpg", "IMG_0001.jpg", "IMG_0002.jpg"}
    adopted = next(one for one in ledger.arrivals if not one.name.startswith("IMG"))
    assert adopted.sha256 == hashlib.sha256(photo(7)).hexdigest()
    assert (adopted.taken or "").startswith("2023-11-1") and adopted.taken_from == "file"
    whole(folder, ledger)


def test_mending_adopts_and_never_deletes(folder: Path) -> None:
    good, bad = photo(1), photo(2)
    for data, name in ((good, hashlib.sha256(good).hexdigest()), (bad, "0" * 64), (b"no picture", None)):
        sha = name or hashlib.sha256(data).hexdigest()
        path = folder / "originals" / sha[:2] / f"{sha}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    (folder / "originals" / "readme.txt").write_text("not ours")
    ledger = make.Memory()
    adopted = intake.adopt_orphans(folder, ledger)
    assert [one.sha256 for one in adopted] == [hashlib.sha256(good).hexdigest()]
    assert len(list((folder / "originals").rglob("*.*"))) == 4
    assert intake.adopt_orphans(folder, ledger) == []


def test_the_survey_itself_is_not_taken_in(tmp_path: Path) -> None:
    folder = tmp_path / "my-machine"
    folder.mkdir()
    fill(tmp_path, 2)
    ledger = make.Memory()
    for _ in range(2):
        intake.run_intake(folder, [tmp_path], ledger)
    assert len(ledger.arrivals) == 2


def test_an_interrupt_loses_nothing_that_was_acknowledged(folder: Path, phone: Path) -> None:
    fill(phone, 30)
    ledger = make.Memory()

    def interrupt(done: int, _total: int, _name: str) -> None:
        if done == 11:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        intake.run_intake(folder, [phone], ledger, interrupt)
    told = [one.sha256 for one in ledger.arrivals]
    assert len(told) >= 11
    result = intake.run_intake(folder, [phone], ledger)
    assert len(result.added) + len(result.already) == 30
    assert [one.sha256 for one in ledger.arrivals][: len(told)] == told
    whole(folder, ledger)


def test_a_full_disk_is_one_clear_sentence_and_goes_on_later(
    folder: Path, phone: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(phone, 20)
    ledger = make.Memory()
    room = [12]

    class Full(make.Memory):
        def record(self, arrivals: list[intake.NewPhoto]) -> list[int]:
            return ledger.record(arrivals)

    real = os.fsync

    def sync(descriptor: int) -> None:
        room[0] -= 1
        if room[0] < 0:
            raise OSError(28, "No space left on device")
        real(descriptor)

    monkeypatch.setattr(os, "fsync", sync)
    with pytest.raises(CannotWrite, match="The disk is full") as said:
        intake.run_intake(folder, [phone], ledger)
    assert "again" in said.value.next_step
    assert [file.name for file in (folder / "incoming").rglob("*") if file.is_file()] == ["lock"]  # the space is free
    monkeypatch.undo()
    result = intake.run_intake(folder, [phone], ledger)
    assert len(result.added) + len(result.already) == 20
    whole(folder, ledger)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="everything may be written by root")
def test_a_folder_that_may_not_be_written_is_refused(folder: Path, phone: Path) -> None:
    fill(phone, 1)
    folder.chmod(0o500)
    with pytest.raises(CannotWrite, match="cannot be written"):
        intake.run_intake(folder, [phone], make.Memory())
    folder.chmod(0o700)


def test_uploads_at_once_are_one_after_the_other(folder: Path, phone: Path) -> None:
    fill(phone, 8)
    ledger = make.Memory()
    names = [phone / f"IMG_{number % 8:04}.jpg" for number in range(24)]
    results: list[IntakeResult] = []
    threads = [
        threading.Thread(target=lambda name=name: results.append(intake.run_intake(folder, [name], ledger)))
        for name in names
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(len(one.added) for one in results) == 8
    assert sum(len(one.already) for one in results) == 16
    whole(folder, ledger)


def test_an_intake_that_never_ends_keeps_the_next_out(
    folder: Path, phone: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(phone, 1)
    monkeypatch.setattr(staging, "BUSY_SECONDS", 0.1)
    with staging.open_staging(folder), pytest.raises(SurveyBusy):
        intake.run_intake(folder, [phone], make.Memory())


def test_lost_pictures_do_not_matter(folder: Path, phone: Path) -> None:
    fill(phone, 2)
    ledger = make.Memory()
    intake.run_intake(folder, [phone], ledger)
    shutil.rmtree(folder / "pictures")
    one = ledger.arrivals[0]
    assert pictures.get_picture(folder, folder / one.path, one.sha256, "thumb").is_file()


def test_pictures_that_cannot_be_written_stop_no_photo(
    folder: Path, phone: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(phone, 2)
    (folder / "pictures").write_text("a file where the folder should be")
    result = intake.run_intake(folder, [phone], make.Memory())
    assert len(result.added) == 2


def broken_off_intake(tmp_path: Path) -> tuple[Path, str]:
    """A survey whose intake was killed between renaming a photo and recording it; the photo's hash."""
    folder = tmp_path / "heap"
    make_survey(folder, "autocycle", "Nothing yet").close()
    room = folder / "incoming" / "run-dead"
    room.mkdir()
    (room / "half").write_bytes(photo(5)[:100])
    sha = hashlib.sha256(photo(1)).hexdigest()
    path = folder / staging.original_path(sha, "jpeg")
    path.parent.mkdir(parents=True)
    path.write_bytes(photo(1))
    return folder, sha


def test_opening_a_survey_finishes_an_intake_that_was_broken_off(tmp_path: Path) -> None:
    folder, sha = broken_off_intake(tmp_path)
    with open_survey(folder) as survey:
        assert [one.sha256 for one in list_photos(survey)] == [sha]
        assert check_survey(survey) == []
    assert [file.name for file in (folder / "incoming").iterdir()] == ["lock"]


def test_opening_a_survey_leaves_an_intake_alone_that_is_going_on(tmp_path: Path) -> None:
    folder, _ = broken_off_intake(tmp_path)
    with staging.open_staging(folder) as (room, _):
        (room / "half").write_bytes(b"still coming")
        begun = time.monotonic()
        with open_survey(folder) as survey:
            assert list_photos(survey) == []
        assert time.monotonic() - begun < 5 and (room / "half").read_bytes() == b"still coming"
