"""The survey's database: ours or not, durable, and never changed without its history."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from sqlite_utils import Database

from survey.errors import AlreadyASurvey, CannotWrite, ForeignDatabase, NewerSurvey, NotASurvey, SurveyBusy
from survey.folder import layout, store
from survey.folder.schema import COLUMNS, migrations
from survey.folder.store import Store, create_store, open_store

NOW = "2026-06-01T20:00:00Z"
PART = {"label": "strange lug", "added_at": NOW}


def clock() -> str:
    return NOW


@pytest.fixture
def fresh(tmp_path: Path) -> Store:
    return create_store(tmp_path / "heap", clock)


def test_every_column_has_its_comment_and_no_comment_lacks_a_column(fresh: Store) -> None:
    tables = {row["name"] for row in fresh.rows("SELECT name FROM sqlite_master WHERE type = 'table'")}
    ours = {name for name in tables if not name.startswith(("sqlite_", "_"))}
    assert ours == set(COLUMNS)
    for table in ours:
        columns = {row["name"] for row in fresh.rows(f'PRAGMA table_info("{table}")')}
        assert columns == set(COLUMNS[table]), table


def test_an_acknowledged_edit_survives_a_power_cut(fresh: Store) -> None:
    """SQLite's documentation, PRAGMA synchronous: with a DELETE journal, EXTRA also syncs the directory."""
    fresh.close()
    again = open_store(fresh.folder, clock)
    assert again.rows("PRAGMA journal_mode") == [{"journal_mode": "delete"}]
    assert again.rows("PRAGMA synchronous") == [{"synchronous": 3}]
    assert again.rows("PRAGMA foreign_keys") == [{"foreign_keys": 1}]


def test_a_change_and_its_history_are_one(fresh: Store) -> None:
    with fresh.change("add part", "Wren") as change:
        row = change.insert("part", PART)
        change.update("part", [row["id"]], {"label": "saddle lug"})
    first, second = fresh.rows("SELECT * FROM event ORDER BY id")
    assert (first["before"], first["verb"], first["by"], first["entity_id"]) == (None, "add part", "Wren", "1")
    assert '"strange lug"' in second["before"] and '"saddle lug"' in second["after"]
    assert first["batch"] == second["batch"]


def test_a_change_that_fails_leaves_nothing_behind(fresh: Store) -> None:
    with pytest.raises(ZeroDivisionError), fresh.change("add part") as change:
        change.insert("part", PART)
        raise ZeroDivisionError
    assert fresh.rows("SELECT * FROM part") == []
    assert fresh.rows("SELECT * FROM event") == []


def test_what_does_not_change_is_no_event(fresh: Store) -> None:
    with fresh.change("add part") as change:
        row = change.insert("part", PART)
    with fresh.change("change part") as change:
        assert change.update("part", [row["id"]], {"label": "strange lug"}) == row
        assert change.update("part", [99], {"label": "x"}) is None
        assert change.remove("own_grade", [99]) is None
    assert len(fresh.rows("SELECT * FROM event")) == 1


def test_the_history_is_only_ever_added_to(fresh: Store) -> None:
    with fresh.change("add part") as change:
        change.insert("part", PART)
    for statement in ("UPDATE event SET verb = 'other'", "DELETE FROM event"):
        with pytest.raises(ForeignDatabase, match="only ever added to"), fresh.change("tamper"):
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


def test_a_folder_that_is_no_survey(tmp_path: Path) -> None:
    with pytest.raises(NotASurvey, match="no folder"):
        open_store(tmp_path / "nowhere", clock)
    with pytest.raises(NotASurvey, match="is not a survey"):
        open_store(tmp_path, clock)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("content", [b"", b"this is a shopping list, not a database at all" * 40])
def test_a_survey_db_that_is_no_database_of_ours(tmp_path: Path, content: bytes) -> None:
    layout.database_path(tmp_path).write_bytes(content)
    with pytest.raises(ForeignDatabase):
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
    grown = type(migrations)("teachest")
    grown._migrations = list(migrations._migrations)

    @grown()
    def step_002_trial(db: Database) -> None:
        db.execute("ALTER TABLE part ADD COLUMN trial TEXT")

    monkeypatch.setattr(store, "migrations", grown)
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
from survey.folder.store import open_store
if hasattr(os, "geteuid") and os.geteuid() == 0:
    os.setgroups([]), os.setgid(65534), os.setuid(65534)
store = open_store(Path(sys.argv[1]), lambda: "2026-06-01T20:00:00Z")
assert store.rows("SELECT * FROM part") == []
try:
    with store.change("add part") as change:
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
    with pytest.raises(CannotWrite, match="nothing was changed"), fresh.change("add part") as change:
        change.insert("part", PART)


def test_a_survey_that_another_writes_is_busy(fresh: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "_BUSY_SECONDS", 0.05)
    other = open_store(fresh.folder, clock)
    with fresh.change("long act") as change:
        change.insert("part", PART)
        with pytest.raises(SurveyBusy), other.change("add part") as second:
            second.insert("part", PART)
    assert len(other.rows("SELECT * FROM part")) == 1
