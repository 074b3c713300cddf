"""A paper as a tagged PDF, set by typst from our own templates in our own fonts.

The words reach typst as a JSON file beside the template in a private folder: they are data, never
markup, and the template opens nothing but that file and the pictures. Pictures go in as drawings that hold the
JPEG untouched: typst would unpack a bare JPEG to four bytes a pixel, which costs hundreds of megabytes in a large
report.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from survey.document.cut import Pictures, cut_crops
from survey.document.marks import picture_svg
from survey.document.picture import Picture
from survey.document.printable import FONTS, make_breakable, make_printable, shorten
from survey.errors import CannotPrint, ToolMissing

TEMPLATES = Path(__file__).parent / "templates"
PIECES = "pieces.typ"
INK = "#141414"


def lay_out_pictures(every: Sequence[Picture], pictures: Pictures, room: Path) -> list[str | None]:
    """Each picture in a file of its own; the file names in the order given, None where a photo cannot be read."""
    names: list[str | None] = []
    for number, (picture, jpeg) in enumerate(
        zip(every, cut_crops(pictures, (picture.crop for picture in every)), strict=True)
    ):
        names.append(None if jpeg is None else f"{number}.svg")
        if jpeg is not None:
            (room / f"{number}.svg").write_text(picture_svg(picture, jpeg), encoding="ascii")
    return names


def list_picture_data(sections: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """The pictures of sections that were turned into plain data, in the order printed."""
    return [picture for section in sections for block in section["blocks"] for picture in block.get("pictures", ())]


def lay_out_drawings(told: Iterable[dict[str, Any]], room: Path) -> None:
    """Put the drawings of sections in plain data into files, and write the name of its file into each."""
    drawings = [block for section in told for block in section["blocks"] if block["is_a"] == "drawing"]
    for number, drawing in enumerate(drawings):
        svg = drawing.pop("svg").replace("currentColor", INK)
        drawing["file"] = f"drawing-{number}.svg"
        head = f'<svg xmlns="http://www.w3.org/2000/svg" color="{INK}" font-family="Source Sans Pro" '
        (room / drawing["file"]).write_text(svg.replace("<svg ", head, 1), encoding="utf-8")


def set_picture_files(told: Sequence[dict[str, Any]], files: Sequence[str | None]) -> None:
    """Write the name of its file into each picture."""
    for picture, file in zip(told, files, strict=True):
        picture["file"] = file


def printable_texts(value: Any, key: str = "") -> Any:
    """The same structure with every text made of letters the fonts have, and of words that can be broken."""
    if isinstance(value, str):
        # What is spoken and not set needs no place to break a line.
        if key in ("alt", "title"):
            return make_printable(value)
        return make_breakable(make_printable(shorten(value) if key == "label" else value))
    if isinstance(value, dict):
        return {key: printable_texts(item, key) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [printable_texts(item) for item in value]
    return value


def set_pdf(room: Path, template: str, paper: str) -> bytes:
    """The PDF that one of our templates makes of what lies in a private folder; it opens nothing else.

    Raises:
        CannotPrint: the typesetter gave up.
        ToolMissing: it is not installed.
    """
    try:
        import typst
    except ImportError as error:
        raise ToolMissing(
            "The typesetter for PDF is not installed.", "Install the package typst, or ask for .html."
        ) from error
    for file in (template, PIECES):
        shutil.copyfile(TEMPLATES / file, room / file)
    fonts = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[FONTS])
    try:
        content = typst.compile(
            room / template,
            root=room,
            font_paths=fonts,
            ignore_system_fonts=True,
            sys_inputs={"paper": paper},
            package_path=room / "none",
            package_cache_path=room / "none",
            pdf_standards=["ua-1"],
        )
    except typst.TypstError as error:
        raise CannotPrint(
            f"It could not be set as PDF: {str(error).splitlines()[0]}.",
            "Ask for .html or .csv instead; nothing in the survey is lost.",
        ) from error
    assert isinstance(content, bytes)
    return content
