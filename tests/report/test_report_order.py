"""The order of the build in the report: the same words on every paper, and nothing where there is no plan."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from paper_ferryman import ferryman, gradient_pictures
from pypdf import PdfReader

from survey.build_order.blocks import rank_blocks
from survey.build_order.lacks import Lack, LackState
from survey.build_order.plan import BuildFacts, Plan, make_plan
from survey.build_order.printed import OrderLines, make_order_lines
from survey.model.build_order import BeforePair, BuildStep
from survey.model.schedule import Component
from survey.report.contents_printed import ReportData
from survey.report.files import render_report_page, write_json, write_pdf
from survey.report.gather_printed import gather_report
from survey.report.table_files import write_csv

HEADING = "What goes on before what, and what stops it"


def lack(name: str, state: LackState, where: str = "") -> Lack:
    return Lack(Component(name, f"Part {name}", "Frame", None, 1, "safety", "frame", "steel"), state, where)


def a_plan(*own: BeforePair) -> Plan:
    steps = [
        BuildStep("numbers", "Write the numbers down", "proof"),
        BuildStep("cups", "Seat the cups", "build", ("cup", "tool")),
        BuildStep("fork", "Hang the fork", "build", ("fork",), caution="The spring flies."),
        BuildStep("wheel", "Put the wheel in", "build", ("a", "b", "c", "d")),
    ]
    pairs = [
        BeforePair("p1", "cups", "fork", "No bearing."),
        BeforePair("p2", "fork", "wheel", "It hangs there."),
        *own,
    ]
    lacks = {"cup": lack("cup", "away", "with the grinder"), "tool": lack("tool", "not-looked")}
    lacks |= {name: lack(name, "missing") for name in "abcd"}
    return make_plan(steps, pairs, BuildFacts({*"abcd", "cup", "tool", "fork"}, lacks))


def lines(*own: BeforePair) -> OrderLines:
    made = a_plan(*own)
    return make_order_lines(made, rank_blocks(made))


@pytest.fixture(scope="module")
def data() -> ReportData:
    return gather_report(ferryman(order=lines()))


def test_each_step_says_in_numbers_and_words_what_it_waits_for() -> None:
    numbers, cups, fork, wheel = lines().steps
    assert (numbers.number, numbers.word, numbers.after, numbers.waits) == (1, "can be done now", (), "")
    assert cups.waits == "Part cup (away: with the grinder); 1 not looked for or not seen"
    assert (fork.after, fork.waits, fork.caution) == ((2,), "", "The spring flies.")
    assert wheel.waits == "Part a (missing); Part b (missing); Part c (missing); 1 more"


def test_what_is_known_to_lack_is_ranked_and_the_rest_counted() -> None:
    found = lines()
    assert [line.component for line in found.blocks] == ["cup", "a", "b", "c", "d"]
    assert found.blocks[0].arithmetic == "3 steps × 3 (safety) × 1 (not often missing) = 9"
    assert found.unsought == 1
    assert found.standing == "Of 4 steps: 1 can be done now, 3 held up."
    assert OrderLines().standing == ""


def test_a_circle_is_printed_with_the_pair_to_drop() -> None:
    (told,) = lines(BeforePair("own-1", "wheel", "cups", "he says", own=1)).circles
    assert told.endswith("Drop: Put the wheel in before Seat the cups.")


def test_page_and_pdf_say_the_same(data: ReportData, tmp_path: Path) -> None:
    page = render_report_page(data, lambda _: "")
    write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    paper = " ".join(" ".join(one.extract_text() for one in PdfReader(tmp_path / "r.pdf").pages).split())
    for said in (HEADING, "Seat the cups", "waits for Part cup (away: with the grinder)", "Caution: The spring flies.",
                 "3 steps × 3 (safety) × 1 (not often missing) = 9", "Of 4 steps: 1 can be done now"):  # fmt: skip
        assert said in page
        assert "".join(said.split()) in "".join(paper.split())


def test_table_and_json_carry_the_steps(data: ReportData, tmp_path: Path) -> None:
    write_csv(data, tmp_path / "r.csv")
    rows = list(csv.DictReader(io.StringIO((tmp_path / "r.csv").read_text("utf-8"), newline="")))
    steps = [row for row in rows if row["row"] == "step"]
    assert [row["label"] for row in steps][1:3] == ["2. Seat the cups", "3. Hang the fork"]
    assert steps[2]["note"] == "after 2"
    assert steps[2]["caution"] == "The spring flies."
    assert [row["component"] for row in rows if row["row"] == "block"] == ["cup", "a", "b", "c", "d"]
    write_json(data, tmp_path / "r.json")
    told = json.loads((tmp_path / "r.json").read_text("utf-8"))
    assert told["order"]["steps"][2]["after"] == [2]


def test_without_a_plan_nothing_of_it_is_printed(tmp_path: Path) -> None:
    bare = gather_report(ferryman())
    assert HEADING not in render_report_page(bare, lambda _: "")
    write_pdf(bare, gradient_pictures(), tmp_path / "r.pdf")
    assert HEADING not in " ".join(one.extract_text() for one in PdfReader(tmp_path / "r.pdf").pages)
