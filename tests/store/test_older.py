"""A survey of every older shape opens and holds what it held; an update that is killed leaves the old or the new.

A row of every table that there was at a step, as the step knew it. ``long_form`` says how many kills.
"""

from __future__ import annotations

import contextlib
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

import pytest
from closed_words import checked_lists, closed_words, copied_steps, refused_words, schema_of, tables_anew
from house import TOP
from long_form import tell, times
from older_surveys import STEPS, Held, older
from sqlite_utils import Database

from survey.history.verbs import redo_act, undo_act
from survey.model.verb import Verb
from survey.parts.verbs import add_part, list_parts
from survey.report.verbs import write_report
from survey.safekeeping.check_verbs import check_survey
from survey.shelf.verbs import open_survey
from survey.store import database, layout, tables, tables_of_plans
from survey.store.column_kinds import Table, one_of
from survey.store.schema import migrations
from survey.store.schema_change import replace_check
from survey.store.tables import TABLES

KILLS = times(4, full=30)


@pytest.fixture(scope="module")
def oldest(full: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The database of a survey of the first shape, brought up to date."""
    return bring_up_to_date(older(full, 1, tmp_path_factory.mktemp("oldest") / "heap"))


def held(database: Path) -> Held:
    """Every row of every table."""
    with contextlib.closing(sqlite3.connect(f"{database.as_uri()}?mode=ro", uri=True)) as opened:
        assert opened.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        opened.row_factory = sqlite3.Row
        tables = [row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {table: [dict(row) for row in opened.execute(f'SELECT * FROM "{table}"')] for table in tables}


def steps_of(rows: Held) -> list[str]:
    return [row["name"] for row in rows.pop("_sqlite_migrations")]


def holds(now: Held, then: Held) -> bool:
    """Whether every row is there that was, with every value that it had."""
    return all(
        [{name: row[name] for name in old} for row, old in zip(now[table], rows, strict=True)] == rows
        for table, rows in then.items()
    )


@pytest.mark.parametrize("steps", range(1, len(STEPS)))
def test_a_survey_of_every_older_shape_opens_and_holds_what_it_held(full: Path, tmp_path: Path, steps: int) -> None:
    folder = older(full, steps, tmp_path / "heap")
    before = held(layout.database_path(folder))
    assert steps_of(before) == STEPS[:steps] and all(before.values()), "a row in every table"
    with open_survey(folder) as survey:
        assert check_survey(survey) == []
        after = held(layout.database_path(folder))
        assert steps_of(after) == STEPS and holds(after, before)
        assert {one.part.id for one in list_parts(survey)} == {row["id"] for row in before["part"]}
        write_report(survey, tmp_path / "report.json")
        undo_act(survey)
        redo_act(survey)
        add_part(survey, "B052")
        assert check_survey(survey) == []
    (snapshot,) = (folder / layout.SNAPSHOTS).glob("before-update-*.db")
    kept = held(snapshot)
    assert steps_of(kept) == STEPS[:steps] and kept == before


def clock() -> str:
    return "2026-06-01T20:00:00Z"


def bring_up_to_date(folder: Path) -> Path:
    """Open a survey with the steps of today; its database."""
    database.open_store(folder, clock).close()
    return layout.database_path(folder)


@pytest.mark.parametrize("steps", range(1, len(STEPS) + 1))
def test_a_survey_of_every_shape_gets_the_tables_of_a_new_one_and_takes_every_closed_word(
    full: Path, tmp_path: Path, steps: int
) -> None:
    """If a word is refused, the list was changed and the schema was not: see "A closed word" in DEVELOPERS.md."""
    new, database = layout.database_path(full), bring_up_to_date(older(full, steps, tmp_path / "heap"))
    assert schema_of(database) == schema_of(new)
    assert refused_words(database, TABLES, held(new)) == refused_words(new, TABLES, held(new)) == []


def test_every_list_in_the_schema_is_a_list_of_the_product(full: Path) -> None:
    """Otherwise the test above would not ask for its words."""
    lists = checked_lists(layout.database_path(full))
    assert len(lists) > len(TABLES) / 2 and lists.keys() <= closed_words(TABLES).keys()


NO_WORDS = {"TABLES", "TABLES_OF_PLANS", "SIGNED", "SIGNED_SOFT", "BIN_TABLES"}
LISTS = {
    name: words
    for module in (tables, tables_of_plans)
    for name, words in vars(module).items()
    if name[0] != "_" and isinstance(words, tuple | Mapping) and name not in NO_WORDS
}


@pytest.mark.parametrize("name", sorted(LISTS))
def test_a_word_that_is_added_without_a_step_is_refused_by_new_and_old_and_would_be_noticed(
    full: Path, oldest: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    words = LISTS[name]
    word = 99 if name == "STEPS" else "zodiac"
    longer = {**words, word: ""} if isinstance(words, Mapping) else (*words, word)
    for room in [room for at, room in sys.modules.items() if at.startswith("survey.")]:
        if vars(room).get(name) is words:
            monkeypatch.setattr(room, name, longer)
    checks = tables_anew()
    columns = [column for column, allowed in closed_words(checks).items() if word in allowed]
    assert columns
    new = layout.database_path(full)
    for held_by in (new, oldest):
        refused = refused_words(held_by, checks, held(new))
        assert [f"{table}.{column} {word!r}" for table, column in columns] == [
            entry for entry in refused if entry.endswith(repr(word))
        ]


@pytest.mark.parametrize("steps", range(1, len(STEPS) + 1))
def test_a_new_step_widens_every_closed_list_and_keeps_all_else(
    full: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, steps: int
) -> None:
    """What the recipe "A closed word" does, for each list that is in a CHECK, with rows in every table."""
    lists = checked_lists(layout.database_path(full))
    rows = held(layout.database_path(full))
    grown = copied_steps()

    @grown()
    def step_999_zodiac(db: Database) -> None:
        for (table, column), words in lists.items():
            replace_check(db, table, f"{column} IN ({words})", f"{column} IN ({words}, 'zodiac')")

    folder = older(full, steps, tmp_path / "heap")
    before = held(layout.database_path(folder))
    monkeypatch.setattr(database, "migrations", grown)
    updated, new = bring_up_to_date(folder), layout.database_path(tmp_path / "new")
    database.create_store(new.parent, clock, Verb("make survey", "Survey made"), lambda change: None).close()
    after = held(updated)
    assert steps_of(before) == STEPS[:steps] and steps_of(after) == [*STEPS, "step_999_zodiac"]
    assert holds(after, before) and schema_of(updated) == schema_of(new)
    wider = {
        table: Table(table, **{column: one_of(("zodiac",), "") for name, column in lists if name == table})
        for table, _ in lists
    }
    assert refused_words(updated, wider, rows) == refused_words(new, wider, rows) == []
    elsewhere = {"want": Table("Want", state=one_of(("elsewhere",), ""))}
    assert refused_words(updated, elsewhere, rows) == ["want.state 'elsewhere'"]


def prove_old_or_new(folder: Path, old: Held, new: Held) -> bool:
    """The database is the whole old one or the whole new one; which, and every snapshot is the old."""
    database = layout.database_path(folder)
    with contextlib.closing(sqlite3.connect(database)) as opened:
        opened.execute("SELECT count(*) FROM sqlite_master").fetchone()  # rolls a broken-off transaction back
    now = held(database)
    steps = steps_of(now)
    assert steps in (STEPS[:1], STEPS)
    assert now == (new if steps == STEPS else old)
    for snapshot in (folder / layout.SNAPSHOTS).glob("*.db"):
        kept = held(snapshot)
        assert steps_of(kept) == STEPS[:1] and kept == old
    assert steps == STEPS[:1] or list((folder / layout.SNAPSHOTS).glob("before-update-*.db"))
    return steps == STEPS


OPEN = """
import os, signal, sys
from pathlib import Path
from sqlite_utils import Database
from survey.shelf.verbs import open_survey
left = int(sys.argv[2])
print("at it", flush=True)
whole = Database.execute
def counted(self, *given):
    global left
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    return whole(self, *given)
Database.execute = counted
open_survey(Path(sys.argv[1])).close()
print(int(sys.argv[2]) - left)
"""


def opened_and_killed(command: list[str], after: float | None) -> tuple[int, float]:
    """Open in a process of its own, killed so many seconds after its beginning, or as it is told to kill itself.

    How many statements it gave and how long it took, where it came to its end.
    """
    with subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout and child.stdout.readline() == "at it\n"
        start = time.monotonic()
        try:
            child.wait(after)
        except subprocess.TimeoutExpired:
            child.send_signal(signal.SIGKILL)
        took, told = time.monotonic() - start, child.stdout.read()
    assert child.returncode in (-signal.SIGKILL, 0)
    return int(told or 0), took


@pytest.mark.skipif(sys.platform == "win32", reason="no SIGKILL")
@pytest.mark.long_form
def test_a_killed_update_leaves_the_old_or_the_new(full: Path, tmp_path: Path) -> None:
    """SIGKILL before a statement chosen by lot among all that an opening gives to SQLite, and at random moments."""
    first = older(full, 1, tmp_path / "first")
    old = held(layout.database_path(first))
    steps_of(old)
    shutil.copytree(first, tmp_path / "whole")
    run = [sys.executable, "-c", OPEN]
    statements, longest = opened_and_killed([*run, str(tmp_path / "whole"), "0"], None)
    new = held(layout.database_path(tmp_path / "whole"))
    steps_of(new)
    dice, ends = random.Random(11), Counter[bool]()
    for kill in range(KILLS):
        folder = Path(shutil.copytree(first, tmp_path / f"heap {kill}"))
        for _ in range(dice.randint(1, 3)):  # one that was killed may be killed again
            at, after = dice.choice([(dice.randint(1, statements), None), (0, dice.uniform(0, longest))])
            opened_and_killed([*run, str(folder), str(at)], after)
            is_new = prove_old_or_new(folder, old, new)
        ends[is_new] += 1
        with open_survey(folder) as survey:
            assert check_survey(survey) == []
        assert prove_old_or_new(folder, old, new)
    assert ends[False], "the kills come too late"
    tell(f"{KILLS} surveys killed while they were brought up to date: {ends[False]} whole old, {ends[True]} whole new")


def test_an_update_that_stops_half_way_would_be_noticed(full: Path, tmp_path: Path) -> None:
    folder = older(full, 1, tmp_path / "heap")
    old = held(layout.database_path(folder))
    steps_of(old)
    with contextlib.closing(Database(layout.database_path(folder), execute_plugins=False)) as db:
        migrations.apply(db, stop_before=STEPS[2:])
    with pytest.raises(AssertionError):
        prove_old_or_new(folder, old, old)
