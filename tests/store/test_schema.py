"""Released steps of the schema never change, and one more closed word has its way into surveys of every age."""

from __future__ import annotations

import contextlib
import hashlib
import json
import sqlite3
from collections.abc import Iterator
from typing import Any, get_args, get_type_hints

import pytest
from closed_words import closed_words
from house import modules
from sqlite_utils import Database

from survey.model.build_order import StepAnswer
from survey.model.fits import FitSide, Result
from survey.model.gates import GateWord
from survey.model.grading import Grade, Seen
from survey.model.money import LineKind, LineState
from survey.model.outwork import BatchState, Hydrogen, Threads
from survey.model.photos import Shape
from survey.model.schedule import Duty, PositionState
from survey.model.wants import Scarcity, WantState
from survey.photos import metadata
from survey.store import schema, schema_change
from survey.store.schema import migrations, step_names
from survey.store.schema_change import replace_check
from survey.store.tables import TABLES

# Step -> SHA-256 of all SQL that a survey holds after it. Surveys in the world hold that SQL: a line is added for a new
# step, and none is ever changed.
DIGESTS = {
    "step_001_first_house": "2488ab71e2d10090d5c7c927510ec9f710d40c40fce5393d3e34117b4c26b44c",
    "step_002_taking_back": "3e6b068df3fb9a0ea8a660955bfaef56395cbc6da1ef5d96c238a8850bbf154e",
    "step_003_order": "c3dd08990f986216b0f664885a06a11f4d153a4e0315f6977142854f7ab70c3a",
    "step_004_wants": "12f39d27064d4abbda2c507c4b638ec400d9b2b4998a85fe167a48e9ff70fe2c",
    "step_005_stuck": "1872b7a0f4fe09cecf82bcd5521f6465e60ba6258723758ba91fd290ff5468bf",
    "step_006_belongs_and_fits": "0618b3d082cea2bd7b08f76f3db31ee9c7603722b103736e4f234388fa77e7b4",
    "step_007_outwork": "fe0881d6b6e61f537a754b4542fa17aea8cc796b7d96a49eeff6eafa0e40d3fb",
    "step_008_money": "b44f5069e4f270d5e7f597575143ea52ea12f09f0696b316222ad508ff481f2f",
}


def digest(db: Database) -> str:
    """What is in sqlite_master, apart from SQLite's own tables and the list of steps taken."""
    rows = db.execute(
        "SELECT type, name, tbl_name, sql FROM sqlite_master"
        " WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND tbl_name <> '_sqlite_migrations' ORDER BY type, name"
    ).fetchall()
    return hashlib.sha256(json.dumps(rows).encode()).hexdigest()


def test_no_released_step_has_changed() -> None:
    names, digests = step_names(migrations), {}
    with contextlib.closing(Database(memory=True, execute_plugins=False)) as db:
        for place, name in enumerate(names, 1):
            migrations.apply(db, stop_before=names[place:])
            digests[name] = digest(db)
    lines = "\n".join(f'    "{name}": "{found}",' for name, found in digests.items() if DIGESTS.get(name) != found)
    assert digests == DIGESTS, f"Edited after its release, or new and not in DIGESTS yet:\n{lines}"


@pytest.mark.parametrize("name", [schema.__name__, schema_change.__name__])
def test_a_step_takes_nothing_from_the_rest_of_the_product(name: str) -> None:
    (module,) = (one for one in modules() if one.name == name)
    ours = {one.name for one in module.imports if one.name.startswith(("survey", "web"))}
    assert ours <= {schema_change.__name__}


# Each closed word that a type lets through must be one that the column is checked for.
TYPES = {
    ("component", "duty"): Duty,
    ("position", "state"): PositionState,
    ("photo", "taken_from"): get_type_hints(metadata.PhotoMetadata)["taken_from"],
    ("finding", "seen"): Seen,
    ("look", "seen"): Seen,
    ("mark", "shape"): Shape,
    ("own_grade", "grade"): Grade,
    ("step_said", "state"): StepAnswer,
    ("want", "state"): WantState,
    ("want", "scarcity"): Scarcity,
    ("fit", "result"): Result,
    ("fit", "side"): FitSide,
    ("batch", "state"): BatchState,
    ("batch_item", "hydrogen"): Hydrogen,
    ("batch_item", "threads"): Threads,
    ("money_line", "kind"): LineKind,
    ("money_line", "state"): LineState,
    ("gate_said", "said"): GateWord,
}


