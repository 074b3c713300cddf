"""The survey's database: ours or not, durable, and never changed without its history."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from closed_words import copied_steps
from house import TOP
from sqlite_utils import Database

from survey.errors import (
    AlreadyASurvey,
    BadValue,
    CannotWrite,
    ForeignDatabase,
    NewerSurvey,
    NotASurvey,
    Refusal,
    SurveyBusy,
)
from survey.model.verb import Verb
from survey.parts.verbs import ADD_PART, CHANGE_PART
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.verbs import list_components
from survey.shelf.verbs import MAKE_SURVEY, make_survey, open_survey
from survey.store import database, layout
from survey.store.database import Change, Store, open_store
from survey.store.schema import APPLICATION_ID
from survey.store.tables import TABLES

NOW = "2026-06-01T20:00:00Z"
PART = {"label": "strange lug", "added_at": NOW}


def clock() -> str:
    return NOW


def create_store(folder: Path, clock: Callable[[], str], fill: Callable[[Change], None] = lambda change: None) -> Store:
    """A survey that holds what ``fill`` puts in."""
    return database.create_store(folder, clock, MAKE_SURVEY, fill)


@pytest.fixture
def fresh(tmp_path: Path) -> Store:
    return create_store(tmp_path / "heap", clock)


def test_every_column_has_its_comment_and_no_comment_lacks_a_column(fresh: Store) -> None:
    tables = {row["name"] for row in fresh.rows("SELECT name FROM sqlite_master WHERE type = 'table'")}
    ours = {name for name in tables if not name.startswith(("sqlite_", "_"))}
    assert ours == set(TABLES)
    for table in ours:
        columns = {row["name"] for row in fresh.rows(f'PRAGMA table_info("{table}")')}
        assert columns == set(TABLES[table].columns), table


def test_an_acknowledged_edit_survives_a_power_cut(fresh: Store) -> None:
    """SQLite's documentation, PRAGMA synchronous: with a DELETE journal, EXTRA also syncs the directory."""
    fresh.close()
    again = open_store(fresh.folder, clock)
    assert again.rows("PRAGMA journal_mode") == [{"journal_mode": "delete"}]
    assert again.rows("PRAGMA synchronous") == [{"synchronous": 3}]
    assert again.rows("PRAGMA foreign_keys") == [{"foreign_keys": 1}]


def test_a_change_and_its_history_are_one(fresh: Store) -> None:
    with fresh.change(ADD_PART, "Wren") as change:
        row = change.insert("part", PART)
        change.update("part", [row["id"]], {"label": "saddle lug"})
    first, second = fresh.rows("SELECT * FROM event ORDER BY id")
    assert (first["before"], first["verb"], first["by"], first["entity_id"]) == (None, "add part", "Wren", "1")
    assert '"strange lug"' in second["before"] and '"saddle lug"' in second["after"]
    assert first["batch"] == second["batch"]


def test_a_change_that_fails_leaves_nothing_behind(fresh: Store) -> None:
    with pytest.raises(ZeroDivisionError), fresh.change(ADD_PART) as change:
        change.insert("part", PART)
        raise ZeroDivisionError
    assert fresh.rows("SELECT * FROM part") == []
    assert fresh.rows("SELECT * FROM event") == []


def test_what_does_not_change_is_no_event(fresh: Store) -> None:
    with fresh.change(ADD_PART) as change:
        row = change.insert("part", PART)
    with fresh.change(CHANGE_PART) as change:
        assert change.update("part", [row["id"]], {"label": "strange lug"}) == row
        assert change.update("part", [99], {"label": "x"}) is None
        assert change.remove("own_grade", [99]) is None
    assert len(fresh.rows("SELECT * FROM event")) == 1


def test_the_history_is_only_ever_added_to(fresh: Store) -> None:
    with fresh.change(ADD_PART) as change:
        change.insert("part", PART)
    for statement in ("UPDATE event SET verb = 'other'", "DELETE FROM event"):
        with pytest.raises(ForeignDatabase, match="only ever added to"), fresh.change(Verb("tamper", "Tampered with")):
            fresh.rows(statement)
    assert len(fresh.rows("SELECT * FROM event")) == 1


def test_a_folder_in_use_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("dear")
    with pytest.raises(AlreadyASurvey):
        create_store(tmp_path, clock)
    assert os.listdir(tmp_path) == ["letter.txt"]
    create_store(tmp_path / "heap", clock).close()
    with pytest.raises(AlreadyASurvey, match="survey already"):
        create_store(tmp_path / "heap", clock)


