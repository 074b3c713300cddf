"""A survey whose database was damaged or changed from outside: named by check, refused plainly by all that reads it."""

from __future__ import annotations

import contextlib
import hashlib
import random
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import photo_factory as make
import pytest
from PIL import Image

import web
from survey.errors import ForeignDatabase, NextStep, Refusal
from survey.history.verbs import list_acts, list_events
from survey.machine.verbs import add_number, get_machine
from survey.parts.finding_verbs import add_finding, add_look, add_reading
from survey.parts.verbs import add_part, list_parts, set_own_grade
from survey.photos.verbs import get_picture_path, list_photos, take_in_photos
from survey.report.verbs import write_report
from survey.safekeeping.check_verbs import Problem, check_survey
from survey.safekeeping.verbs import back_up, restore_backup, take_snapshot
from survey.schedule.verbs import list_gaps, set_position
from survey.shelf.verbs import make_survey, open_survey
from survey.store import layout
from survey.store.survey import Survey


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A survey with a row in every table."""
    room = tmp_path_factory.mktemp("sound")
    Image.new("RGB", (64, 48), "brown").save(room / "bar.png")
    with make_survey(room / "heap", "lightweight", "Dairy find", by="Wren") as survey:
        photo = take_in_photos(survey, [room / "bar.png"]).added[0].photo
        bar, rim = (add_part(survey, component).id for component in ("B052", "B067"))
        add_finding(survey, bar, "crack", 2, photo=photo, points=[(0.25, 0.5)], note="by the clamp")
        add_look(survey, rim, photo=photo)
        add_reading(survey, rim, "rim-lateral", "3/16 in")
        set_own_grade(survey, bar, "replace", "seen by the brazier")
        set_position(survey, "B146a", "missing")
        add_number(survey, "headstock", "HP 1057")
    return room / "heap"


@pytest.fixture
def heap(sound: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(sound, tmp_path / "heap"))


@contextlib.contextmanager
def tampering(folder: Path) -> Iterator[sqlite3.Connection]:
    """The database as somebody else's program sees it, with every check of its own left out."""
    with contextlib.closing(sqlite3.connect(layout.database_path(folder), isolation_level=None)) as other:
        other.execute("PRAGMA ignore_check_constraints = ON")
        yield other


def read_everything(survey: Survey, room: Path) -> None:
    get_machine(survey)
    list_photos(survey)
    list_parts(survey)
    list_gaps(survey)
    list_events(survey)
    list_acts(survey)
    for photo in (1, 2):
        with contextlib.suppress(Refusal):
            get_picture_path(survey, photo, "original").relative_to(survey.folder / "originals")
    write_report(survey, room / "report.json")
    write_report(survey, room / "report.csv")


def test_the_sound_one_is_sound(sound: Path, tmp_path: Path) -> None:
    with open_survey(sound) as survey:
        assert check_survey(survey) == []
        read_everything(survey, tmp_path)


