"""What is planned stands in the report and its copies, in the order of the work; nothing where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from survey.belonging.printed import make_belonging_section
from survey.belonging.verbs import add_evidence
from survey.document.sheet import Line, Section, Table
from survey.fits.printed import make_fits_section
from survey.fits.verbs import add_fit
from survey.gates.verbs import answer_gate
from survey.money.verbs import add_money_line
from survey.money.worth_verbs import add_comparison
from survey.outwork.printed import OutworkLine, make_outwork_section
from survey.outwork.verbs import make_batch, receive_item, send_batch
from survey.parts.verbs import add_part
from survey.report.verbs import list_copy_contents, write_report
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey, get_local_day
from survey.words import format_day


@pytest.fixture
def survey(tmp_path: Path) -> Survey:
    return make_survey(tmp_path / "boxes", "lightweight", "Ferryman from the dairy")


def table(section: Section, number: int = 0) -> Table:
    return [block for block in section.blocks if isinstance(block, Table)][number]


def words(section: Section) -> str:
    lines = [block for block in section.blocks if isinstance(block, Line)]
    return " ".join(" ".join((line.head, line.text, line.aside)) for line in lines)


def test_nothing_recorded_is_no_section() -> None:
    assert make_belonging_section([], 5, []) is None
    assert make_fits_section([("Frame", "2 of 3")], [], 0) is None
    assert make_outwork_section([], "") is None


def test_where_parts_come_from_and_what_is_passed_on() -> None:
    rows = [("Lid, no. 2", "From another machine", "− 4 = −4", "Look at it.")]
    section = make_belonging_section(rows, 1, [("Lid, no. 2", "", "Say so."), ("Tube, no. 3", "a pattern for it", "")])
    assert section is not None
    assert table(section).rows == tuple(rows)
    assert "Of 1 other part nothing is recorded" in words(section)
    assert [row[1] for row in table(section, 1).rows] == ["can be passed on", "a pattern for it"]


def test_a_packing_is_told_until_it_is_made() -> None:
    """Common practice, no source: a packing washer used for now is forgotten and pulls the frame."""
    with_one = make_fits_section([("Frame", "2 of 3")], [("Wheel to fork", "Goes with packing.", "")], 1)
    without = make_fits_section([("Frame", "2 of 3")], [("Wheel to fork", "Goes.", "")], 0)
    assert with_one is not None and without is not None
    assert "1 packing stands there for now" in words(with_one)
    assert "packing" not in words(without)


def test_what_is_away_is_told_with_what_was_found() -> None:
    line = OutworkLine(
        2, "Batch 2: Plating", "Out since 2026-06-01: overdue", ("1 × Rim",), ("Part 3: 1 short.",), "£5"
    )
    section = make_outwork_section([line], "1 batch out.")
    assert section is not None
    told = words(section)
    for said in ("1 batch out.", "Batch 2: Plating.", "overdue.", "1 × Rim", "Part 3: 1 short.", "£5"):
        assert said in told


def test_the_report_holds_what_was_recorded_in_the_order_of_the_work(survey: Survey, tmp_path: Path) -> None:
    rim, lid = add_part(survey, "B160", label="rim"), add_part(survey, None, label="maroon lid")
    before = list_copy_contents(survey, "bench")
    assert "Does it belong" not in before
    add_evidence(survey, lid.id, "foreign", note="two holes out")
    add_fit(survey, rim.id, lid.id, "does-not", note="it fouls")
    make_batch(survey, "plate", [rim.id], who="A. Plater")
    after = [heading for heading in list_copy_contents(survey, "bench") if heading not in before]
    assert after == ["Does it belong", "Trial fits", "Outwork", "Money"], "a batch costs"
    assert "Worth starting?" in before, "the gates stand there from the first day"
    text = write_report(survey, tmp_path / "r.csv").read_text("utf-8")
    assert "maroon lid, no. 2 to rim, no. 1" in text
    assert "A. Plater" in text


def test_money_is_told_line_by_line_against_what_it_may_be_worth(survey: Survey, tmp_path: Path) -> None:
    """(10 + 4 x 20 + 60) / 6 = 25: three-point method, Operations Research 7(5), 1959, as in the sums themselves."""
    add_money_line(survey, "Stove enamel", kind="outwork", low="10", likely="20", high="60")
    add_money_line(survey, "The boxes", kind="machine", state="paid", spent="55.50", receipt="in the tin")
    add_comparison(survey, "Ferryman, rides", "2026-05-17", "900")
    bench_copy = write_report(survey, tmp_path / "r.csv").read_text("utf-8")
    assert "Stove enamel" in bench_copy
    assert "£25.00" in bench_copy
    valuer = write_report(survey, tmp_path / "v.csv", copy="valuer").read_text("utf-8")
    headings = list_copy_contents(survey, "valuer")
    assert headings[:2] == ("What it is", "What it may be worth")
    assert "What has been spent" in headings
    assert "£900.00" in valuer and "17 May 2026" in valuer
    assert "£55.50" in valuer and "in the tin" in valuer
    assert "Stove enamel" not in valuer, "what is only guessed has not been spent"


def test_each_gate_says_why_and_what_would_settle_it(survey: Survey) -> None:
    from survey.report.plan_verbs import gather_plan_sections

    answer_gate(survey, "room-and-time", "no-matter", "the barn is dry")
    gates = next(section for section in gather_plan_sections(survey) if section.key == "gates")
    rows = {row[0]: row for row in table(gates).rows}
    assert len(rows) == 6
    assert rows["Room, tools and a time set"][1] == "No matter, says its owner"
    assert "the barn is dry" in rows["Room, tools and a time set"][2]
    assert all(row[2].strip() for row in rows.values())
    assert "To settle it:" in rows["Papers settled"][2]


def test_a_safety_part_that_is_back_says_so_beside_its_grade(survey: Survey, tmp_path: Path) -> None:
    """Its work passes nothing as fit: common practice, no source."""
    wheel = add_part(survey, "B074", label="front spindle")
    sent = make_batch(survey, "machine", [wheel.id], who="A. Turner")
    send_batch(survey, sent.id, anyway="as it is")
    receive_item(survey, sent.items[0].id, 1)
    said = f"Back from the machine shop since {format_day(get_local_day())}, not looked over"
    for name in ("r.html", "r.csv", "r.json"):
        assert said in write_report(survey, tmp_path / name).read_text("utf-8"), name
    pdf = PdfReader(write_report(survey, tmp_path / "r.pdf"))
    assert said in " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
