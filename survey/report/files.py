"""The report as files: a tagged PDF, a page in one file, JSON."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from survey.document.cut import Pictures
from survey.document.files import write_whole
from survey.document.json_file import make_json
from survey.document.page import inline_pictures, render_page
from survey.document.pdf import (
    lay_out_drawings,
    lay_out_pictures,
    list_picture_data,
    printable_texts,
    set_pdf,
    set_picture_files,
)
from survey.document.picture import CropRequest
from survey.document.printable import SQUARE, shorten
from survey.errors import BadValue
from survey.model.paper import PAPERS
from survey.report.contents_printed import ReportData
from survey.report.heights_printed import place_entry
from survey.words import DUTY_WORDS

PAGE_OF_THE_REPORT = "report.html.j2"


def write_pdf(data: ReportData, pictures: Pictures, to: Path, paper: str = "a4") -> None:
    """Write the report as PDF, tagged after PDF/UA-1.

    Args:
        data: the gathered report.
        pictures: gives the JPEG of each crop; a photo that cannot be read leaves a frame that says so.
        to: the file; put there whole or not at all.
        paper: ``a4`` or ``letter``.

    Raises:
        BadValue: no such paper.
        CannotPrint: the typesetter gave up.
        CannotWrite: the place cannot be written.
        ToolMissing: the typesetter is not installed.
    """
    if paper not in PAPERS:
        raise BadValue(f"{paper!r} is no paper.", "Say one of: " + ", ".join(PAPERS) + ".")
    with tempfile.TemporaryDirectory(prefix="teachest-") as name:
        folder = Path(name)
        template_data = _make_template_data(data, lay_out_pictures(data.pictures, pictures, folder), folder)
        (folder / "data.json").write_text(json.dumps(template_data), encoding="utf-8")
        content = set_pdf(folder, "report.typ", paper)
    write_whole(to, content)


def _make_template_data(data: ReportData, files: list[str | None], folder: Path) -> dict[str, Any]:
    template_data: dict[str, Any] = {"title": data.title, **asdict(data), "duties": dict(DUTY_WORDS)}
    lay_out_drawings(template_data["plan"], folder)
    template_data["nothing"] = data.not_looked.nothing
    template_data["order_stands"] = data.order.standing
    template_data["order"]["ready"] = [asdict(line) for line in data.order.ready]
    template_data["several"] = data.record.several
    template_data["foot"] = f"{shorten(data.identity.name, 60)}, condition report of {data.record.made_at}"
    template_data["lead"] = shorten(data.lead, 150)
    template_data["heading"] = shorten(data.identity.name)
    for assembly in template_data["assemblies"]:
        assembly["heading"] = shorten(assembly["name"], 48)
    entries = [part for assembly in template_data["assemblies"] for part in assembly["parts"]]
    pictures = [picture for entry in entries for picture in entry["pictures"]]
    set_picture_files([*pictures, *list_picture_data(template_data["plan"])], files)
    for entry, part in zip(entries, data.parts, strict=True):
        entry.update(asdict(place_entry(part)))
    clean: dict[str, Any] = printable_texts(template_data)
    clean["squares"] = SQUARE in json.dumps(clean, ensure_ascii=False)
    return clean


def write_json(data: ReportData, to: Path) -> None:
    """Write every field of the report under its own name (see ``survey.report.contents_printed``), UTF-8.

    Raises:
        CannotWrite: the place cannot be written.
    """
    write_whole(to, make_json({"report": data.title, **asdict(data)}))


def render_report_page(data: ReportData, picture_url: Callable[[CropRequest], str], css_url: str = "") -> str:
    """The report as a whole HTML document, in the words and order of the PDF.

    Args:
        data: the gathered report.
        picture_url: where a crop is to be had; an empty answer leaves a frame that says the photo cannot be read.
        css_url: where ``page_css()`` is served; empty puts it into the page.
    """
    return render_page(PAGE_OF_THE_REPORT, data, picture_url, css_url, faces=False)


def write_html(data: ReportData, pictures: Pictures, to: Path) -> None:
    """Write the report as one file that asks for nothing outside itself: pictures, letters and style are in it.

    Raises:
        CannotWrite: the place cannot be written.
    """
    write_whole(to, render_page(PAGE_OF_THE_REPORT, data, inline_pictures(data.pictures, pictures)).encode("utf-8"))