DAMAGES = {
    "a time that is none": "UPDATE photo SET taken = 'rubbish'",
    "a day that is none": "UPDATE photo SET taken = '2024-02-30T10:00:00'",
    "a source of time": "UPDATE photo SET taken_from = 'hearsay'",
    "a width in words": "UPDATE photo SET width = 'wide'",
    "a path out of the survey": "UPDATE photo SET path = '../../../etc/passwd'",
    "a state": "UPDATE position SET state = 'eaten'",
    "a kind of finding": "UPDATE finding SET kind = 'haunted'",
    "a step": "UPDATE finding SET step = 9",
    "a way of looking": "UPDATE finding SET seen = 'askance'",
    "a way of looking over": "UPDATE look SET seen = 'askance'",
    "a time of recording": "UPDATE finding SET at = 'yesterday'",
    "a material": "UPDATE part SET material = 'mithril'",
    "a count": "UPDATE part SET quantity = 'several'",
    "a text of bytes": "UPDATE part SET label = x'ff00'",
    "a grade": "UPDATE own_grade SET grade = 'excellent'",
    "a shape": "UPDATE mark SET shape = 'blob'",
    "points that are no JSON": "UPDATE mark SET points = '[[0.1, '",
    "points that are no points": "UPDATE mark SET points = '{\"x\": 1}'",
    "points outside": "UPDATE mark SET points = '[[3.0, 0.1]]'",
    "a value": "UPDATE reading SET value = 'much'",
    "a value without end": "UPDATE reading SET value = 9e999",
    "a duty": "UPDATE component SET duty = 'vital' WHERE id = 'B052'",
    "a class": "UPDATE component SET class = 'gizmo' WHERE id = 'B052'",
    "a material of the schedule": "UPDATE component SET material = 'mithril' WHERE id = 'B052'",
    "names that are no JSON": "UPDATE component SET names = 'x' WHERE id = 'B052'",
    "names that are no list": "UPDATE component SET names = '7' WHERE id = 'B052'",
    "no machine": "DELETE FROM machine",
}


@pytest.mark.parametrize("damage", DAMAGES.values(), ids=DAMAGES)
def test_a_damaged_value_is_named_and_refused(heap: Path, damage: str, tmp_path: Path) -> None:
    with tampering(heap) as other:
        other.execute(damage)
    with open_survey(heap) as survey:
        problems = check_survey(survey)
        assert problems and {problem.where for problem in problems} >= {"survey.db"}
        with pytest.raises(ForeignDatabase) as refusal:
            read_everything(survey, tmp_path)
    assert refusal.value.sentence.endswith(".") and "survey.db" in str(refusal.value.next_step)


@pytest.mark.parametrize(
    "damage",
    ["UPDATE part SET note = 'another note'", "UPDATE finding SET step = 1", "DELETE FROM finding_photo",
     "INSERT INTO part (label, added_at) VALUES ('from nowhere', '')", "UPDATE machine SET name = 'Another'"],
)  # fmt: skip
def test_check_holds_every_row_against_the_history(heap: Path, damage: str) -> None:
    """SQLite's own proof passes all of these: it keeps no checksums (its documentation, integrity_check)."""
    with tampering(heap) as other:
        other.execute(damage)
        assert other.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    with open_survey(heap) as survey:
        assert any("history" in problem.what or "gone" in problem.what for problem in check_survey(survey))


def test_a_damaged_history_is_named(heap: Path) -> None:
    with tampering(heap) as other:
        other.execute("DROP TRIGGER event_is_kept_update")
        other.execute("UPDATE event SET after = '{' WHERE id = 3")
    with open_survey(heap) as survey:
        assert ["after of event 3 is '{'"] == [problem.what for problem in check_survey(survey)]
        with pytest.raises(ForeignDatabase, match="event 3"):
            list_events(survey)


def content(database: Path) -> list[str] | None:
    with contextlib.closing(sqlite3.connect(database)) as opened:
        try:
            return list(opened.iterdump())
        except (sqlite3.Error, UnicodeDecodeError):
            return None


def test_random_bytes_are_told_wherever_they_change_what_is_kept(heap: Path, tmp_path: Path) -> None:
    database = layout.database_path(heap)
    good, kept = database.read_bytes(), content(database)
    dice, told, harmless = random.Random(5000), 0, 0
    for at in (5000, *(dice.randrange(len(good)) for _ in range(60))):
        damaged = bytearray(good)
        damaged[at : at + 16] = dice.randbytes(16)
        database.write_bytes(damaged[: len(good)])
        try:
            with open_survey(heap) as survey:
                problems = check_survey(survey)
                with contextlib.suppress(Refusal):
                    read_everything(survey, tmp_path)
        except Refusal as refusal:
            problems = [Problem("survey.db", refusal.sentence, refusal.next_step)]
        told += bool(problems)
        if not problems:
            harmless += 1
            assert content(database) == kept, f"16 bytes at {at}"
    assert told > 20 and harmless > 0


