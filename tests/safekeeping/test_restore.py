"""Damaged and hostile backups are refused before anything is written; a restoring that is killed leaves a whole survey.

The names that are tried are those of the zip format's known traps (APPNOTE.TXT 6.3.10; CVE-2007-4559 is the same of
tar files; CWE-22, CWE-409). ``long_form`` says how often.
"""

from __future__ import annotations

import hashlib
import io
import json
import random
import shutil
import signal
import stat
import struct
import subprocess
import sys
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from house import TOP
from long_form import tell, times

from survey.errors import AlreadyASurvey, DamagedBackup, NewerSurvey, SurveyBusy
from survey.parts.verbs import add_part, get_part, list_parts
from survey.photos.staging import open_staging
from survey.safekeeping.archive import DIGEST_CHARACTERS, SEAL
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import back_up, hold_survey, restore_backup
from survey.shelf.verbs import make_survey, open_survey

DAMAGES = times(60, full=300)
KILLS = times(4, full=50)
Entries = dict[str, bytes]


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory, built: Path) -> bytes:
    room = tmp_path_factory.mktemp("good")
    shutil.copytree(built, room / "heap")
    with open_survey(room / "heap") as survey:
        return back_up(survey, room / "one.zip").path.read_bytes()


@pytest.fixture
def heap(built: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(built, tmp_path / "heap"))


def entries_of(backup: bytes) -> Entries:
    with zipfile.ZipFile(io.BytesIO(backup)) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name != "manifest.json"}


def manifest_of(backup: bytes) -> dict[str, Any]:
    with zipfile.ZipFile(io.BytesIO(backup)) as archive:
        return dict(json.loads(archive.read("manifest.json")))


def sealed(archive: bytes) -> bytes:
    """A zip file made with the seal's comment, sealed anew, as anybody can."""
    body = archive[:-DIGEST_CHARACTERS]
    return body + hashlib.sha256(body).hexdigest().encode()


