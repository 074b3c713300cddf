"""A docket as PDF and as a page to print: the same words in the same order."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from survey.document.cut import Pictures
from survey.document.files import write_whole
from survey.document.page import PAGE_OF_A_DOCKET, inline_pictures, render_page
from survey.document.pdf import lay_out_pictures, printable_texts, set_pdf
from survey.document.picture import CropRequest
from survey.document.printable import shorten
from survey.outwork.docket_printed import DocketData


def write_docket(data: DocketData, pictures: Pictures, to: Path, paper: str = "a4") -> None:
    """Write the docket; the suffix says how: .pdf (tagged after PDF/UA-1) or .html (one file, nothing outside it).

    Args:
        pictures: gives the JPEG of each crop; a photo that cannot be read leaves a frame that says so.

    Raises:
        CannotPrint, CannotWrite, ToolMissing: as for the report.
    """
    if to.suffix.lower() == ".html":
        write_whole(to, render_page(PAGE_OF_A_DOCKET, data, inline_pictures(data.pictures, pictures)).encode("utf-8"))
        return
    with tempfile.TemporaryDirectory(prefix="teachest-") as name:
        folder = Path(name)
        template_data: dict[str, Any] = {
            **asdict(data),
            "head": shorten(data.title),
            "name": shorten(data.name, 60),
        }
        sides = [side for entry in template_data["entries"] for side in entry["sides"] if side["picture"] is not None]
        for side, file in zip(sides, lay_out_pictures(data.pictures, pictures, folder), strict=True):
            side["file"] = file
        (folder / "data.json").write_text(json.dumps(printable_texts(template_data)), encoding="utf-8")
        content = set_pdf(folder, "docket.typ", paper)
    write_whole(to, content)


def render_docket_page(data: DocketData, picture_url: Callable[[CropRequest], str], css_url: str) -> str:
    """The docket as a page whose pictures and style are served."""
    return render_page(PAGE_OF_A_DOCKET, data, picture_url, css_url)
