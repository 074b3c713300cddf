"""A copy for each reader leads with what that reader looks at first, and leaves out what is not for him.

What each reader looks at first is common practice, no source.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from survey.errors import BadValue
from survey.machine.verbs import add_number, change_machine
from survey.outwork.docket_verbs import write_docket
from survey.outwork.verbs import change_item, make_batch
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part
from survey.report.copy_verbs import list_copies
from survey.report.verbs import list_copy_contents, render_report, write_report
from survey.schedule.verbs import set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.wants.verbs import set_want
from web.main import main

OTHERS = [one.word for one in list_copies() if one.word != "bench"]


@pytest.fixture
def survey(tmp_path: Path) -> Survey:
    made = make_survey(tmp_path / "boxes", "lightweight", "Ferryman from the dairy")
    change_machine(made, maker="Haldane-Pike", model="Ferryman", year="1957", bought="boxes from 3 Ferry Lane")
    add_number(made, "headstock", "HPF 57 1043", "")
    frame = add_part(made, "B007", label="frame, hangs at 3 Ferry Lane")
    add_finding(made, frame.id, "crack", 3, seen="bare")
    set_position(made, "B140", "missing")
    set_want(made, "B140", sizes={"thread": "1/4 in x 19 tpi"}, high="15.50", who="Jonty Marl", state="asked")
    return made


def words_of(path: Path) -> str:
    if path.suffix == ".pdf":
        return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())
    return path.read_text("utf-8")


@pytest.mark.parametrize("copy", OTHERS)
@pytest.mark.parametrize("suffix", [".pdf", ".html", ".csv", ".json"])
def test_every_copy_is_written_in_every_way(survey: Survey, tmp_path: Path, copy: str, suffix: str) -> None:
    path = write_report(survey, tmp_path / f"c{suffix}", copy=copy)
    text = words_of(path)
    for heading in list_copy_contents(survey, copy):
        assert heading in text, heading


def test_the_copies_lead_with_what_their_reader_looks_at_first(survey: Survey) -> None:
    first = {word: list_copy_contents(survey, word)[0] for word in ["bench", *OTHERS]}
    assert first["bench"] == "What stops me today"
    assert first["friend"] == "Frames, forks and stands", "what is wanted, by kind of stall"
    assert first["valuer"] == "What it is"


def test_a_friends_copy_begins_with_sizes_and_holds_nothing_private(survey: Survey, tmp_path: Path) -> None:
    for suffix in (".pdf", ".html", ".csv", ".json"):
        text = words_of(write_report(survey, tmp_path / f"f{suffix}", copy="friend"))
        assert "thread: 1/4 in (6.35 mm) x 19 tpi (1.337 mm)" in text
        for private in ("15.5", "Jonty", "Ferry Lane", "1043"):
            assert private not in text, (suffix, private)


def test_only_the_valuers_copy_leads_with_the_numbers_in_full(survey: Survey, tmp_path: Path) -> None:
    text = words_of(write_report(survey, tmp_path / "v.pdf", copy="valuer"))
    assert text.index("HPF 57 1043") < text.index("What there is, and its condition")
    assert "1957" in text
    assert "Crack" in text
    assert "No valuation is made here" in text
    assert "It is not an engineer's inspection" in text.replace("’", "'")
    assert "15.5" not in text, "what is to be got is no business of a valuer"


def test_the_outworkers_copy_leads_with_count_and_finish(survey: Survey, tmp_path: Path) -> None:
    """What goes out and what is made up, each docket on a page of its own; what is back is in it no more."""
    rim = add_part(survey, "B160", label="rim off HPF 57 1043")
    stay = add_part(survey, "B171", label="mudguard stay", quantity=3)
    made = make_batch(survey, "plate", [rim.id, stay.id], who="A. Plater", low="20", high="400")
    for item in made.items:
        change_item(survey, item.id, finish="Dull zinc", plug="the two eyes")
    make_batch(survey, "weld", [])
    path = write_report(survey, tmp_path / "o.pdf", copy="outworker")
    text = words_of(path)
    headings = list_copy_contents(survey, "outworker")
    assert headings[0] == "How many, and what finish"
    assert headings[1:] == (f"Docket {made.id}: plating", f"Docket {made.id + 1}: weld and straighten")
    assert len(PdfReader(path).pages) == 1 + 2
    assert text.index("4 pieces in 2 items: Dull zinc.") < text.index("3 × mudguard stay")
    assert "the two eyes" in text
    assert "1043" not in text
    assert "400" not in text, "a guess at the price is not the trade's business"


@pytest.mark.parametrize("suffix", [".pdf", ".html", ".csv", ".json"])
def test_no_trade_learns_what_another_asks_or_how_it_is_reached(survey: Survey, tmp_path: Path, suffix: str) -> None:
    """The dockets of all trades are bound together; what is agreed with one stands on its own docket alone."""
    stay = add_part(survey, "B171", label="mudguard stay")
    made = make_batch(
        survey, "plate", [stay.id], who="A. Plater, HPF 57 1043", contact="ring 57 1043", low="11", likely="12",
        high="13", insured="4517", agreed=True,
    )  # fmt: skip
    change_item(survey, made.items[0].id, tag="HPF 57 1043")
    text = words_of(write_report(survey, tmp_path / f"o{suffix}", copy="outworker"))
    assert "A. Plater" in text
    assert [one for one in ("ring ", "12.00", "4,517", "1043") if one in text] == []
    own = words_of(write_docket(survey, made.id, tmp_path / "own.html"))
    assert "£12.00" in own and "£4,517.00" in own and "ring " in own
    assert "1043" not in own


def test_another_copy_is_refused(survey: Survey, tmp_path: Path) -> None:
    with pytest.raises(BadValue, match="no 'enemy' copy"):
        write_report(survey, tmp_path / "e.pdf", copy="enemy")
    with pytest.raises(BadValue, match="no 'enemy' copy"):
        render_report(survey, lambda *_: "", copy="enemy")
    assert not (tmp_path / "e.pdf").exists()


def test_the_commands(survey: Survey, tmp_path: Path) -> None:
    folder = str(survey.folder)
    survey.close()
    made = CliRunner().invoke(main, ["report", folder, "--copy", "valuer", "--to", str(tmp_path / "v.pdf"), "--json"])
    assert made.exit_code == 0, made.output
    assert Path(json.loads(made.output)[0]["path"]).is_file()
    listed = CliRunner().invoke(main, ["copies", folder, "--json"])
    told = json.loads(listed.output)
    assert [one["copy"] for one in told] == ["bench", *OTHERS]
    assert told[0]["sections"][0] == "What stops me today"
    assert all(set(one) == {"copy", "reader", "leads_with", "leaves_out", "sections"} for one in told)
    assert "What stops me today" in CliRunner().invoke(main, ["copies", folder]).output


def test_a_copy_of_an_empty_survey_says_so(tmp_path: Path) -> None:
    made = make_survey(tmp_path / "empty", "autocycle", "Nothing yet")
    for copy in OTHERS:
        assert words_of(write_report(made, tmp_path / f"{copy}.pdf", copy=copy))
    assert "Nothing is wanted just now." in words_of(write_report(made, tmp_path / "f.pdf", copy="friend"))