def forged(
    backup: bytes, entries: Entries, extra: Callable[[zipfile.ZipFile], None] = lambda _: None, **said: Any
) -> bytes:
    """A backup of these entries whose manifest and seal fit, with whatever ``extra`` adds."""
    files = {name: {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
             for name, content in entries.items()}  # fmt: skip
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in entries.items():
            archive.writestr(zipfile.ZipInfo(name), content)
        archive.writestr(zipfile.ZipInfo("manifest.json"), json.dumps(manifest_of(backup) | {"files": files} | said))
        extra(archive)
        archive.comment = SEAL + b"0" * DIGEST_CHARACTERS
    return sealed(out.getvalue())


def everything(room: Path) -> dict[str, str]:
    return {
        path.relative_to(room).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        for path in room.rglob("*")
    }


def refused(room: Path, backup: bytes, kind: type[Exception] = DamagedBackup) -> str:
    """Restore it over the live survey and beside it; refused both times, with nothing on the disk changed."""
    file = room / "x.zip"
    file.write_bytes(backup)
    before = everything(room)
    for to, replace in ((room / "heap", True), (room / "new", False)):
        with pytest.raises(kind) as refusal:
            restore_backup(file, to, replace=replace)
    assert everything(room) == before
    return str(refusal.value)


def test_a_forged_but_sound_backup_is_taken(good: bytes, heap: Path, tmp_path: Path) -> None:
    """So that what is refused below is refused for what it is and not for how it was made."""
    (tmp_path / "x.zip").write_bytes(forged(good, entries_of(good)))
    assert restore_backup(tmp_path / "x.zip", tmp_path / "new").photos == 3


@pytest.mark.long_form
def test_bytes_that_flip_fall_off_or_drop_out_are_all_told(good: bytes, heap: Path, tmp_path: Path) -> None:
    dice = random.Random(6)
    for number in range(DAMAGES):
        at, spoilt = dice.randrange(len(good)), bytearray(good)
        match number % 4:
            case 0:
                spoilt[at] ^= 1 << dice.randrange(8)
            case 1:
                del spoilt[at:]
            case 2:
                del spoilt[at : at + dice.randint(1, 5000)]
            case _:
                spoilt[-dice.randint(1, 200)] ^= 1 << dice.randrange(8)
        file = tmp_path / "x.zip"
        file.write_bytes(spoilt)
        with pytest.raises(DamagedBackup):
            restore_backup(file, tmp_path / "new")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["heap", "x.zip"]
    refused(tmp_path, good[:-1])
    tell(f"{DAMAGES} damaged backups: all refused before anything was written")


@pytest.mark.parametrize("drop", ["survey.db", "data/part.jsonl", "data/event.jsonl", "originals"])
def test_an_entry_that_was_dropped_is_missed(good: bytes, heap: Path, tmp_path: Path, drop: str) -> None:
    entries = entries_of(good)
    files = manifest_of(good)["files"]
    gone = next(name for name in entries if name.startswith(drop))
    del entries[gone]
    refused(tmp_path, forged(good, entries, files=files))
    if drop != "survey.db":  # which nobody reads: a manifest without it is honest
        refused(tmp_path, forged(good, entries))


NAMES = [
    "../evil.jpg", "originals/../../evil.jpg", "/etc/evil", "\\\\host\\share\\evil", "C:evil.jpg", "C:\\evil.jpg",
    "originals/aa/CON.jpg", "originals/", "SURVEY.DB", "Survey.db", "data/Part.jsonl", "data/part.JSONL",
    "data/../part.jsonl", "./survey.db", "survey.db ", "survey.db/", "originals\\aa\\x.jpg", "data//part.jsonl",
    "originals/ab/" + "a" * 64 + ".jpg", "originals/aa/" + "A" * 64 + ".jpg", "originals/aa/" + "a" * 64 + ".jpg:s",
    "in-use.lock", "survey.db-journal", "data/p\u00e4rt.jsonl", "",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_no_backup_has(good: bytes, heap: Path, tmp_path: Path, name: str) -> None:
    refused(tmp_path, forged(good, {**entries_of(good), name: b"x"}))


def test_a_name_that_goes_on_behind_a_nul(good: bytes, heap: Path, tmp_path: Path) -> None:
    stand_in = "survey.dbXevil"
    entries = entries_of(good)
    entries[stand_in] = entries.pop("survey.db")
    backup = forged(good, entries).replace(stand_in.encode(), b"survey.db\0evil")
    refused(tmp_path, sealed(backup))


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("name", ["survey.db", "data/part.jsonl", "manifest.json"])
def test_a_name_that_stands_twice(good: bytes, heap: Path, tmp_path: Path, name: str) -> None:
    refused(tmp_path, forged(good, entries_of(good), lambda archive: archive.writestr(zipfile.ZipInfo(name), b"")))


@pytest.mark.parametrize("kind", [stat.S_IFLNK, stat.S_IFIFO, stat.S_IFCHR, stat.S_IFDIR])
def test_a_link_or_a_device(good: bytes, heap: Path, tmp_path: Path, kind: int) -> None:
    entries = entries_of(good)
    target = entries.pop("survey.db")

    def add(archive: zipfile.ZipFile) -> None:
        entry = zipfile.ZipInfo("survey.db")
        entry.external_attr = (kind | 0o777) << 16
        archive.writestr(entry, target)

    assert "plain file" in refused(tmp_path, forged(good, entries, add, files=manifest_of(good)["files"]))


def test_a_bomb_is_not_even_unpacked(good: bytes, heap: Path, tmp_path: Path) -> None:
    """A thousand to one (CWE-409): whatever is packed is refused unread."""
    entries = entries_of(good)
    del entries["data/look.jsonl"]

    def add(archive: zipfile.ZipFile) -> None:
        archive.writestr(zipfile.ZipInfo("data/look.jsonl"), b"\n" * 50_000_000, zipfile.ZIP_DEFLATED)

    backup = forged(good, entries, add)
    assert len(backup) < len(good) + 200_000
    assert "packed" in refused(tmp_path, backup)


def central(backup: bytes, name: str) -> int:
    """Where the record of that name stands in the list at the end."""
    return backup.rindex(name.encode()) - 46


def test_entries_that_share_their_bytes(good: bytes, heap: Path, tmp_path: Path) -> None:
    backup = bytearray(good)
    one, other = central(good, "data/look.jsonl"), central(good, "data/part.jsonl")
    backup[one + 16 : one + 28] = backup[other + 16 : other + 28]
    backup[one + 42 : one + 46] = backup[other + 42 : other + 46]
    assert "another entry" in refused(tmp_path, sealed(bytes(backup)))


@pytest.mark.parametrize("size", [0, 1, 10_000_000, 0xFFFFFFF0])
def test_sizes_that_lie(good: bytes, heap: Path, tmp_path: Path, size: int) -> None:
    backup = bytearray(good)
    at = central(good, "data/part.jsonl")
    backup[at + 20 : at + 28] = struct.pack("<2I", size, size)
    refused(tmp_path, sealed(bytes(backup)))


def test_something_hidden_before_the_entries(good: bytes, heap: Path, tmp_path: Path) -> None:
    assert "hidden" in refused(tmp_path, sealed(b"#!/bin/sh\n" + good))


def test_a_header_that_contradicts_the_list(good: bytes, heap: Path, tmp_path: Path) -> None:
    backup = bytearray(good)
    backup[good.index(b"data/part.jsonl")] = ord("D")
    assert "contradicts" in refused(tmp_path, sealed(bytes(backup)))


@pytest.mark.parametrize(
    "said",
    [{"format": "other"}, {"version": 2}, {"version": None}, {"files": []}, {"files": {"survey.db": 7}}, {"steps": 7},
     {"steps": []}, {"steps": ["no such step"]}, {"steps": [None]}, {"damaged": [{}]}, {"name": 7}, {"more": 1}],
    ids=json.dumps,
)  # fmt: skip
def test_a_manifest_that_cannot_be(good: bytes, heap: Path, tmp_path: Path, said: dict[str, Any]) -> None:
    refused(tmp_path, forged(good, entries_of(good), **said))


def test_a_later_teachest_is_named_as_the_reason(good: bytes, heap: Path, tmp_path: Path) -> None:
    steps = [*manifest_of(good)["steps"], "step_999_later"]
    assert "step_999_later" in refused(tmp_path, forged(good, entries_of(good), steps=steps), NewerSurvey)


LINES = {
    "no JSON": b"{\n",
    "a list": b"[]\n",
    "deep": b"[" * 100_000 + b"\n",
    "endless": b'{"id": 1e999}\n',
    "no number": b'{"id": NaN}\n',
    "nested": b'{"id": 1, "place": {"a": 1}, "text": "", "note": "", "gone_at": null}\n',
    "a column too many": b'{"id": 1, "place": "", "text": "", "note": "", "gone_at": null, "x": 1}\n',
    "a column too few": b'{"id": 1}\n',
    "SQL for a name": b'{"id) VALUES (1); DROP TABLE part; --": 1}\n',
    "too large": b'{"id": 99999999999999999999, "place": "", "text": "", "note": "", "gone_at": null}\n',
    "half a letter": b'{"id": 9, "place": "\\ud800", "text": "", "note": "", "gone_at": null}\n',
    "NUL": b'{"id": 9, "place": "\\u0000", "text": "", "note": "", "gone_at": null}\n',
    "unknown to the history": b'{"id": 9, "place": "lug", "text": "HP", "note": "", "gone_at": null}\n',
    "a very long line": b'{"id": 9, "place": "' + b"x" * (5 << 20) + b'"}\n',
}


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_rows_that_no_survey_has(good: bytes, heap: Path, tmp_path: Path, line: bytes) -> None:
    entries = entries_of(good)
    entries["data/number.jsonl"] += line
    refused(tmp_path, forged(good, entries))


CHANGES = {
    "a path out of the survey": ("photo", "originals/", "../originals/"),
    "another kind of machine": ("machine", "lightweight", "spaceship"),
    "a part of no component": ("part", "B052", "B999"),
    "a row changed": ("machine", "Ferryman", "Ferrywoman"),
    "an event changed": ("event", "Ferryman", "Ferrywoman"),
}


@pytest.mark.parametrize(("table", "old", "new"), CHANGES.values(), ids=CHANGES)
def test_rows_that_were_changed(good: bytes, heap: Path, tmp_path: Path, table: str, old: str, new: str) -> None:
    entries = entries_of(good)
    name = f"data/{table}.jsonl"
    assert old.encode() in entries[name]
    entries[name] = entries[name].replace(old.encode(), new.encode())
    refused(tmp_path, forged(good, entries))


def test_a_table_or_a_photo_too_many(good: bytes, heap: Path, tmp_path: Path) -> None:
    refused(tmp_path, forged(good, {**entries_of(good), "data/spare.jsonl": b""}))
    stranger = b"\xff\xd8\xff stranger"
    sha256 = hashlib.sha256(stranger).hexdigest()
    refused(tmp_path, forged(good, {**entries_of(good), f"originals/{sha256[:2]}/{sha256}.jpg": stranger}))


def test_a_photo_that_was_exchanged(good: bytes, heap: Path, tmp_path: Path) -> None:
    entries = entries_of(good)
    name = next(name for name in entries if name.startswith("originals"))
    entries[name] = b"another picture"
    refused(tmp_path, forged(good, entries))


def test_the_foreign_database_is_never_read(good: bytes, heap: Path, tmp_path: Path) -> None:
    entries = {**entries_of(good), "survey.db": b"SQLite format 3\0 but a trap"}
    (tmp_path / "x.zip").write_bytes(forged(good, entries))
    with open_survey(restore_backup(tmp_path / "x.zip", tmp_path / "new").folder) as again:
        assert check_survey(again) == [] and len(list_parts(again)) == 4


@pytest.mark.parametrize("content", [b"", b"PK\x05\x06" + b"\0" * 18, b"no zip at all" * 99, SEAL + b"0" * 64])
def test_what_is_no_backup(heap: Path, tmp_path: Path, content: bytes) -> None:
    refused(tmp_path, content)


def test_what_is_no_file(heap: Path, tmp_path: Path) -> None:
    for file in (tmp_path / "nothing.zip", tmp_path):
        with pytest.raises(DamagedBackup):
            restore_backup(file, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_folder_in_use_is_left_alone(good: bytes, heap: Path, tmp_path: Path) -> None:
    file = tmp_path / "one.zip"
    file.write_bytes(good)
    make_survey(tmp_path / "other", "lightweight", "Another").close()
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "dear.txt").write_text("Dear")
    before = everything(tmp_path)
    for to, replace in (("heap", False), ("other", False), ("other", True), ("letters", True), ("one.zip", True)):
        with pytest.raises(AlreadyASurvey):
            restore_backup(file, tmp_path / to, replace=replace)
    with hold_survey(heap, "serving"), pytest.raises(SurveyBusy, match="serving"):
        restore_backup(file, heap, replace=True)
    with open_staging(heap), pytest.raises(SurveyBusy, match="taken into"):
        restore_backup(file, heap, replace=True)
    assert {name for name in everything(tmp_path).items() if "lock" not in name[0]} == {
        name for name in before.items() if "lock" not in name[0]
    }


def test_an_empty_folder_is_filled_and_the_same_survey_replaced_and_kept(
    good: bytes, heap: Path, tmp_path: Path
) -> None:
    file = tmp_path / "one.zip"
    file.write_bytes(good)
    (tmp_path / "empty").mkdir()
    assert restore_backup(file, tmp_path / "empty").kept is None
    with open_survey(heap) as survey:
        add_part(survey, "B006", note="after the backup")
    for _ in range(2):
        done = restore_backup(file, heap, replace=True, clock=lambda: "2026-11-25T12:00:00Z")
    assert done.kept and done.kept.name == "heap as it was 2026-11-25 120000 (2)"
    with open_survey(heap) as survey, open_survey(tmp_path / "heap as it was 2026-11-25 120000") as old:
        assert (len(list_parts(survey)), len(list_parts(old))) == (4, 5)
        assert check_survey(survey) == check_survey(old) == []


def test_where_two_names_cannot_be_exchanged_at_once_they_are_renamed(
    good: bytes, heap: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("survey.safekeeping.restore._exchanged", lambda *_: False)
    (tmp_path / "one.zip").write_bytes(good)
    with open_survey(heap) as survey:
        add_part(survey, "B006")
    kept = restore_backup(tmp_path / "one.zip", heap, replace=True).kept
    assert kept
    with open_survey(heap) as survey, open_survey(kept) as old:
        assert (len(list_parts(survey)), len(list_parts(old))) == (4, 5)


RESTORE = """
import sys
from pathlib import Path
from survey.safekeeping.verbs import restore_backup
print("at it", flush=True)
restore_backup(Path(sys.argv[1]), Path(sys.argv[2]), replace=True)
"""


KILLED_AT = """
import os, signal, sys
from pathlib import Path
from survey.safekeeping.verbs import restore_backup
from survey.safekeeping import restore
left = int(sys.argv[3])
def stop(real):
    def counted(*given):
        global left
        left -= 1
        if left == 0:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*given)
    return counted
for whose, name in ((Path, "rename"), (Path, "rmdir"), (restore, "_exchanged"), (restore, "sync_folders")):
    setattr(whose, name, stop(getattr(whose, name)))
restore_backup(Path(sys.argv[1]), Path(sys.argv[2]), replace=True)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="no SIGKILL, or no exchange of names at once")
def test_there_is_no_moment_without_a_survey_in_its_place(good: bytes, heap: Path, tmp_path: Path) -> None:
    """Killed before each single change of a name; the random kills hardly ever fall there."""
    file = tmp_path / "one.zip"
    file.write_bytes(good)
    ends = []
    for at in range(1, 9):
        run = subprocess.run([sys.executable, "-c", KILLED_AT, str(file), str(heap), str(at)], cwd=TOP, check=False)
        ends.append(run.returncode)
        with open_survey(heap) as survey:
            assert check_survey(survey) == [], f"killed before change {at}"
    assert ends[0] == -signal.SIGKILL and ends[2] == -signal.SIGKILL and ends[-1] == 0


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="no SIGKILL, or no exchange of names at once")
@pytest.mark.slow
@pytest.mark.long_form
def test_a_killed_restoring_leaves_the_whole_old_or_the_whole_new(good: bytes, heap: Path, tmp_path: Path) -> None:
    file, dice = tmp_path / "one.zip", random.Random(7)
    file.write_bytes(good)
    longest, whole = 0.0, Counter[bool]()
    for kill in range(-1, KILLS):  # the first is left alone and timed, so that the others are killed while at it
        with open_survey(heap) as survey:
            number = add_part(survey, "B006", note=f"before kill {kill}").id
        words = [sys.executable, "-c", RESTORE, str(file), str(heap)]
        with subprocess.Popen(words, cwd=TOP, stdout=subprocess.PIPE, text=True) as child:
            assert child.stdout and child.stdout.readline() == "at it\n"
            start = time.monotonic()
            try:
                child.wait(dice.uniform(0, longest) if longest else None)
            except subprocess.TimeoutExpired:
                child.send_signal(signal.SIGKILL)
            longest = longest or time.monotonic() - start
        with open_survey(heap) as survey:
            assert check_survey(survey) == []
            replaced = len(list_parts(survey)) == 4
        assert replaced or kill >= 0
        if replaced:
            kept = max(tmp_path.glob("heap as it was *"), key=lambda path: (path / "survey.db").stat().st_mtime_ns)
            with open_survey(kept) as survey:
                assert check_survey(survey) == [] and get_part(survey, number)
        whole[replaced] += 1
    restore_backup(file, heap, replace=True)
    with open_survey(heap) as survey:
        assert check_survey(survey) == [] and len(list_parts(survey)) == 4
    assert not list(tmp_path.glob(".*"))
    tell(f"{KILLS} kills while restoring: {whole[False]} whole old surveys, {whole[True] - 1} whole new ones")