def test_strays_are_told_what_can_be_done_with_them(heap: Path, tmp_path: Path) -> None:
    """Following the advice ends the complaint."""
    with tampering(heap) as other:
        other.execute("PRAGMA foreign_keys = OFF")
        for table in ("finding_photo", "look_photo", "part_photo", "mark", "photo"):
            other.execute(f"DELETE FROM {table}")
        other.execute("DROP TRIGGER event_is_kept_delete")
        other.execute(
            "DELETE FROM event WHERE entity IN ('finding_photo', 'look_photo', 'part_photo', 'mark', 'photo')"
        )
    (heap / "originals" / "shopping.txt").write_text("linseed oil")
    with open_survey(heap) as survey:
        first, second = sorted(check_survey(survey), key=lambda problem: "shopping" in problem.where)
        assert first.next_step is NextStep.TAKE_IN_COPY and "move it out" in str(second.next_step)
        take_in_photos(survey, [Path(shutil.copy(heap / first.where, tmp_path / "again.png"))])
        (heap / second.where).unlink()
        assert check_survey(survey) == []


def test_twenty_flipped_bytes_are_named_and_the_rest_is_shown(tmp_path: Path) -> None:
    """What was made of the damaged ones is still shown; only their files are named."""
    phone, dice = tmp_path / "phone", random.Random(10)
    phone.mkdir()
    for number in range(24):
        (phone / f"{number:02}.jpg").write_bytes(make.picture(image=make.textured(160, 120, seed=number)))
    with make_survey(tmp_path / "heap", "lightweight", "Dairy find") as survey:
        take_in_photos(survey, [phone])
        assert check_survey(survey) == []
        rotten = {photo.id: photo.path for photo in dice.sample(list_photos(survey), 20)}
    for path in rotten.values():
        data = bytearray((tmp_path / "heap" / path).read_bytes())
        data[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
        (tmp_path / "heap" / path).write_bytes(data)
    app = web.create_app(tmp_path / "heap")
    try:
        survey, client = app.extensions["survey"], app.test_client()
        assert {problem.where for problem in check_survey(survey)} == set(rotten.values())
        for photo in list_photos(survey):
            for address in (f"/photos/{photo.id}", f"/pictures/{photo.id}/thumb", f"/pictures/{photo.id}/view"):
                answer = client.get(address)
                answer.close()
                assert answer.status_code == 200, address
            kept = (tmp_path / "heap" / photo.path).read_bytes()
            assert (hashlib.sha256(kept).hexdigest() == photo.sha256) == (photo.id not in rotten)
    finally:
        app.extensions["survey"].close()


def test_every_connection_brings_what_it_writes_onto_the_disk(heap: Path, tmp_path: Path) -> None:
    """Row 2: by every door and every verb that opens a database of its own; none is in WAL mode."""
    seen = set[tuple[str, int, int]]()
    whole = sqlite3.connect

    class Watched(sqlite3.Connection):
        def close(self) -> None:
            path = self.execute("PRAGMA database_list").fetchone()[2]
            if path:
                modes = [self.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")]
                seen.add((Path(path).name, *modes))
            super().close()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sqlite3, "connect", lambda *given, **named: whole(*given, **named, factory=Watched))
        app = web.create_app(heap)
        app.test_client().post("/parts/new", data={"component": "unknown"}, headers={"Origin": "http://localhost"})
        app.extensions["survey"].close()
        with open_survey(heap) as survey:
            take_snapshot(survey)
            backup = back_up(survey, tmp_path / "one.zip").path
        open_survey(restore_backup(backup, tmp_path / "again").folder).close()
        make_survey(tmp_path / "new", "lightweight", "New").close()
    assert seen == {("survey.db", "delete", 3)}
