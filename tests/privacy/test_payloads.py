"""Scripts and formulas in every field a person can fill (docs/why/what-is-promised.md).

The fields are those of every form there is, of the components that only a command adds, and of a photo's own tags, so
a new form is tried with them. What a page may hold: HTML Living Standard; reports of the browser: CSP Level 3. The
characters a spreadsheet takes for the beginning of a formula: OWASP, CSV Injection.
"""

from __future__ import annotations

import contextlib
import csv
import io
import re
import shutil
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING

import door_hands
import photo_factory as make
import pytest
import side_by_side
from all_papers import every_paper
from canaries import PAYLOADS, SECRET, layers
from web_client import ORIGIN
from web_visits import SENDS, SOUND, VISITS

import web
from survey.parts.verbs import add_part
from survey.photos.verbs import take_in_photos
from survey.safekeeping.verbs import export_survey
from survey.schedule.verbs import add_component, get_component
from survey.shelf.verbs import open_survey
from survey.store.survey import Survey
from survey.store.tables import TABLES

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

FORMULAS = ("=cmd|'/C calc'!A1", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1")
STARTS = ("=", "+", "-", "@", "\t", "\r")
TAKING_AWAY = ("/remove", "/drop", "/undo", "/redo", "/unplace", "/off", "/currency")


def filled(full: Path, to: Path, words: tuple[str, ...]) -> tuple[Path, int]:
    """A survey with each of these in every field of every form that takes it; how often one was taken."""
    folder, taken = Path(shutil.copytree(full, to)), 0
    app = web.create_app(folder)
    survey = app.extensions["survey"]
    try:
        for rule, names in SENDS.items():
            if rule.endswith(TAKING_AWAY):
                continue
            address = "/".join("1" if piece.startswith("<") else piece for piece in rule.split("/"))
            sound = {name: SOUND.get(name, "x") for name in names}
            for name in names:
                for said in (" ".join(words), *words):
                    answer = app.test_client().post(address, data=sound | {name: said}, headers={"Origin": ORIGIN})
                    assert answer.status_code in (200, 303, 400, 404, 409), (address, name, answer.status_code)
                    taken += answer.status_code == 303
        add_by_command(survey, words)
    finally:
        survey.close()
    return folder, taken


def add_by_command(survey: Survey, words: tuple[str, ...]) -> None:
    """Components of the owner's own, and photos whose file name and camera are such words."""
    known = get_component(survey, "B110")
    for number, said in enumerate(words):
        own = replace(known, id=f"Q{number}", label=said, assembly=said, names=(said,), finish=said, faults=(said,),
            sizes=(said,), inside=None, own=True)  # fmt: skip
        add_component(survey, own)
        add_part(survey, own.id, label=said)
        file = survey.folder.parent / (re.sub(r"[/\0\t\r]", "_", said)[:80] + f"{number}.jpg")
        file.write_bytes(make.picture(image=make.textured(60, 40, seed=number), exif=make.exif(make=said)))
        take_in_photos(survey, [file])


@pytest.fixture(scope="module")
def poisoned(full: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    def fill(room: Path) -> None:
        folder, taken = filled(full, room / "heap", PAYLOADS)
        assert taken > 10 * len(SENDS), "most fields take words"
        (folder / "secret.txt").write_text(SECRET)

    made = side_by_side.made_once(tmp_path_factory, "poisoned", fill)
    return Path(shutil.copytree(made, tmp_path_factory.mktemp("poisoned"), dirs_exist_ok=True)) / "heap"


LEADS_AWAY = re.compile(r"^\s*(https?:)?//(?!127\.0\.0\.1)|javascript:|^file:", re.IGNORECASE)


class Live(HTMLParser):
    """What of a page would act or call: foreign elements, handlers, addresses that lead elsewhere."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        within = tag == "use" and set(told) == {"href"} and told["href"].startswith("#")
        foreign = ("iframe", "object", "embed", "base", "frame", "applet", "foreignobject", "use", "animate", "set")
        if tag in foreign and not within:
            self.found.append(f"<{tag} {told}>")
        if tag == "script" and not told.get("src", "").startswith("/static/"):
            self.found.append(f"<script {told}>")
        if tag == "meta" and "http-equiv" in told:
            self.found.append(f"<meta {told}>")
        for name, value in told.items():
            leads = name in ("src", "href", "action", "formaction", "srcset", "data", "poster", "xlink:href", "style")
            if (
                name.startswith(("on", "hx-on"))
                or (leads and LEADS_AWAY.search(value))
                or (name == "style" and "url(" in value)
            ):
                self.found.append(f"{name}={value[:80]}")


def live(html: str) -> list[str]:
    reader = Live()
    reader.feed(html)
    reader.close()
    return reader.found


def pages() -> list[str]:
    """Every page, and those of what was written last."""
    told = [one for rule, visits in VISITS.items() for one in visits if not rule.startswith(("/pictures/", "/static/"))]
    return [*told, *(f"/parts/{number}" for number in range(2, 12)), *(f"/photos/{number}" for number in range(4, 10))]


@pytest.mark.slow
def test_no_page_holds_them_as_anything_but_words(poisoned: Path) -> None:
    app, found, seen = web.create_app(poisoned), {}, 0
    try:
        for address in pages():
            answer = app.test_client().get(address)
            html = answer.get_data(as_text=True) if answer.mimetype == "text/html" else ""
            answer.close()
            assert answer.status_code < 500, address
            seen += "&lt;script&gt;fetch(" in html
            if acting := live(html):
                found[address] = acting
    finally:
        app.extensions["survey"].close()
    assert found == {} and seen > 20, "the words did reach the pages"


@pytest.mark.parametrize("payload", [one for one in PAYLOADS if "<" in one])
def test_one_that_is_not_escaped_would_be_noticed(payload: str) -> None:
    assert live(f"<p>{payload}</p>") or live(f'<p title="{payload}"></p>') or "<!ENTITY" in payload


@pytest.mark.slow
def test_no_paper_holds_them_as_anything_but_words(poisoned: Path, tmp_path: Path) -> None:
    with open_survey(poisoned) as survey:
        papers = every_paper(survey, tmp_path / "papers")
    for paper in papers:
        data = paper.read_bytes()
        if paper.suffix == ".html":
            assert [one for one in live(data.decode()) if not one.startswith("<use")] == [], paper.name
        for layer in layers(data):
            assert SECRET.encode() not in layer and b"root:x:" not in layer, paper.name
            if paper.suffix == ".pdf":
                assert not re.search(rb"/(URI|JavaScript|JS|Launch|EmbeddedFile|SubmitForm|GoToR|OpenAction)\b", layer)


@pytest.mark.browser
@pytest.mark.slow
def test_no_page_calls_acts_or_is_reported(browser: Browser, poisoned: Path) -> None:
    door = door_hands.served(poisoned)
    context = browser.new_context()
    page, told = watched(context.new_page())
    page.goto(f"http://{door.host}/?key={door.key}")
    for address in pages():
        if "/take" not in address and "/style.css" not in address:
            page.goto(f"http://{door.host}{address}")
    context.close()
    assert told == []


@pytest.mark.browser
def test_a_page_that_would_be_reported_is(browser: Browser, full: Path, tmp_path: Path) -> None:
    app = web.create_app(Path(shutil.copytree(full, tmp_path / "heap")))
    app.add_url_rule("/careless", view_func=lambda: f"<!doctype html><p>{PAYLOADS[0]}{PAYLOADS[1]}")
    try:
        answer = app.test_client().get("/careless")
        context = browser.new_context()
        page, told = watched(context.new_page())
        page.route("**/*", lambda route: route.fulfill(body=answer.get_data(), headers=dict(answer.headers)))
        page.goto("http://127.0.0.1/careless")
        context.close()
    finally:
        app.extensions["survey"].close()
    assert len([one for one in told if "Content Security Policy" in one]) >= 2


def watched(page: Page) -> tuple[Page, list[str]]:
    """The page, and what it does that it should not: reports, dialogs, calls elsewhere, faults."""
    told: list[str] = []
    page.on("console", lambda said: told.append(said.text) if "Content Security Policy" in said.text else None)
    page.on("dialog", lambda dialog: told.append(f"dialog {dialog.message}"))
    page.on("request", lambda one: told.append(one.url) if "evil.example" in one.url else None)
    page.on("pageerror", lambda fault: told.append(str(fault)))
    return page, told


# Row 20.


def formulas(table: str) -> Iterator[tuple[str, str]]:
    """Cells that a spreadsheet would work out: where, and what they begin with. Figures alone are none."""
    for number, row in enumerate(csv.reader(io.StringIO(table.removeprefix("\ufeff"), newline=""))):
        for cell in row:
            if cell.startswith(STARTS) and not re.fullmatch(r"-?\d+(\.\d+)?", cell):
                yield f"line {number}", cell[:40]


@pytest.mark.usefixtures("unsynced")
def test_no_cell_of_a_paper_is_a_formula(full: Path, tmp_path: Path) -> None:
    folder, taken = filled(full, tmp_path / "heap", FORMULAS)
    assert taken > 5 * len(SENDS)
    with open_survey(folder) as survey:
        tables = [paper for paper in every_paper(survey, tmp_path / "papers") if paper.suffix == ".csv"]
    assert len(tables) > len(TABLES)
    told = {paper.name: paper.read_bytes().decode("utf-8") for paper in tables}
    assert {name: list(formulas(table)) for name, table in told.items()} == {name: [] for name in told}
    assert sum("cmd|" in table for table in told.values()) > 8, "they did reach the tables"


@pytest.mark.parametrize("start", STARTS)
def test_no_text_column_of_the_open_data_is_a_formula(full: Path, tmp_path: Path, start: str) -> None:
    """Each column that may hold words, of every table, written past every check of ours."""
    folder = Path(shutil.copytree(full, tmp_path / "heap"))
    written = []
    with contextlib.closing(sqlite3.connect(folder / "survey.db", isolation_level=None)) as other:
        other.execute("PRAGMA ignore_check_constraints = ON")
        for table in TABLES.keys() - {"event"}:
            for column in free_columns(other, table):
                other.execute(f'UPDATE "{table}" SET "{column}" = ?', [f"{start}cmd {table} {column}"])
                written.append(f"cmd {table} {column}")
    with open_survey(folder) as survey:
        survey.store.words = dict  # the closed words are not asked for: this is about what is written
        done = export_survey(survey, tmp_path / "open", originals=True).folder
    tables = [file.read_bytes().decode("utf-8") for file in (done / "tables").iterdir()]
    assert [one for table in tables for one in formulas(table)] == []
    whole = "".join(tables)
    assert len(written) > 80 and [one for one in written if one not in whole] == []


def free_columns(other: sqlite3.Connection, table: str) -> list[str]:
    """Columns of text that name no row and are not proved when they are read."""
    tied = {row[3] for row in other.execute(f'PRAGMA foreign_key_list("{table}")')}
    tied |= {name for name, column in TABLES[table].columns.items() if not column.kind.allows("=cmd")}
    rows = list(other.execute(f'PRAGMA table_info("{table}")'))
    unique = {"gone_at", "path", "sha256"}
    return [row[1] for row in rows if row[2] == "TEXT" and not row[5] and row[1] not in tied | unique]
