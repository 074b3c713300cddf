"""The PDF, read back by a second program (pypdf): pages, tags, words, order, nothing that should not leave."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from paper_ferryman import (
    BAR,
    BEND_RULE,
    CRACK_RULE,
    GUARD,
    HOSTILE,
    SCHEDULE,
    component,
    everywhere,
    ferryman,
    finding,
    graded,
    gradient_pictures,
    parts,
    photo,
)
from pypdf import PdfReader
from side_by_side import made_once

from survey.document.crops import STRIP
from survey.document.picture import CropRequest
from survey.document.printable import covered, make_printable
from survey.document.sheet import Drawing
from survey.errors import BadValue, CannotPrint, CannotWrite, NoSuchThing, ToolMissing
from survey.model.machine import Machine
from survey.model.parts import Part
from survey.model.photos import Mark
from survey.model.schedule import Gap
from survey.report.contents_printed import ReportData
from survey.report.files import write_html, write_pdf
from survey.report.gather_printed import gather_report

MM = 72 / 25.4


def long_source() -> Any:
    """Enough parts, with words of every length, that headings fall everywhere on a page."""
    many = [
        graded(
            Part(n, "B030", f"bar {n}", note="word " * (n * 7 % 90), photos=(1,) if n % 3 else ()), BAR, (CRACK_RULE,),
            findings=tuple(finding(10 * n + k, n, "crack", 3, note="note " * (n % 23)) for k in range(n % 4)),
        )
        for n in range(100, 160)
    ]  # fmt: skip
    assemblies = [component(f"B5{n:02}", f"Place {n}", f"Assembly {n}", "safety", "lug") for n in range(40)]
    gaps = tuple(Gap(one, "missing", 0, "note " * (n % 17)) for n, one in enumerate(assemblies))
    return ferryman(graded=(*parts(), *many), schedule=(*SCHEDULE, *assemblies), gaps=gaps)


@pytest.fixture(scope="module")
def data() -> ReportData:
    return gather_report(ferryman())


@pytest.fixture(scope="module")
def made(data: ReportData, tmp_path_factory: pytest.TempPathFactory) -> Path:
    def make(room: Path) -> None:
        write_pdf(data, gradient_pictures(), room / "report.pdf")

    return made_once(tmp_path_factory, "report", make) / "report.pdf"


@pytest.fixture(scope="module")
def reader(made: Path) -> PdfReader:
    return PdfReader(made)


@pytest.fixture(scope="module")
def long_ones(tmp_path_factory: pytest.TempPathFactory) -> dict[str, PdfReader]:
    def make(room: Path) -> None:
        told = gather_report(long_source())
        for paper in ("a4", "letter"):
            write_pdf(told, gradient_pictures(), room / f"{paper}.pdf", paper)

    folder = made_once(tmp_path_factory, "long reports", make)
    return {paper: PdfReader(folder / f"{paper}.pdf") for paper in ("a4", "letter")}


def words(reader: PdfReader) -> str:
    return squeezed(" ".join(texts(reader)))


def squeezed(text: str) -> str:
    """Without spaces: where a line is broken is the typesetter's business."""
    return re.sub(r"[\s\u00ad]+", "", text)


def tree(reader: PdfReader) -> Iterator[tuple[str, Any]]:
    """Every structure element, depth first: its type and itself."""

    def walk(node: Any) -> Iterator[tuple[str, Any]]:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for one in node:
                yield from walk(one)
        elif isinstance(node, dict):
            if "/S" in node and node.get("/Type") != "/MCR":
                yield str(node["/S"])[1:], node
            if "/K" in node:
                yield from walk(node["/K"])

    yield from walk(reader.trailer["/Root"]["/StructTreeRoot"])


# --- the page


