"""The report as a page: self-contained, the same words as the PDF, nothing run and nothing fetched."""

from __future__ import annotations

import base64
import html
import io
import itertools
import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_ferryman import HOSTILE, ferryman, gradient_pictures
from PIL import Image
from pypdf import PdfReader

from survey.document.marks import grade_svg, overlay_svg
from survey.document.page import page_css
from survey.document.picture import CropRequest, DrawnMark, Picture
from survey.document.printable import make_breakable
from survey.errors import CannotWrite, NoSuchThing
from survey.model.grading import HARDEST_FIRST
from survey.report.contents_printed import ReportData
from survey.report.files import render_report_page, write_html, write_pdf
from survey.report.gather_printed import gather_report

VOID = {"meta", "link", "br", "img", "circle", "path", "rect", "polygon"}


class Page(HTMLParser):
    """A page's elements, headings, text and links, and whether every element was closed in its turn."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[tuple[int, str]] = []
        self.text: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch("h[1-6]", tag):
            self.headings.append((int(tag[1]), ""))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, text: str) -> None:
        if "style" in self.open:
            return
        self.text.append(text)
        if self.open and re.fullmatch("h[1-6]", self.open[-1]):
            level, said = self.headings[-1]
            self.headings[-1] = level, said + text

    def said(self) -> str:
        return squeezed("".join(self.text))


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.fixture(scope="module")
def data() -> ReportData:
    return gather_report(ferryman())


@pytest.fixture(scope="module")
def text(data: ReportData, tmp_path_factory: pytest.TempPathFactory) -> str:
    to = tmp_path_factory.mktemp("page") / "report.html"
    write_html(data, gradient_pictures(), to)
    return to.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


def test_it_asks_for_nothing_outside_itself(text: str, page: Page) -> None:
    for word in ("http://", "https://", "//cdn", "@import", "url(http", "<link", "<script", "<iframe"):
        assert word not in text
    for _, attributes in page.tags:
        for name in ("src", "href", "srcset", "action", "poster", "xlink:href", "data"):
            address = attributes.get(name)
            assert address is None or address.startswith(("data:image/jpeg;base64,", "#"))
        assert not any(name.startswith("on") for name in attributes)
    for address in re.findall(r"url\((.*?)\)", text[: text.index("</style>")]):
        assert address.startswith('"data:font/otf;base64,')


def test_the_letters_are_the_shipped_ones_unmodified(text: str) -> None:
    for _, content in zip(range(4), re.findall(r"data:font/otf;base64,([^\"]+)", text), strict=True):
        assert base64.b64decode(content)[:4] == b"OTTO"


def test_the_letters_are_those_the_readme_vouches_for() -> None:
    import hashlib

    folder = Path(__file__).parents[2] / "survey" / "document" / "fonts"
    vouched = dict(re.findall(r"^\| (\S+\.[ot]tf) \|.*\| ([0-9a-f]{64}) \|$", (folder / "README.md").read_text(), re.M))
    files = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.glob("*.?tf")}
    assert files == vouched
    assert len(list(folder.glob("LICENSE-*.txt"))) == 3


def test_every_picture_is_a_jpeg_without_metadata_and_has_words(page: Page, data: ReportData) -> None:
    pictures = [attributes for tag, attributes in page.tags if tag == "img"]
    assert [one["alt"] for one in pictures] == [picture.alt for picture in data.pictures]
    for one, picture in zip(pictures, data.pictures, strict=True):
        content = base64.b64decode(str(one["src"]).split(",")[1])
        assert b"SECRET" not in content
        with Image.open(io.BytesIO(content)) as opened:
            assert not opened.getexif()
            assert opened.width == picture.crop.width_px == int(str(one["width"]))


def test_headings_start_at_one_and_go_down_one_step_at_a_time(page: Page) -> None:
    levels = [level for level, _ in page.headings]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_links_lead_somewhere_and_names_are_given_once(page: Page) -> None:
    ids = Counter(attributes["id"] for _, attributes in page.tags if "id" in attributes)
    assert set(ids.values()) == {1}
    targets = {str(attributes["href"])[1:] for tag, attributes in page.tags if tag == "a"}
    assert targets <= set(ids)
    assert len(targets) > 15


def test_the_page_says_its_language_title_and_width(text: str) -> None:
    assert text.startswith('<!doctype html>\n<html lang="en-GB">')
    assert "<title>Condition report: Ferryman from the dairy</title>" in text
    assert 'name="viewport"' in text


def test_markup_in_words_is_shown_as_it_stands(text: str, page: Page) -> None:
    assert squeezed(HOSTILE) in page.said()
    assert html.escape("<script>alert(1)</script>") in text
    assert not any(tag in ("script", "b") for tag, _ in page.tags)


def test_same_headings_and_words_as_the_pdf(page: Page, data: ReportData, tmp_path: Path) -> None:
    write_pdf(data, gradient_pictures(), tmp_path / "r.pdf")
    paper = squeezed("".join(sheet.extract_text() for sheet in PdfReader(tmp_path / "r.pdf").pages))
    for _, heading in page.headings:
        assert squeezed(heading) in paper, heading
    for ours in (
        "A part is graded by its worst finding. A number in a ring on a photo is the finding of that number beside it.",
        "None of them counts as here",
        "On 1 part the owner has set a grade beside the ruling.",
        "5 positions missing, wrong or short; 5 of them stop the build",
        "Nobody has looked it over yet.",
        "2 more photos in the survey, not printed here.",
        "Not in it: Float (missing); Float needle (missing).",
        "Inside it, not seen: Brake shoes, rear.",
        "2 positions were not looked for: what is missing among them is not known yet.",
        "1 photo waits to be tied to a part; 1 is set aside.",
        "Centre stand spring B005 · missing · safety part",
        "inside Carburettor, which is here",
    ):
        assert squeezed(ours) in page.said(), ours
        assert squeezed(ours) in paper, ours


def test_everything_said_of_a_part_is_on_the_page(page: Page, data: ReportData) -> None:
    said = page.said()
    for part in data.parts:
        for bit in (part.label, part.word, part.box, part.note, *(line.note for line in part.findings)):
            assert squeezed(bit) in said
        for ruling in part.rulings:
            for bit in (ruling.because, ruling.remedy, ruling.caution, ruling.source, ruling.rule, ruling.trade):
                assert squeezed(bit) in said
    for gap in data.gaps:
        assert squeezed(gap.label) in said
    for line in (*data.disclaimer, *(caution.text for caution in data.cautions)):
        assert squeezed(line) in said


def test_each_ruling_is_a_row_under_its_parts_name(page: Page, data: ReportData) -> None:
    heads = [attributes for tag, attributes in page.tags if tag == "th" and attributes.get("role") == "columnheader"]
    told = [part for part in data.parts if part.rulings or part.own_grade]
    assert len(heads) == 3 * len(told)
    cells = [1 for tag, attributes in page.tags if tag == "td" and attributes.get("role") == "cell"]
    assert len(cells) == 3 * sum(len(part.rulings) + (part.own_grade is not None) for part in told)
    said = page.said()
    for part in told:
        # Printed, the head of the table stands again on every page that the table goes over to.
        assert squeezed(f"{part.label}, no. {part.id} Ruling on no. {part.id} Why, and what to do") in said


def test_a_pair_of_pictures_is_told_from_a_column(text: str, data: ReportData) -> None:
    for part in data.parts:
        classes = re.search(rf'<article class="([^"]*)" id="part-{part.id}">', text)
        assert classes is not None
        assert ("pair" in classes[1].split()) == (len(part.pictures) == 2)
        assert ("shown" in classes[1].split()) == bool(part.pictures)


@given(st.text(max_size=200))
def test_places_to_break_a_line_change_no_word(words: str) -> None:
    broken = make_breakable(words)
    assert broken.replace("\u200b", "") == words.replace("\u200b", "")
    assert all(len(run) <= 24 for run in re.split(r"[\s\u200b]+", broken))


def test_words_of_usual_length_are_not_broken() -> None:
    assert make_breakable("Betriebserlaubnis HPF-57-1043* 2.75-19") == "Betriebserlaubnis HPF-57-1043* 2.75-19"


def test_served_with_its_pictures_and_style_elsewhere(data: ReportData) -> None:
    text = render_report_page(data, lambda crop: f"/crop/{crop.photo}?w={crop.width_px}&x=<>", "/static/report.css")
    found = Page(text)
    assert "<style" not in text
    assert 'style="' not in text
    addresses = [attributes["src"] for tag, attributes in found.tags if tag == "img"]
    assert addresses == [f"/crop/{p.crop.photo}?w={p.crop.width_px}&x=<>" for p in data.pictures]
    assert ("link", {"rel": "stylesheet", "href": "/static/report.css"}) in found.tags


def test_served_with_its_style_inside(data: ReportData) -> None:
    text = render_report_page(data, lambda crop: "/c")
    assert page_css() in text
    assert "@media print" in page_css()
    assert "@page" in page_css()


def test_a_photo_that_cannot_be_read_leaves_a_frame_that_says_so(data: ReportData, tmp_path: Path) -> None:
    def none(request: CropRequest) -> bytes:
        raise NoSuchThing("Gone.")

    write_html(data, none, tmp_path / "r.html")
    text = (tmp_path / "r.html").read_text()
    assert text.count("This photo cannot be read") == len(data.pictures)
    assert "<img" not in text


def test_a_folder_that_is_not_there_is_refused(data: ReportData, tmp_path: Path) -> None:
    with pytest.raises(CannotWrite):
        write_html(data, gradient_pictures(), tmp_path / "none" / "r.html")


# --- marks


def without_colour(svg: str) -> str:
    return re.sub(r"#[0-9a-f]{3,6}", "#", svg)


def test_grades_are_told_apart_without_colour() -> None:
    drawn = {outcome: without_colour(grade_svg(outcome)) for outcome in HARDEST_FIRST}
    assert len({drawn["reuse"], drawn["repair"], drawn["replace"], drawn["not-looked-at"]}) == 4
    assert drawn["not-looked-at"] == drawn["examine-first"] == drawn["take-a-reading"]


def picture(*marks: DrawnMark, aspect: float = 0.75) -> Picture:
    return Picture(CropRequest(1, (0, 0, 1, 1), 700), marks, aspect, "alt", "caption")


def test_each_shape_is_drawn_in_black_within_white() -> None:
    pin = DrawnMark("pin", ((0.5, 0.5),), 1)
    box = DrawnMark("box", ((0.6, 0.7), (0.2, 0.1)), 2)
    outline = DrawnMark("outline", ((0.1, 0.1), (0.9, 0.1), (0.5, 0.9)), None)
    svg = overlay_svg(picture(pin, box, outline))
    assert '<rect x="200" y="75" width="400" height="450"' in svg
    assert '<polygon points="100,75 900,75 500,675"' in svg
    assert svg.count('stroke="#fff"') >= 3
    assert re.findall(r">(\d+)</text>", svg) == ["1", "2"]
    assert overlay_svg(picture()) == ""


def test_numbers_keep_clear_of_each_other_and_of_the_edge() -> None:
    marks = [DrawnMark("pin", ((0.997, 0.003),), number) for number in range(1, 6)]
    svg = overlay_svg(picture(*marks))
    badges = [(int(x), int(y)) for x, y in re.findall(r'<circle cx="(\d+)" cy="(\d+)" r="36"', svg)]
    assert len(badges) == 5
    assert all(36 <= x <= 964 and 36 <= y <= 714 for x, y in badges)
    pairs = [(a, b) for n, a in enumerate(badges) for b in badges[n + 1 :]]
    assert all((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 >= 70**2 for a, b in pairs)
