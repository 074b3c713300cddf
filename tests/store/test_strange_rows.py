"""Rows that no verb of ours ever wrote: each door says so in a sentence, and reading everything over names the row."""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import full_survey
import pytest
from web_client import ORIGIN
from web_visits import VISITS

import web
from survey.errors import ForeignDatabase, Refusal
from survey.history.verbs import undo_act
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import back_up
from survey.shelf.verbs import open_survey

PAGES = [
    addresses[0]
    for rule, addresses in VISITS.items()
    if not rule.startswith(("/static", "/rules", "/pictures")) and "/take/" not in rule
]


@pytest.fixture
def heap(full: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(full, tmp_path / "heap"))


def told(heap: Path, entity: str, before: dict[str, Any] | None, after: dict[str, Any] | None) -> None:
    """One act more in the history, as no verb of ours would write it."""
    rows = [None if row is None else json.dumps(row) for row in (before, after)]
    with sqlite3.connect(heap / "survey.db") as db:
        db.execute(
            "INSERT INTO event (at, batch, by, verb, entity, entity_id, before, after)"
            " VALUES ('2026-06-01T10:00:00Z', 'b0', 'x', 'change', ?, '1', ?, ?)",
            [entity, *rows],
        )
    db.close()


def answers(heap: Path) -> Iterator[tuple[str, int]]:
    """Every page with its answer, and an undoing and a putting back."""
    app = web.create_app(heap)
    try:
        client = app.test_client()
        yield from ((address, client.get(address).status_code) for address in PAGES)
        yield "/undo", client.post("/undo", headers={"Origin": ORIGIN}).status_code
        yield "/missing", client.get("/missing").status_code
    finally:
        app.extensions["survey"].close()


HISTORIES = [
    ("no-such-table", None, {"id": 1}),
    ('part" SET label = "x', {"id": 1, "label": "a"}, {"id": 1, "label": "b"}),
    ("event", {"id": 1}, {"id": 2}),
    ("part", {"id": 1, "colour": "red"}, {"id": 1, "colour": "blue"}),
    ("fit", {"id": 1, "part": 3, "other": 4, "result": "never"}, {"id": 1, "part": 3, "other": 4, "result": "goes"}),
    ("evidence", {"id": 1, "part": 1, "kind": "zodiac"}, None),
    ("want", {"id": 1, "state": "had"}, {"id": 1, "state": "wanted"}),
    ("batch", {"id": 1, "trade": "nobody", "who": ""}, None),
    ("batch", {"id": 1, "out_at": "2026-02-30"}, {"id": 1, "out_at": ""}),
    ("money_line", {}, {"what": "no number"}),
    ("money_line", {"id": 1, "want": None, "kind": ["part"]}, None),
]  # fmt: skip


@pytest.mark.parametrize(("entity", "before", "after"), HISTORIES, ids=lambda value: str(value)[:20])
def test_a_history_that_tells_what_cannot_be_breaks_no_page_and_is_named(
    heap: Path, entity: str, before: dict[str, Any] | None, after: dict[str, Any] | None
) -> None:
    told(heap, entity, before, after)
    with open_survey(heap) as survey:
        stood = full_survey.standing(survey)
        assert check_survey(survey)
        with pytest.raises(Refusal):
            undo_act(survey)
        with pytest.raises(Refusal):
            back_up(survey, heap.parent / "backup.zip")
        assert full_survey.standing(survey) == stood
    broken = [(address, status) for address, status in answers(heap) if status >= 500]
    assert broken == []


@pytest.mark.parametrize(
    ("table", "column", "value", "page", "named"),
    [
        ("batch", "gone_at", "rubbish", "/bin", "gone_at of batch 1 is 'rubbish'"),
        ("batch", "low", "999.00", "/plan/outwork/", "low, likely and high of batch 1 are out of order"),
        ("sale_price", "low", "999.00", "/plan/money/", "low, likely and high of sale_price 1 are out of order"),
        ("batch_item", "tag", "a\0b", "/plan/outwork/1", "tag of batch_item 1 is"),
    ],
)
def test_a_row_that_cannot_be_is_named_by_the_page_that_shows_it_and_by_check(
    heap: Path, table: str, column: str, value: str, page: str, named: str
) -> None:
    with sqlite3.connect(heap / "survey.db") as db:
        db.execute(f"UPDATE {table} SET {column} = ?", [value])
    db.close()
    with open_survey(heap) as survey:
        assert any(named in problem.what for problem in check_survey(survey))
        with pytest.raises(ForeignDatabase):
            back_up(survey, heap.parent / "backup.zip")
    found = dict(answers(heap))
    assert found[page] == 409
    assert [address for address, status in found.items() if status >= 500] == []