def test_a_name_that_no_disk_takes(tmp_path: Path) -> None:
    with pytest.raises(CannotWrite, match="too long"):
        create_store(tmp_path / ("a" * 300), clock)


def test_a_folder_that_is_no_survey(tmp_path: Path) -> None:
    with pytest.raises(NotASurvey, match="no folder"):
        open_store(tmp_path / "nowhere", clock)
    with pytest.raises(NotASurvey, match="is not a survey"):
        open_store(tmp_path, clock)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize(
    ("content", "refusal"),
    [(b"", NotASurvey), (b"this is a shopping list, not a database at all" * 40, ForeignDatabase)],
)
def test_a_survey_db_that_is_no_database_of_ours(tmp_path: Path, content: bytes, refusal: type[Refusal]) -> None:
    layout.database_path(tmp_path).write_bytes(content)
    with pytest.raises(refusal):
        open_store(tmp_path, clock)
    assert layout.database_path(tmp_path).read_bytes() == content


def test_another_programs_database(tmp_path: Path) -> None:
    path = layout.database_path(tmp_path)
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE recipe (id INTEGER)")
    before = path.read_bytes()
    with pytest.raises(ForeignDatabase, match="not made by Teachest"):
        open_store(tmp_path, clock)
    assert path.read_bytes() == before


def test_another_programs_database_is_not_even_touched(tmp_path: Path) -> None:
    """SQLite's own opening would change the head of a database in WAL mode."""
    path = layout.database_path(tmp_path)
    other = sqlite3.connect(path)
    other.execute("PRAGMA journal_mode = WAL")
    other.execute("CREATE TABLE recipe (id INTEGER)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(ForeignDatabase, match="not made by Teachest"):
        open_store(tmp_path, clock)
    assert path.read_bytes() == before and os.listdir(tmp_path) == ["survey.db"]


def test_a_survey_is_made_whole_or_not_at_all(tmp_path: Path) -> None:
    folder = tmp_path / "heap"

    def stumble(change: Change) -> None:
        change.insert("part", PART)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        create_store(folder, clock, stumble)
    with pytest.raises(NotASurvey, match="is empty"):
        open_store(folder, clock)
    made = create_store(folder, clock, lambda change: change.insert("part", PART) and None)
    assert len(made.rows("SELECT * FROM part")) == len(made.rows("SELECT * FROM event")) == 1
    with pytest.raises(AlreadyASurvey):
        create_store(folder, clock)


KILLED = """
import os, sys
from pathlib import Path
from survey.shelf.verbs import make_survey
from survey.store import database as store
left = int(sys.argv[2])
def stop(real):
    def counted(*given, **named):
        global left
        left -= 1
        if left < 0:
            os._exit(9)
        return real(*given, **named)
    return counted
store.Change.insert = stop(store.Change.insert)
store.migrations.apply = stop(store.migrations.apply)
store._connect = stop(store._connect)
make_survey(Path(sys.argv[1]), "lightweight", "Dairy find")
os._exit(9)
"""


@pytest.mark.parametrize("after", [0, 1, 2, 3, 40])
def test_a_making_that_was_killed_can_be_run_again(tmp_path: Path, after: int) -> None:
    """Killed before the database is there, before its tables, and while it is filled, with SQLite's cache spilt."""
    folder = tmp_path / "heap"
    run = subprocess.run([sys.executable, "-c", KILLED, str(folder), str(after)], cwd=TOP, check=False)
    assert run.returncode == 9
    with pytest.raises(NotASurvey):
        open_survey(folder)
    with make_survey(folder, "lightweight", "Dairy find") as made:
        assert len(list_components(made)) > 100 and check_survey(made) == []


def test_a_making_that_left_a_journal_can_be_run_again(fresh: Store, tmp_path: Path) -> None:
    """A power cut may leave half the database and a journal that leads back to nothing (SQLite: Hot Journals)."""
    fresh.close()
    other = tmp_path / "other"
    other.mkdir()
    path = layout.database_path(other)
    with contextlib.closing(sqlite3.connect(path)) as half:
        half.executescript("PRAGMA cache_size = 1; PRAGMA synchronous = OFF; BEGIN;")
        half.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        half.execute("CREATE TABLE part (label TEXT)")
        half.executemany("INSERT INTO part VALUES (?)", [("x" * 900,)] * 100)
        written = {name: (other / name).read_bytes() for name in os.listdir(other)}
    assert set(written) == {"survey.db", "survey.db-journal"} and written["survey.db"]
    for name, content in written.items():
        (other / name).write_bytes(content)
    with pytest.raises(NotASurvey, match=r"broken off"):
        open_store(other, clock)
    create_store(other, clock).close()


@pytest.mark.parametrize("value", [10**20, "caf\udcff", object()])
def test_what_no_column_can_hold_is_refused(fresh: Store, value: object) -> None:
    with pytest.raises(BadValue, match="nothing was changed"), fresh.change(ADD_PART) as change:
        change.insert("part", {**PART, "box": value})
    with pytest.raises(BadValue):
        fresh.rows("SELECT * FROM part WHERE id = ?", [value])
    with pytest.raises(BadValue, match="cannot keep that"), fresh.change(ADD_PART) as change:
        change.insert("part", {**PART, "inside": 99})
    assert fresh.rows("SELECT * FROM part") == []


def test_a_survey_written_by_a_later_teachest(fresh: Store) -> None:
    path = layout.database_path(fresh.folder)
    fresh.close()
    with sqlite3.connect(path) as later:
        later.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('teachest', 'step_999', ?)", [NOW]
        )
    before = path.read_bytes()
    with pytest.raises(NewerSurvey, match="step_999"):
        open_store(fresh.folder, clock)
    assert path.read_bytes() == before


