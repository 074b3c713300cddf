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
from survey.document.json_file import json_text
from survey.document.page import PAGE_OF_A_SHEET, inline_pictures, render_page
from survey.document.pdf import (
    lay_out_drawings,
    lay_out_pictures,
    name_files,
    pictures_told,
    printable_texts,
    set_pdf,
)
from survey.document.picture import CropRequest
from survey.document.printable import SQUARE, shortened
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
            content = _pdf(sheet, pictures, paper)
        case ".html":
            content = render_page(PAGE_OF_A_SHEET, sheet, inline_pictures(sheet.pictures, pictures), "").encode("utf-8")
        case ".csv":
            content = _csv(sheet).encode("utf-8")
        case _:
            content = json_text(asdict(sheet))
    write_whole(to, content)


def sheet_page(sheet: Sheet, picture_url: Callable[[CropRequest], str], css_url: str) -> str:
    """The sheet as a page whose pictures and style are served."""
    return render_page(PAGE_OF_A_SHEET, sheet, picture_url, css_url)


def _pdf(sheet: Sheet, pictures: Pictures, paper: str) -> bytes:
    with tempfile.TemporaryDirectory(prefix="teachest-") as name:
        room = Path(name)
        told: dict[str, Any] = asdict(sheet)
        name_files(pictures_told(told["sections"]), lay_out_pictures(sheet.pictures, pictures, room))
        lay_out_drawings(told["sections"], room)
        told["heading"] = shortened(sheet.title)
        told["foot"] = f"{shortened(sheet.title, 60)}, {sheet.made_on}"
        clean = printable_texts(told)
        clean["squares"] = SQUARE in json.dumps(clean, ensure_ascii=False)
        (room / "data.json").write_text(json.dumps(clean), encoding="utf-8")
        return set_pdf(room, "sheet.typ", paper)


def _csv(sheet: Sheet) -> str:
    rows = [
        ("", "line", sheet.title, sheet.over, sheet.lead),
        *section_rows(sheet.sections),
        *(("", "line", "what this is", words, "") for words in sheet.closing),
    ]
    return csv_text(COLUMNS, (dict(zip(COLUMNS, row, strict=True)) for row in rows))