@pytest.mark.parametrize(("paper", "width_mm", "height_mm"), [("a4", 210, 297), ("letter", 215.9, 279.4)])
def test_paper_sizes(long_ones: dict[str, PdfReader], paper: str, width_mm: float, height_mm: float) -> None:
    """ISO 216 for A4; ANSI/ASME Y14.1 for Letter, 8.5 x 11 in."""
    for page in long_ones[paper].pages:
        assert float(page.mediabox.width) == pytest.approx(width_mm * MM, abs=0.5)
        assert float(page.mediabox.height) == pytest.approx(height_mm * MM, abs=0.5)


def test_every_page_says_which_of_how_many_and_of_what(long_ones: dict[str, PdfReader]) -> None:
    for reader in long_ones.values():
        total = len(reader.pages)
        assert total > 15
        for number, said in enumerate(texts(reader), 1):
            text = squeezed(said)
            assert f"Page{number}of{total}" in text
            assert squeezed("Ferryman from the dairy, condition report of 2026-11-25 08:30") in text


Piece = tuple[float, float, str, str]


def texts(reader: PdfReader) -> tuple[str, ...]:
    """What each page says."""
    return tuple(text for text, _ in read(reader))


def sheets(reader: PdfReader) -> tuple[list[Piece], ...]:
    """What stands on each page: height above its foot, size, font, text."""
    return tuple(pieces for _, pieces in read(reader))


@cache
def read(reader: PdfReader) -> tuple[tuple[str, list[Piece]], ...]:
    """Each page's text and pieces, both from one reading: a page takes a tenth of a second."""
    return tuple(read_page(page) for page in reader.pages)


