"""Outwork on paper and at the command line: the docket, and the whole way out and back.

That a docket leads with count and finish, and shows each side, size, plug and signature, is common practice, no source.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from PIL import Image
from pypdf import PdfReader

from survey.errors import BadValue, NoSuchThing
from survey.machine.verbs import add_number, change_machine
from survey.outwork.docket_verbs import list_outwork_lines, write_docket
from survey.outwork.verbs import change_batch, change_item, make_batch, receive_item, send_batch
from survey.parts.finding_verbs import add_finding
from survey.parts.verbs import add_part
from survey.photos.verbs import take_in_photos
from survey.shelf.verbs import make_survey, open_survey
from survey.store.survey import Survey
from web.main import main

FRAME, NUTS = 1, 2


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A batch to the plater: a frame with its number, both sides photographed, and nuts nobody has looked at yet."""
    room = tmp_path_factory.mktemp("made")
    with make_survey(room / "heap", "lightweight", "Ferryman off 14 Ferry Lane", by="Wren") as survey:
        for number, colour in enumerate(("brown", "grey"), 1):
            Image.new("RGB", (640, 480), colour).save(room / f"{number}.jpg")
            take_in_photos(survey, [room / f"{number}.jpg"])
        change_machine(survey, name="Ferryman", bought="from 14 Ferry Lane", note="kept at 3 Quay Street")
        add_number(survey, "headstock", "HPF 57 1043 *")
        add_part(survey, "B006", label="Frame HPF571043", photos=[1, 2])
        add_part(survey, "B180", quantity=41, note="from the uncle")
        plating = make_batch(
            survey, "plate", [FRAME, NUTS], who="Hollin Brothers", contact="ask at the counter", promised="2026-06-20",
            insured="250", low="20", high="40", answers={"pits": "filled"}, note="Ring before 1043 is polished",
        )  # fmt: skip
        frame, nuts = plating.items
        change_item(
            survey, frame.id, tag="1", finish="Dull nickel", plug="head bearing cups", keep_off="1043 and the lugs",
            before={"bore": "1 in"}, photos=(1, 2), said={"crack-test": "yes", "numbers": "yes"},
        )  # fmt: skip
        change_item(survey, nuts.id, count=40, finish="Dull zinc", hydrogen="bake")
    return room / "heap"


@pytest.fixture
def survey(made: Path, tmp_path: Path) -> Iterator[Survey]:
    with open_survey(Path(shutil.copytree(made, tmp_path / "heap"))) as opened:
        yield opened


