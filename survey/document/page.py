"""A paper as a page: one self-contained file, or the same page served with its pictures elsewhere."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from survey.document.cut import Pictures, cut_crops
from survey.document.marks import grade_svg, overlay_svg
from survey.document.picture import CropRequest, Picture
from survey.document.printable import FONTS
from survey.document.sheet import Drawing
from survey.model.grading import HARDEST_FIRST
from survey.words import DUTY_WORDS

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATES = Path(__file__).parent / "templates"
PAGE_OF_A_SHEET = "sheet.html.j2"
PAGE_OF_A_DOCKET = "docket.html.j2"

_FONTS = (
    ("Source Sans Pro", 400, "normal", "SourceSansPro-Regular.otf"),
    ("Source Sans Pro", 400, "italic", "SourceSansPro-It.otf"),
    ("Source Sans Pro", 600, "normal", "SourceSansPro-Semibold.otf"),
    ("Source Serif Pro", 600, "normal", "SourceSerifPro-Semibold.otf"),
)


def page_css() -> str:
    """The style sheet of the page, for screen and print."""
    return (TEMPLATES / "report.css").read_text(encoding="utf-8")


def inline_pictures(every: Iterable[Picture], pictures: Pictures) -> Callable[[CropRequest], str]:
    """Each picture as an address that holds the picture itself; empty where the photo cannot be read."""
    requests = dict.fromkeys(picture.crop for picture in every)
    cut = dict(zip(requests, cut_crops(pictures, requests), strict=True))

    def address(request: CropRequest) -> str:
        jpeg = cut[request]
        return "" if jpeg is None else f"data:image/jpeg;base64,{jpeg}"

    return address


def render_page(
    template: str,
    data: object,
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

    css = "" if css_url else (_make_font_faces() if faces else "") + page_css()
    return (
        _get_environment()
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
def _get_environment() -> Environment:
    import jinja2

    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(TEMPLATES), autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True
    )


@cache
def _make_font_faces() -> str:
    """The letters as data, unmodified."""
    return "".join(_make_font_face(*face) for face in _FONTS)


def _make_font_face(family: str, weight: int, style: str, file: str) -> str:
    letters = base64.b64encode((FONTS / file).read_bytes()).decode("ascii")
    return (
        f'@font-face{{font-family:"{family}";font-weight:{weight};font-style:{style};'
        f'src:url("data:font/otf;base64,{letters}") format("opentype")}}\n'
    )