def read_page(page: Any) -> tuple[str, list[Piece]]:
    found: list[Piece] = []

    def note(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if text.strip() and font:
            found.append((tm[5] * cm[3] + cm[5], size, str(font["/BaseFont"]), text.strip()))

    return page.extract_text(visitor_text=note), found


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_heading_is_left_alone_at_the_foot_of_a_page(long_ones: dict[str, PdfReader], paper: str) -> None:
    headings = 0
    for sheet in sheets(long_ones[paper])[1:]:
        body = [piece for piece in sheet if piece[0] > 16 * MM]
        headings += sum("Serif" in piece[2] for piece in body)
        lowest = min(piece[0] for piece in body)
        at_foot = [piece for piece in body if piece[0] < lowest + 2]
        assert not any("Serif" in piece[2] for piece in at_foot), at_foot
    assert headings > 60, "the check must have seen headings"


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_printed_below_the_foot_or_off_the_paper(long_ones: dict[str, PdfReader], paper: str) -> None:
    high = float(long_ones[paper].pages[0].mediabox.height)
    for sheet in sheets(long_ones[paper]):
        assert all(5 * MM < piece[0] < high - 10 * MM for piece in sheet)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_pages_of_parts_are_filled(long_ones: dict[str, PdfReader], paper: str) -> None:
    """A page ends early only where the next part's heading, picture and facts would not fit together any more."""
    reader = long_ones[paper]
    last = next(n for n, text in enumerate(texts(reader)) if "What is missing, here but wrong" in text)
    begun = next(n for n, text in enumerate(texts(reader)) if "Ruling on no." in text)
    feet = [min(piece[0] for piece in sheet if piece[0] > 19 * MM) for sheet in sheets(reader)[begun + 1 : last - 1]]
    assert len(feet) > 8
    high = float(reader.pages[0].mediabox.height) - 38 * MM
    empty = [(foot - 19 * MM) / high for foot in feet]
    assert max(empty) < 0.42, empty
    assert sum(empty) / len(empty) < 0.15, empty


def test_parts_with_a_pair_of_pictures_stand_two_to_a_page(tmp_path: Path) -> None:
    pairs = tuple(
        graded(
            Part(n, "B140", f"guard {n}", photos=(1, 2)), GUARD, (CRACK_RULE, BEND_RULE),
            findings=(finding(2 * n, n, "crack", 3, photos=(1,)), finding(2 * n + 1, n, "bend", 2, photos=(2,))),
            marks=tuple(Mark(2 * n + k, 1 + k, n, 2 * n + k, "pin", ((0.4, 0.4),)) for k in (0, 1)),
        )
        for n in range(100, 130)
    )  # fmt: skip
    sizes = {}
    for count in (0, 30):
        write_pdf(gather_report(ferryman(graded=pairs[:count])), gradient_pictures(), tmp_path / "r.pdf")
        sizes[count] = len(PdfReader(tmp_path / "r.pdf").pages)
    assert sizes[30] - sizes[0] <= 16


def long_part(rulings: int = 12) -> Any:
    """A part whose rulings do not fit on one page, each with an end that can be told from every other."""
    fired = tuple(
        replace(CRACK_RULE, rule=f"rule-{n:02}", because=f"begin{n:02} " + "reason " * 60 + f"end{n:02}")
        for n in range(rulings)
    )
    return ferryman(graded=(graded(Part(77, "B030", "The long one"), BAR, fired),))


def test_a_part_that_goes_over_the_page_says_whose_the_rest_is_and_its_rulings_stay_whole(tmp_path: Path) -> None:
    write_pdf(gather_report(long_part()), gradient_pictures(), tmp_path / "r.pdf")
    said = texts(PdfReader(tmp_path / "r.pdf"))
    for n in range(12):
        (page,) = (text for text in said if f"begin{n:02}" in text)
        assert f"end{n:02}" in page
    holding = [text for text in said if "Ruling on no. 77" in text]
    assert len(holding) >= 3
    assert "no. 77, continued" not in holding[0]
    assert all("Handlebar (The long one) · no. 77, continued" in text for text in holding[1:])
    assert sum("continued" in text for text in said) == len(holding) - 1


def test_facts_of_any_length_go_over_the_page_under_their_parts_name(tmp_path: Path) -> None:
    long = graded(Part(77, "B030", "", note="word " * 4000, photos=(1, 2)), BAR, (CRACK_RULE,))
    write_pdf(gather_report(ferryman(graded=(long,))), gradient_pictures(), tmp_path / "r.pdf")
    reader = PdfReader(tmp_path / "r.pdf")
    assert sum(page.extract_text().count("word") for page in reader.pages) >= 4000
    assert sum("no. 77, continued" in page.extract_text() for page in reader.pages) >= 2


def test_type_is_large_enough_for_a_bench(long_ones: dict[str, PdfReader]) -> None:
    sizes = [round(size, 1) for sheet in sheets(long_ones["a4"]) for _, size, _, text in sheet for _ in text]
    assert 9.5 <= max(set(sizes), key=sizes.count) <= 10.5
    assert min(sizes) >= 8


# --- tagged, after ISO 14289-1 (PDF/UA-1)


def test_it_is_tagged_and_says_so(reader: PdfReader) -> None:
    """ISO 14289-1: 6.2 marked, 7.1 title shown and language of the document, 5 the identifier in the metadata."""
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Condition report: Ferryman from the dairy"
    xmp = root["/Metadata"].get_data().decode()
    assert re.search(r"pdfuaid:part(>|=\")1", xmp)


@pytest.mark.parametrize("text", ["Ferryman", "", "x" * 400, "שלום مرحبا 自転車 🛠️"])
def test_an_outside_checker_finds_no_fault_with_its_tags(text: str, made: Path, tmp_path: Path) -> None:
    """ISO 14289-1 as a machine can check it, by a checker held against the test files of the PDF Association."""
    checker = pytest.importorskip("page", reason="page-validation has no wheel for this Python")
    write_pdf(gather_report(everywhere(text)), gradient_pictures(), tmp_path / "r.pdf")
    for one in (made, tmp_path / "r.pdf"):
        report = checker.validate_pdf(one, profile="ua1")
        assert report.rules.total > 100
        assert [f"{failure.rule_id}: {failure.message}" for failure in report.failures] == []


def test_every_picture_has_words(reader: PdfReader, data: ReportData) -> None:
    """ISO 14289-1, 7.3."""
    figures = [node for kind, node in tree(reader) if kind == "Figure"]
    drawings = [block for part in data.plan for block in part.blocks if isinstance(block, Drawing)]
    shown = [make_printable(one.alt) for one in (*data.pictures, *drawings)]
    assert len(drawings) == 1
    assert [str(node["/Alt"]) for node in figures] == shown


def test_headings_go_down_one_step_at_a_time(reader: PdfReader) -> None:
    """ISO 14289-1, 7.4.2."""
    levels = [int(kind[1:]) for kind, _ in tree(reader) if re.fullmatch(r"H[1-6]", kind)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert len(levels) > 25


def test_tables_have_header_cells(reader: PdfReader) -> None:
    """ISO 14289-1, 7.5."""
    assert any(kind == "TH" for kind, _ in tree(reader))


def test_only_the_shipped_letters_are_used(reader: PdfReader) -> None:
    fonts = {
        str(font.get_object()["/BaseFont"]) for page in reader.pages for font in page["/Resources"]["/Font"].values()
    }
    assert fonts
    assert all(re.search("SourceSansPro|SourceSerifPro|DejaVuSans", name) for name in fonts), fonts


# --- what it says


def test_every_part_finding_reason_remedy_caution_and_source_is_printed(reader: PdfReader, data: ReportData) -> None:
    text = words(reader)
    for part in data.parts:
        said = [part.label, part.word, part.box, part.note, *(line.note for line in part.findings)]
        said += [
            bit
            for line in part.findings
            for bit in (line.label, line.step_name.lower(), line.looks_like, line.how_seen)
        ]
        for ruling in part.rulings:
            said += [
                ruling.because,
                ruling.remedy,
                ruling.caution,
                ruling.source,
                ruling.rule,
                ruling.sure,
                ruling.trade,
            ]
            said += [ruling.argument] if ruling.disputed else []
        said += [reading.written for reading in part.readings]
        said += [part.own_grade.reason] if part.own_grade else []
        for bit in said:
            # What is written from right to left comes back in another order: it is looked for letter by letter.
            for piece in re.split(r"[\u0590-\u06ff]", make_printable(bit)):
                assert squeezed(piece) in text, bit


def test_gaps_and_all_that_was_not_looked_at_are_printed(reader: PdfReader, data: ReportData) -> None:
    text = words(reader)
    for gap in data.gaps:
        assert squeezed(gap.label) in text
    unlooked = text[text.rindex(squeezed("What was not looked at")) :]
    for label in (
        "Tank badge, left",
        "Headlamp shell",
        "Brake shoes, rear",
        "Sidecar lug",
        "Centre stand",
        "Crankshaft",
    ):
        assert squeezed(label) in unlooked
    assert squeezed("1 photo waits to be tied to a part; 1 is set aside") in unlooked


def test_a_long_list_of_what_was_not_looked_at_is_printed_whole(tmp_path: Path) -> None:
    places = tuple(component(f"Z{n:03}", f"Zed{n:03}", f"Group {n % 5}", "safety", "lug") for n in range(150))
    source = ferryman(schedule=places, graded=(), gaps=tuple(Gap(one, "not-looked", 0) for one in places))
    write_pdf(gather_report(source), gradient_pictures(), tmp_path / "r.pdf")
    text = words(PdfReader(tmp_path / "r.pdf"))
    assert all(f"Zed{n:03}" in text for n in range(150))
    assert "Notlookedfor:150" in text


def test_the_record_says_what_it_is_not_on_its_first_and_last_page(reader: PdfReader) -> None:
    for page in (reader.pages[0], reader.pages[-1]):
        assert squeezed("It is not an engineer's inspection") in squeezed(page.extract_text())
    second = squeezed(reader.pages[1].extract_text())
    for said in ("HP 147* 00831", "F57 1_4", "A. Owner, B. Friend", "2026-03-07 to 2026-03-14", "1 of 2026-11"):
        assert squeezed(said) in second


def test_the_bench_copy_leads_with_what_stops_its_owner(reader: PdfReader, data: ReportData) -> None:
    """Common practice, no source: the one at the bench looks first for what stops him today."""
    front = squeezed(reader.pages[0].extract_text())
    assert front.index(squeezed("What stops me today")) < front.index(squeezed("Safety parts not yet examined"))
    assert data.next and len(data.summary.owed) > 1
    for words_of_it in [line.text for line in data.next] + [item.label for item in data.summary.owed[:6]]:
        assert squeezed(words_of_it) in front


def test_cautions_are_printed(reader: PdfReader, data: ReportData) -> None:
    text = words(reader)
    assert all(squeezed(caution.text) in text for caution in data.cautions)


def test_the_numbers_on_the_summary_page(reader: PdfReader, data: ReportData) -> None:
    text = squeezed(reader.pages[2].extract_text())
    for count in data.summary.counts:
        assert squeezed(f"{count.word}{count.parts}{count.safety}") in text
    assert squeezed("Of 17 positions of a complete machine 9 are filled: 3 missing, 1 wrong, 1 short, 1 inside") in text
    for head in ("What have I got", "What is worst", "What must I find"):
        assert squeezed(head) in text


def test_an_empty_survey_has_a_report(tmp_path: Path) -> None:
    source = ferryman(machine=Machine("A heap", "lightweight"), schedule=(), graded=(), gaps=(), photos={})
    write_pdf(gather_report(source), gradient_pictures(), tmp_path / "r.pdf")
    text = words(PdfReader(tmp_path / "r.pdf"))
    assert squeezed("No part has been recorded yet") in text
    assert squeezed("nobody has looked yet") in text


# --- hostile words


def test_markup_in_words_is_printed_as_it_stands(reader: PdfReader) -> None:
    assert squeezed(HOSTILE) in words(reader)


def test_letters_the_fonts_have_not_are_squares_and_the_report_says_so(reader: PdfReader) -> None:
    text = words(reader)
    assert "ŁЖΩ" in text
    assert "Thesign□standsforaletter" in text


def test_every_letter_said_to_be_printable_is(tmp_path: Path) -> None:
    """The reading of the fonts' tables against the typesetter's own, which refuses a letter without a shape."""
    letters = [chr(code) for code in sorted(covered())]
    assert len(letters) > 5000
    note = " ".join("".join(letters[at : at + 40]) for at in range(0, len(letters), 40))
    source = ferryman(machine=Machine(note[:3000], "lightweight", note=note), graded=(), gaps=(), photos={})
    write_pdf(gather_report(source), gradient_pictures(), tmp_path / "r.pdf")
    assert len(PdfReader(tmp_path / "r.pdf").pages) > 3


def test_any_letter_of_any_script_can_be_written_down(tmp_path: Path) -> None:
    note = "".join(chr(code) for code in range(1, 0x2FA20, 11) if not 0xD800 <= code <= 0xDFFF)
    write_pdf(
        gather_report(ferryman(machine=Machine("M", "lightweight", note=note))), gradient_pictures(), tmp_path / "r.pdf"
    )
    assert len(PdfReader(tmp_path / "r.pdf").pages) >= 10


MARKUP = "#panic() * _ $ @ref [ ] \\ // /* `x` ```y``` = h\n- l\n+ e\n/ t: d <lab> ~ -- #let x = 1 #{ \\u{41}"


@pytest.mark.parametrize(
    "text",
    [MARKUP, "x" * 4000, "word " * 800, "שלום עולם مرحبا بالعالم", "自転車の部品 🛠️ हिन्दी", "", " ", "\u200f"],
    ids=["markup", "one long word", "long", "right to left", "letters not had", "empty", "blank", "invisible"],
)
def test_any_words_in_any_place_are_printed_and_stay_on_the_paper(text: str, tmp_path: Path) -> None:
    data = gather_report(everywhere(text))
    write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    reader = PdfReader(tmp_path / "r.pdf")
    for page in reader.pages:
        right = float(page.mediabox.width) - 12 * MM
        for run, left in runs_of(page):
            assert left < right, run
    if text is MARKUP:
        assert words(reader).count(squeezed(text)) >= 15
    write_html(data, gradient_pictures(), tmp_path / "r.html")


def runs_of(page: Any) -> list[tuple[str, float]]:
    """Every run of letters on the page and where it begins, from the left edge."""
    found: list[tuple[str, float]] = []

    def note(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if text.strip() and font:
            found.append((text, tm[4] * cm[0] + cm[4]))

    page.extract_text(visitor_text=note)
    return found


def test_pictures_of_any_shape_are_printed(tmp_path: Path) -> None:
    """A strip one pixel high has no shape that can be set; a mark on it is still to be found."""
    strips = {1: photo(1, 60000, 1), 2: photo(2, 1, 60000), 3: photo(3, 1, 1), 4: photo(4, 9000, 600)}
    marks = tuple(Mark(n, n, 1, n, "pin", ((0.5, 0.5),)) for n in (1, 2))
    found = tuple(finding(n, 1, "crack", 3, photos=(n,)) for n in (1, 2))
    part = graded(Part(1, "B030", "", photos=(1, 2, 3, 4)), BAR, (CRACK_RULE,), findings=found, marks=marks)
    data = gather_report(ferryman(graded=(part,), photos=strips))
    write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    assert "not in its true shape" in " ".join(page.extract_text() for page in PdfReader(tmp_path / "r.pdf").pages)
    assert all(1 / STRIP <= picture.aspect <= STRIP / 2 for picture in data.pictures)


def test_what_the_typesetter_will_not_set_is_refused_with_a_way_round(
    data: ReportData, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = tmp_path / "report.typ"
    broken.write_text("#(1 / 0)")
    (tmp_path / "pieces.typ").write_text("")
    monkeypatch.setattr("survey.document.pdf.TEMPLATES", tmp_path)
    with pytest.raises(CannotPrint, match="divide by zero") as refused:
        write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    assert ".html" in refused.value.next_step
    assert not (tmp_path / "r.pdf").exists()


# --- what may not leave, and what may go wrong


def test_no_metadata_of_a_photo_is_in_the_file(made: Path) -> None:
    content = made.read_bytes()
    for secret in (b"SECRET-CAMERA", b"SECRET-COMMENT", b"Exif\x00\x00", b"Invented Phone Co", b"IMG_0001"):
        assert secret not in content
    assert content.count(b"/DCTDecode") >= 10, "the pictures are in the file as they were cut"


def test_a_photo_that_cannot_be_read_leaves_a_frame_that_says_so(data: ReportData, tmp_path: Path) -> None:
    good = gradient_pictures()

    def cut(request: CropRequest) -> bytes:
        if request.photo == 5:
            raise NoSuchThing("The photo is gone.")
        return b"no jpeg" if request.photo == 7 else good(request)

    write_pdf(data, cut, tmp_path / "r.pdf")
    assert words(PdfReader(tmp_path / "r.pdf")).count("Thisphotocannotberead") == 2


def test_the_file_is_put_there_whole_or_not_at_all(data: ReportData, tmp_path: Path) -> None:
    with pytest.raises(CannotWrite):
        write_pdf(data, gradient_pictures(), tmp_path / "no" / "such" / "r.pdf")
    old = tmp_path / "r.pdf"
    old.write_bytes(b"old")
    write_pdf(data, gradient_pictures(), old)
    assert old.read_bytes().startswith(b"%PDF-1.7")
    assert [one.name for one in tmp_path.iterdir()] == ["r.pdf"]


def test_no_such_paper(data: ReportData, tmp_path: Path) -> None:
    with pytest.raises(BadValue, match="foolscap"):
        write_pdf(data, gradient_pictures(), tmp_path / "r.pdf", "foolscap")


def test_without_the_typesetter_it_says_what_is_missing(
    data: ReportData, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(__import__("sys").modules, "typst", None)
    with pytest.raises(ToolMissing, match="typesetter"):
        write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    assert list(tmp_path.iterdir()) == []