def words_of(path: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


def page_words(path: Path) -> str:
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", path.read_text("utf-8"), flags=re.DOTALL).split())


SAID = (
    "Docket 1: plating", "41 pieces in 2 items: Dull nickel; Dull zinc.", "Hollin Brothers, ask at the counter",
    "Wren", "20 June 2026", "£250.00", "being made up, not sent yet", "Pits", "filled", "Hung by which holes",
    "Tag 1 · 1 × Frame HPF57", "Bore before: 1 in (25.4 mm)", "Plug: head bearing cups", "40 × Cycle-part fasteners",
    "Crack-tested, bare: yes", "Photo 1: one side", "Photo 2: the other side", "No photo of one side",
    "Bake: Baked at 190 to 220 °C", "With care", "Nothing here passes a part as fit", "taken by",
)  # fmt: skip


@pytest.mark.parametrize("suffix", [".pdf", ".html"])
def test_a_docket_says_what_the_trade_must_know(survey: Survey, tmp_path: Path, suffix: str) -> None:
    path = write_docket(survey, 1, tmp_path / f"d{suffix}")
    text = words_of(path) if suffix == ".pdf" else page_words(path)
    found = re.sub(r"\s+([.:;,)])", r"\1", text.replace("( ", "("))
    missing = [piece for piece in SAID if piece not in found]
    assert not missing, (missing, found)
    order = [found.index(piece) for piece in SAID[:2]] + [found.index("Tag 1"), found.index("With care")]
    assert order == sorted(order), "it leads with count and finish"


@pytest.mark.parametrize("suffix", [".pdf", ".html"])
def test_a_docket_tells_no_number_address_or_guessed_price(survey: Survey, tmp_path: Path, suffix: str) -> None:
    read = words_of if suffix == ".pdf" else page_words
    text = read(write_docket(survey, 1, tmp_path / f"d{suffix}"))
    for private in ("1043", "HPF 57 1043", "Ferry Lane", "Quay Street", "the uncle", "20.00", "40.00"):
        assert private not in text, private
    assert "HPF 57 1\N{BULLET}\N{BULLET}\N{BULLET} *" in text
    whole = read(write_docket(survey, 1, tmp_path / f"w{suffix}", full_numbers=True))
    assert "HPF 57 1043 *" in whole and "Ring before 1043 is polished" in whole
    change_batch(survey, 1, likely="30", agreed=True)
    assert "£30.00" in read(write_docket(survey, 1, tmp_path / f"a{suffix}"))


def test_a_docket_is_a4_tagged_and_every_picture_has_words(survey: Survey, tmp_path: Path) -> None:
    """ISO 216 (210 by 297 mm); ISO 14289-1 (PDF/UA-1), 5, 6.2, 7.1 and 7.3."""
    reader = PdfReader(write_docket(survey, 1, tmp_path / "d.pdf"))
    assert [round(float(side) * 25.4 / 72) for side in reader.pages[0].mediabox[2:]] == [210, 297]
    root: Any = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert reader.metadata is not None and reader.metadata.title == "Docket 1: plating, Ferryman"
    assert re.search(r"pdfuaid:part(>|=\")1", root["/Metadata"].get_data().decode())
    pictures = [image for page in reader.pages for image in page.images]
    assert len(pictures) == 2
    assert all(b"Exif" not in image.data for image in pictures)
    letter = PdfReader(write_docket(survey, 1, tmp_path / "l.pdf", "letter"))
    assert [round(float(side)) for side in letter.pages[0].mediabox[2:]] == [612, 792]


def test_an_outside_checker_finds_no_fault_with_a_docket(survey: Survey, tmp_path: Path) -> None:
    """ISO 14289-1 as a machine can check it, by a checker held against the test files of the PDF Association."""
    checker = pytest.importorskip("page", reason="page-validation has no wheel for this Python")
    change_item(survey, 1, tag="\N{BICYCLE}" * 30, finish="x" * 400, note="line\nline")
    change_machine(survey, name="y" * 300)
    report = checker.validate_pdf(write_docket(survey, 1, tmp_path / "d.pdf"), profile="ua1")
    assert [f"{failure.rule_id}: {failure.message}" for failure in report.failures] == []


def test_a_docket_of_forty_items_has_them_all(survey: Survey, tmp_path: Path) -> None:
    many = make_batch(survey, "paint", [add_part(survey, None, label=f"lug {n}").id for n in range(40)])
    text = words_of(write_docket(survey, many.id, tmp_path / "d.pdf"))
    assert all(f"1 × lug {n} " in text for n in range(40))
    assert "40 pieces in 40 items." in text


def test_a_docket_of_what_is_back_tells_what_was_found(survey: Survey, tmp_path: Path) -> None:
    send_batch(survey, 1, day="2026-06-01", anyway="the nuts are all alike")
    receive_item(survey, 2, 38, day="2026-06-18", threads="closed", short_note="two lost")
    text = words_of(write_docket(survey, 1, tmp_path / "d.pdf"))
    for piece in ("38 of 40, 18 June 2026; threads closed up", "2 of 40 short: two lost.", "day 1 June 2026 given by"):
        assert piece in text, piece
    assert "the nuts are all alike" not in text


def test_a_docket_is_not_written_in_any_other_way(survey: Survey, tmp_path: Path) -> None:
    for name, paper in (("d.txt", "a4"), ("d.pdf", "a3")):
        with pytest.raises(BadValue):
            write_docket(survey, 1, tmp_path / name, paper)
    with pytest.raises(NoSuchThing):
        write_docket(survey, 9, tmp_path / "d.pdf")
    assert list(tmp_path.glob("d.*")) == []


def test_the_lines_for_the_report_lead_with_what_is_out(survey: Survey) -> None:
    make_batch(survey, "wind", who="Marl")
    send_batch(survey, 1, day="2026-06-01", anyway="as it is")
    receive_item(survey, 1, 1, day="2026-06-18", damage="a scratch", threads="run", after={"bore": "1.001 in"})
    out, draft, owed = list_outwork_lines(survey, "2026-06-21")
    assert (out.head, out.state) == (
        "Batch 1: Plating, Hollin Brothers", "Out since 1 June 2026, promised 20 June 2026: overdue",
    )  # fmt: skip
    assert out.items == ("1 × Frame HPF571043, tag 1 (1 back)", "40 × Cycle-part fasteners")
    assert out.found[:2] == ("Part 1: Damaged: a scratch.", "Part 1: Bore was 1 in, now 1.001 in: 0.025 mm more.")
    assert out.money == "Guessed £20.00 to £40.00; insured for £250.00."
    assert (draft.head, draft.state, draft.items) == ("Batch 2: Rewinding, Marl", "Being made up", ())
    assert (owed.batch, owed.state) == (None, "To be examined")
    assert owed.found == ("Back from the plater since 18 June 2026, not looked over.",)


# --- the commands


def run(*words: str) -> str:
    result = CliRunner().invoke(main, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_a_batch_goes_out_and_back_by_command(survey: Survey, tmp_path: Path) -> None:
    folder = str(survey.folder)
    add_finding(survey, FRAME, "crack", 3, seen="bare")
    listed = run("batch", folder)
    assert "Batch 1: Plating, Hollin Brothers. Being made up." in listed
    assert "Next for: Crack test (--new examine)" in listed
    told = json.loads(run("batch", folder, "--json"))
    assert told["standing"] == "1 batch being made up."
    assert [one["batch"] for one in told["batches"]] == [1]
    assert told["next"][0] == {**told["next"][0], "trade": "examine", "ready": [], "label": "Crack test"}
    assert (told["next"][0]["later"][0]["in_batch"], told["next"][0]["later"][0]["part"]) == (1, FRAME)
    new = json.loads(run("batch", folder, "--new", "wind", "--who", "Marl", "--high", "80", "--answer",
                         "rotation=clockwise", "--json"))  # fmt: skip
    assert (new["batch"], new["answers"], new["price"]["high"]) == (2, {"rotation": "clockwise"}, "80.00")
    assert "in the bin" in run("batch", folder, "2", "--remove")
    said = run("batch", folder, "1", "--without", "1", "--paid", "12", "--agreed")
    assert "Agreed £20.00 to £40.00; paid £12.00; insured for £250.00." in said
    refilled = json.loads(run("batch", folder, "1", "--part", "1", "--json"))
    assert [item["part"] for item in refilled["items"]] == [2, 1]
    of_nuts = ["--tag", "24", "--before", "stud=1/4 in", "--photo", "1", "--photo", "2", "--keep-off", "none"]
    item = json.loads(run("docket", folder, "1", "--item", "2", *of_nuts, "--plug", "none", "--json"))["items"][0]
    assert (item["tag"], item["before"], item["photos"]) == ("24", {"stud": "1/4 in"}, [1, 2])
    run("docket", folder, "1", "--item", "1", "--say", "crack-test=yes", "--say", "numbers=yes")
    out = json.loads(run("docket", folder, "1", "--out", "--day", "2026-06-01", "--signed", "Wren", "--anyway", "so",
                         "--json"))  # fmt: skip
    assert (out["state"], out["out"], out["overdue"], out["anyway"]) == ("out", "2026-06-01", True, "so")
    run("docket", folder, "1", "--item", "1", "--back", "1", "--day", "2026-06-18")
    back = json.loads(run("docket", folder, "1", "--item", "2", "--back", "39", "--after", "stud=6.4 mm", "--threads",
                          "run", "--short-note", "one lost", "--day", "2026-06-18", "--in", "--json"))  # fmt: skip
    assert (back["state"], back["back"], back["items"][0]["short"]) == ("back", "2026-06-18", 1)
    assert "Stud was 1/4 in, now 6.4 mm: 0.050 mm more." in back["items"][0]["found"]
    written = run("docket", folder, "1", "--to", str(tmp_path / "d.pdf"), "--to", str(tmp_path / "d.html"))
    assert "a number in a photo is not hidden" in written
    assert (tmp_path / "d.pdf").read_bytes().startswith(b"%PDF")


def test_the_trades_are_shown_with_what_they_ask() -> None:
    told = json.loads(run("batch", "nowhere", "--trades", "--json"))
    assert [one["trade"] for one in told["trades"]][:3] == ["examine", "tank", "weld"]
    assert {"ask": "rotation", "label": "Rotation, seen from the drive end", "hint": "clockwise or anticlockwise"} in (
        ask for one in told["trades"] for ask in one["asks"]
    )
    assert "HSE INDG314" in run("batch", "nowhere", "--trades")


@pytest.mark.parametrize(
    "words",
    [
        ["batch", "--who", "Marl"],
        ["batch", "--part", "1"],
        ["batch", "1", "--answer", "pits"],
        ["batch", "1", "--without", "9"],
        ["docket", "1", "--tag", "1"],
        ["docket", "1", "--item", "9", "--tag", "1"],
        ["docket", "1", "--item", "1", "--threads", "run"],
        ["docket", "1", "--item", "1", "--photo", "1", "--photo", "2", "--photo", "1"],
    ],
)
def test_wrong_usage_is_told(survey: Survey, words: list[str]) -> None:
    result = CliRunner().invoke(main, [words[0], str(survey.folder), *words[1:]])
    assert result.exit_code == 2, result.output


def test_what_stays_here_is_refused_by_command(survey: Survey) -> None:
    change_item(survey, 2, hydrogen="")
    result = CliRunner().invoke(main, ["docket", str(survey.folder), "1", "--out", "--anyway", "now"])
    assert result.exit_code == 1
    assert "The batch stays here: hardened? Bake, or do not plate (part 2)." in result.output