def words_of(kind: Any) -> Iterator[str]:
    """The words of a ``Literal``, or of the one in a union with None."""
    for one in get_args(kind):
        if isinstance(one, str):
            yield one
        else:
            yield from words_of(one)


@pytest.mark.parametrize("column", TYPES, ids=".".join)
def test_a_column_is_checked_for_the_words_that_its_type_names(column: tuple[str, str]) -> None:
    words = closed_words(TABLES)[column]
    assert sorted(words_of(TYPES[column])) == sorted(word for word in words if word is not None)


PARENTS = """
CREATE TABLE trade (id INTEGER PRIMARY KEY, above INTEGER REFERENCES trade(id) DEFERRABLE INITIALLY DEFERRED,
    name TEXT, state TEXT NOT NULL, CHECK (state IN ('near', 'far')));
CREATE INDEX trade_near ON trade (name) WHERE state = 'near';
CREATE TRIGGER trade_is_kept BEFORE DELETE ON trade BEGIN SELECT RAISE(ABORT, 'kept'); END;
CREATE TABLE job (id INTEGER PRIMARY KEY, trade INTEGER NOT NULL REFERENCES trade(id));
INSERT INTO trade VALUES (1, NULL, 'plater', 'far'), (2, 1, 'polisher', 'near'), (9, 9, 'welder', 'near');
INSERT INTO job VALUES (1, 2), (2, 9);
"""
OLD, NEW = "state IN ('near', 'far')", "state IN ('near', 'far', 'abroad')"


@pytest.fixture
def trades() -> Iterator[Database]:
    with contextlib.closing(Database(memory=True, execute_plugins=False)) as db:
        db.executescript(PARENTS)
        db.execute("PRAGMA foreign_keys = ON")
        yield db


def content(db: Database) -> list[Any]:
    return [
        db.execute(f"SELECT * FROM {table}").fetchall()
        for table in ("trade", "job", "sqlite_master WHERE type <> 'table'")
    ]


def test_a_wider_check_keeps_rows_indices_triggers_and_foreign_keys(trades: Database) -> None:
    """SQLite's documentation, ALTER TABLE, section 7: what a table that is made anew must have again."""

    def without_pages(found: list[Any]) -> list[Any]:
        return [*found[:2], [(*row[:3], row[4]) for row in found[2]]]

    before, sql = content(trades), trades["trade"].schema
    with trades.atomic():
        replace_check(trades, "trade", OLD, NEW)
    assert without_pages(content(trades)) == without_pages(before)
    assert trades.table_names() == ["job", "trade"] and trades["trade"].schema == sql.replace(OLD, NEW)
    trades.execute("INSERT INTO trade VALUES (10, 1, 'chromer', 'abroad')")
    for statement, refusal in (
        ("INSERT INTO trade VALUES (11, 1, 'chromer', 'nowhere')", "CHECK"),
        ("INSERT INTO job VALUES (3, 99)", "FOREIGN KEY"),
        ("DELETE FROM trade WHERE id = 10", "kept"),
    ):
        with pytest.raises(sqlite3.IntegrityError, match=refusal):
            trades.execute(statement)


@pytest.mark.parametrize(
    ("table", "old", "new", "error"),
    [
        ("trade", "state IN ('near')", NEW, sqlite3.DatabaseError),
        ("nowhere", OLD, NEW, sqlite3.DatabaseError),
        ("trade", OLD, "state IN ('near')", sqlite3.IntegrityError),
    ],
)
def test_a_check_that_is_not_there_or_not_passed_changes_nothing(
    trades: Database, table: str, old: str, new: str, error: type[sqlite3.Error]
) -> None:
    before = content(trades), trades["trade"].schema
    with pytest.raises(error), trades.atomic():
        replace_check(trades, table, old, new)
    assert (content(trades), trades["trade"].schema) == before
