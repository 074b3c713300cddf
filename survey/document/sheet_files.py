"""A sheet written as PDF, as a page, as CSV or as JSON."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from survey.document.csv_text import csv_text
from survey.document.cut import Pictures
from survey.document.files import write_whole
from survey.document.json_file import make_json
from survey.document.page import PAGE_OF_A_SHEET, inline_pictures, render_page
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
from survey.document.sheet import Sheet
from survey.document.sheet_rows import COLUMNS, section_rows


def write_sheet(sheet: Sheet, pictures: Pictures, to: Path, paper: str = "a4") -> None:
    """Write the sheet; the suffix says how: .pdf (tagged after PDF/UA-1), .html (one file), .csv or .json.

    Raises:
        CannotPrint: the typesetter gave up.
        CannotWrite: the place cannot be written.
        ToolMissing: the typesetter is not installed.
    """
    match to.suffix.lower():
        case ".pdf":
            content = _make_pdf(sheet, pictures, paper)
        case ".html":
            content = render_page(PAGE_OF_A_SHEET, sheet, inline_pictures(sheet.pictures, pictures), "").encode("utf-8")
        case ".csv":
            content = _make_csv(sheet).encode("utf-8")
        case _:
            content = make_json(asdict(sheet))
    write_whole(to, content)


def render_sheet_page(sheet: Sheet, picture_url: Callable[[CropRequest], str], css_url: str) -> str:
    """The sheet as a page whose pictures and style are served."""
    return render_page(PAGE_OF_A_SHEET, sheet, picture_url, css_url)


def _make_pdf(sheet: Sheet, pictures: Pictures, paper: str) -> bytes:
    with tempfile.TemporaryDirectory(prefix="teachest-") as name:
        folder = Path(name)
        template_data: dict[str, Any] = asdict(sheet)
        set_picture_files(
            list_picture_data(template_data["sections"]), lay_out_pictures(sheet.pictures, pictures, folder)
        )
        lay_out_drawings(template_data["sections"], folder)
        template_data["heading"] = shorten(sheet.title)
        template_data["foot"] = f"{shorten(sheet.title, 60)}, {sheet.made_on}"
        clean = printable_texts(template_data)
        clean["squares"] = SQUARE in json.dumps(clean, ensure_ascii=False)
        (folder / "data.json").write_text(json.dumps(clean), encoding="utf-8")
        return set_pdf(folder, "sheet.typ", paper)


def _make_csv(sheet: Sheet) -> str:
    rows = [
        ("", "line", sheet.title, sheet.over, sheet.lead),
        *section_rows(sheet.sections),
        *(("", "line", "what this is", words, "") for words in sheet.closing),
    ]
    return csv_text(COLUMNS, (dict(zip(COLUMNS, row, strict=True)) for row in rows))
