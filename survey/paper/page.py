"""The report as a page: one self-contained file, or the same page served with its pictures elsewhere."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from survey.model import HARDEST_FIRST
from survey.paper.cutting import Pictures, cut_all
from survey.paper.data import ReportData
from survey.paper.docket_data import DocketData
from survey.paper.glyphs import FONTS
from survey.paper.marks import grade_svg, overlay_svg
from survey.paper.place import put
from survey.paper.sheet import Drawing, Sheet
from survey.paper.shown import CropRequest, Picture
from survey.words import DUTY_WORDS

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATES = Path(__file__).parent / "templates"
PAGE_OF_THE_REPORT = "report.html.j2"
PAGE_OF_A_SHEET = "sheet.html.j2"
PAGE_OF_A_DOCKET = "docket.html.j2"
_FACES = (
    ("Source Sans Pro", 400, "normal", "SourceSansPro-Regular.otf"),
    ("Source Sans Pro", 400, "italic", "SourceSansPro-It.otf"),
    ("Source Sans Pro", 600, "normal", "SourceSansPro-Semibold.otf"),
    ("Source Serif Pro", 600, "normal", "SourceSerifPro-Semibold.otf"),
)


def html_page(data: ReportData, picture_url: Callable[[CropRequest], str], css_url: str = "") -> str:
    """The report as a whole HTML document, in the words and order of the PDF.

    Args:
        data: the gathered report.
        picture_url: where a crop is to be had; an empty answer leaves a frame that says the photo cannot be read.
        css_url: where ``page_css()`` is served; empty puts it into the page.
    """
    return render(PAGE_OF_THE_REPORT, data, picture_url, css_url, faces=False)


def page_css() -> str:
    """The style sheet of the page, for screen and print."""
    return (TEMPLATES / "report.css").read_text(encoding="utf-8")


def write_html(data: ReportData, pictures: Pictures, to: Path) -> None:
    """Write the report as one file that asks for nothing outside itself: pictures, letters and style are in it.

    Raises:
        CannotWrite: the place cannot be written.
    """
    put(to, render(PAGE_OF_THE_REPORT, data, inlined(data.pictures, pictures)).encode("utf-8"))


def inlined(every: Iterable[Picture], pictures: Pictures) -> Callable[[CropRequest], str]:
    """Each picture as an address that holds the picture itself; empty where the photo cannot be read."""
    requests = dict.fromkeys(picture.crop for picture in every)
    cut = dict(zip(requests, cut_all(pictures, requests), strict=True))

    def address(request: CropRequest) -> str:
        jpeg = cut[request]
        return "" if jpeg is None else f"data:image/jpeg;base64,{jpeg}"

    return address


def render(
    template: str,
    data: ReportData | Sheet | DocketData,
    picture_url: Callable[[CropRequest], str],
    css_url: str = "",
    *,
    faces: bool = True,
) -> str:
    """One of our papers as a page. Without an address for its style that is in it, with the letters if ``faces``."""
    from markupsafe import Markup

    # What is marked as safe below is drawn by us from numbers and closed words, or is our own style sheet.
    def overlay(picture: Picture) -> Markup:
        return Markup(overlay_svg(picture))

    def drawn(drawing: Drawing) -> Markup:
        return Markup(drawing.svg)

    css = "" if css_url else (_faces() if faces else "") + page_css()
    return (
        _house()
        .get_template(template)
        .render(
            data=data,
            picture_url=picture_url,
            overlay=overlay,
            drawn=drawn,
            marks={outcome: Markup(grade_svg(outcome)) for outcome in HARDEST_FIRST},
            duties=DUTY_WORDS,
            css_url=css_url,
            css=Markup(css),
        )
    )


@cache
def _house() -> Environment:
    import jinja2

    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True
    )


@cache
def _faces() -> str:
    """The letters as data, unmodified."""
    return "".join(_face(*face) for face in _FACES)


def _face(family: str, weight: int, style: str, file: str) -> str:
    letters = base64.b64encode((FONTS / file).read_bytes()).decode("ascii")
    return (
        f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:{style};'
        f'src:url("data:font/otf;base64,{letters}") format("opentype")}}\n'
    )
