"""What is planned stands in the report and its copies, in the order of the work; nothing where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from survey import bench
from survey.paper.outwork_lines import OutworkLine
from survey.paper.plan_sections import belongs_section, fits_section, outwork_section
from survey.paper.sheet import Line, Section, Table


@pytest.fixture
def survey(tmp_path: Path) -> bench.Survey:
    return bench.make_survey(tmp_path / "boxes", "lightweight", "Ferryman from the dairy")


def table(section: Section, number: int = 0) -> Table:
    return [block for block in section.blocks if isinstance(block, Table)][number]


def words(section: Section) -> str:
    lines = [block for block in section.blocks if isinstance(block, Line)]
    return " ".join(" ".join((line.head, line.text, line.aside)) for line in lines)


def test_nothing_recorded_is_no_section() -> None:
    assert belongs_section([], 5, []) is None
    assert fits_section([("Frame", "2 of 3")], [], 0) is None
    assert outwork_section([], "") is None


def test_where_parts_come_from_and_what_is_passed_on() -> None:
    rows = [("Lid, no. 2", "From another machine", "− 4 = −4", "Look at it.")]
    section = belongs_section(rows, 1, [("Lid, no. 2", "", "Say so."), ("Tube, no. 3", "a pattern for it", "")])
    assert section is not None
    assert table(section).rows == tuple(rows)
    assert "Of 1 other part nothing is recorded" in words(section)
    assert [row[1] for row in table(section, 1).rows] == ["can be passed on", "a pattern for it"]


def test_a_packing_is_told_until_it_is_made() -> None:
    """Common practice, no source: a packing washer used for now is forgotten and pulls the frame."""
    with_one = fits_section([("Frame", "2 of 3")], [("Wheel to fork", "Goes with packing.", "")], 1)
    without = fits_section([("Frame", "2 of 3")], [("Wheel to fork", "Goes.", "")], 0)
    assert with_one is not None and without is not None
    assert "1 packing stands there for now" in words(with_one)
    assert "packing" not in words(without)


def test_what_is_away_is_told_with_what_was_found() -> None:
    line = OutworkLine(
        2, "Batch 2: Plating", "Out since 2026-06-01: overdue", ("1 × Rim",), ("Part 3: 1 short.",), "£5"
    )
    section = outwork_section([line], "1 batch out.")
    assert section is not None
    told = words(section)
    for said in ("1 batch out.", "Batch 2: Plating.", "overdue.", "1 × Rim", "Part 3: 1 short.", "£5"):
        assert said in told


def test_the_report_holds_what_was_recorded_in_the_order_of_the_work(survey: bench.Survey, tmp_path: Path) -> None:
    rim, lid = bench.add_part(survey, "B160", label="rim"), bench.add_part(survey, None, label="maroon lid")
    before = bench.copy_contents(survey, "bench")
    assert "Does it belong" not in before
    bench.add_evidence(survey, lid.id, "foreign", note="two holes out")
    bench.add_fit(survey, rim.id, lid.id, "does-not", note="it fouls")
    bench.make_batch(survey, "plate", [rim.id], who="A. Plater")
    after = [heading for heading in bench.copy_contents(survey, "bench") if heading not in before]
    assert after == ["Does it belong", "Trial fits", "Outwork"]
    text = bench.report(survey, tmp_path / "r.csv").read_text("utf-8")
    assert "maroon lid, no. 2 to rim, no. 1" in text
    assert "A. Plater" in text
