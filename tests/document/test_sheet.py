"""A sheet says the same on every paper: as PDF, as a page, as CSV and as JSON."""

from __future__ import annotations

import csv
import json
import re
from html import unescape
from pathlib import Path

import pytest
from paper_ferryman import HOSTILE, LETTERS, ferryman, gradient_pictures, section
from pypdf import PdfReader

from survey.document.sheet import Section, Sheet
from survey.document.sheet_files import render_sheet_page, write_sheet
from survey.report.files import render_report_page, write_pdf
from survey.report.gather_printed import gather_report
from survey.report.table_files import write_csv

SAID = (
    "Sent away", "Two things are out.", "With the plater:", "since 2026-07-01", "Stays", "2026-08-01", "Pair of stays",
    "Plug:", "Signed out by", "before it went", "How to read", HOSTILE,
)  # fmt: skip


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b\u00ad]", "", text)


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    more = Section("more", f"More {LETTERS}", section().blocks, new_page=True)
    return Sheet("valuer", "For the valuer", "Condition report, a copy", "Haldane-Pike · Ferryman", "2026-11-25",
                 (section(), more), before=("Read this first.",), closing=("It is no inspection.",))  # fmt: skip


def test_pdf_and_page_say_everything_in_the_same_order(sheet: Sheet, tmp_path: Path) -> None:
    write_sheet(sheet, gradient_pictures(), tmp_path / "s.pdf")
    write_sheet(sheet, gradient_pictures(), tmp_path / "s.html")
    reader = PdfReader(tmp_path / "s.pdf")
    printed = squeezed("".join(page.extract_text() for page in reader.pages))
    page = (tmp_path / "s.html").read_text(encoding="utf-8")
    shown = squeezed(unescape(re.sub(r"<style>.*?</style>|<(?!b>|/b>|script>|/script>)[^>]+>", "", page, flags=re.S)))
    for words in (*SAID, "Read this first.", "It is no inspection.", "Haldane-Pike · Ferryman"):
        assert squeezed(words) in printed, words
        assert squeezed(words) in shown, words
    assert len(reader.pages) == 2, "the second section begins a page"
    assert sum(len(page.images) for page in reader.pages) == 2
    assert page.count("data:image/jpeg;base64,") == 2
    assert "<script" not in page


def test_the_pdf_is_tagged_and_titled(sheet: Sheet, tmp_path: Path) -> None:
    write_sheet(sheet, gradient_pictures(), tmp_path / "s.pdf", "letter")
    reader = PdfReader(tmp_path / "s.pdf")
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.metadata is not None
    assert reader.metadata.title == "For the valuer"
    assert abs(float(reader.pages[0].mediabox.width) - 612) < 1, "ANSI/ASME Y14.1: letter is 8.5 in = 612 points wide"


def test_a_lost_photo_leaves_a_frame_that_says_so(sheet: Sheet, tmp_path: Path) -> None:
    def lost(request: object) -> bytes:
        raise OSError("gone")

    write_sheet(sheet, lost, tmp_path / "s.pdf")
    assert "cannot be read" in "".join(page.extract_text() for page in PdfReader(tmp_path / "s.pdf").pages)


def test_table_and_json_carry_every_word(sheet: Sheet, tmp_path: Path) -> None:
    write_sheet(sheet, gradient_pictures(), tmp_path / "s.csv")
    write_sheet(sheet, gradient_pictures(), tmp_path / "s.json")
    with (tmp_path / "s.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    text = " ".join(cell for row in rows for cell in row.values())
    assert all(words in text for words in SAID if words not in ("before it went", "How to read", HOSTILE))
    assert f"Plug: {HOSTILE}" in text
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in rows for cell in row.values())
    assert {row["section"] for row in rows} == {"", "away", "more"}
    told = json.loads((tmp_path / "s.json").read_text(encoding="utf-8"))
    assert [one["key"] for one in told["sections"]] == ["away", "more"]
    assert told["copy"] == "valuer"


def test_a_served_page_asks_for_its_style_and_pictures(sheet: Sheet) -> None:
    page = render_sheet_page(sheet, lambda request: f"/piece/{request.photo}", "/style.css")
    assert '<link rel="stylesheet" href="/style.css">' in page
    assert page.count('src="/piece/1"') == 2


def test_what_is_planned_stands_in_the_report_on_every_paper(tmp_path: Path) -> None:
    data = gather_report(ferryman())
    write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    write_csv(data, tmp_path / "r.csv")
    printed = squeezed("".join(page.extract_text() for page in PdfReader(tmp_path / "r.pdf").pages))
    page = squeezed(
        unescape(re.sub(r"<(?!b>|/b>|script>|/script>)[^>]+>", "", render_report_page(data, lambda _: "x", "s")))
    )
    for words in SAID:
        assert squeezed(words) in printed, words
        assert squeezed(words) in page, words
    with (tmp_path / "r.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["row"] == "plan"]
    assert [row["state"] for row in rows] == ["away"] * 9
    assert "With the plater:" in [row["label"] for row in rows]