def test_an_older_survey_is_brought_up_to_date_after_a_snapshot(fresh: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    fresh.close()
    grown = copied_steps()

    @grown()
    def step_002_trial(db: Database) -> None:
        db.execute("ALTER TABLE part ADD COLUMN trial TEXT")

    monkeypatch.setattr(database, "migrations", grown)
    again = open_store(fresh.folder, clock)
    assert "trial" in {row["name"] for row in again.rows("PRAGMA table_info(part)")}
    (snapshot,) = (fresh.folder / layout.SNAPSHOTS).iterdir()
    with sqlite3.connect(snapshot) as kept:
        assert "trial" not in {row[1] for row in kept.execute("PRAGMA table_info(part)")}


READ_ONLY = """
import os, sys
from pathlib import Path
import encodings.idna, json, sqlite3
from survey.errors import CannotWrite
from survey.store.database import open_store
from survey.model.verb import Verb
if hasattr(os, "geteuid") and os.geteuid() == 0:
    os.setgroups([]), os.setgid(65534), os.setuid(65534)
store = open_store(Path(sys.argv[1]), lambda: "2026-06-01T20:00:00Z")
assert store.rows("SELECT * FROM part") == []
try:
    with store.change(Verb("add part", "Part recorded")) as change:
        change.insert("part", {"label": "strange lug", "added_at": ""})
except CannotWrite as refusal:
    print(refusal.sentence)
"""


@pytest.mark.skipif(os.name == "nt", reason="read-only folders are a matter of another kind there")
def test_a_read_only_folder_can_be_read_and_says_so_when_written() -> None:
    """Root writes everywhere, so the reader is somebody else."""
    with tempfile.TemporaryDirectory() as room:
        os.chmod(room, 0o755)
        folder = Path(room) / "heap"
        create_store(folder, clock).close()
        layout.database_path(folder).chmod(0o444)
        folder.chmod(0o555)
        run = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(folder)], capture_output=True, text=True, check=False
        )
        folder.chmod(0o755)
    assert run.returncode == 0, run.stderr
    assert "cannot be written" in run.stdout and "nothing was changed" in run.stdout


def test_a_database_file_that_may_not_be_written(fresh: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite itself refuses (query_only stands for a read-only disk, which root would not notice)."""
    fresh.rows("PRAGMA query_only = ON")
    with pytest.raises(CannotWrite, match="nothing was changed"), fresh.change(ADD_PART) as change:
        change.insert("part", PART)


def test_a_survey_that_another_writes_is_busy(fresh: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "_BUSY_SECONDS", 0.05)
    other = open_store(fresh.folder, clock)
    with fresh.change(Verb("long act", "Done at length")) as change:
        change.insert("part", PART)
        with pytest.raises(SurveyBusy), other.change(ADD_PART) as second:
            second.insert("part", PART)
    assert len(other.rows("SELECT * FROM part")) == 1
