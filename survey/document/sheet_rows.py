"""A sheet's sections as rows of plain words, for tables."""

from __future__ import annotations

from collections.abc import Iterator

from survey.document.sheet import Blanks, Block, Drawing, Entry, Facts, Line, Section, Table

COLUMNS = ("section", "what", "name", "text", "aside")
"""Columns of a sheet as CSV. ``what``: heading, line, row, thing, drawing or blank."""


def section_rows(sections: tuple[Section, ...]) -> Iterator[tuple[str, str, str, str, str]]:
    """The sections as rows of ``COLUMNS``; a row of a table is told as ``head: cell`` after its first cell."""
    for section in sections:
        yield (section.key, "heading", section.heading, "", "")
        for block in section.blocks:
            for row in _rows(block):
                yield (section.key, *row)


def _rows(block: Block) -> Iterator[tuple[str, str, str, str]]:
    match block:
        case Line():
            yield ("line", block.head, block.text, block.aside)
        case Facts():
            yield from (("line", name, said, "") for name, said in block.pairs if said)
        case Table():
            for name, *cells in block.rows:
                told = [f"{head}: {cell}" if head else cell for head, cell in zip(block.heads[1:], cells, strict=True)]
                yield ("row", name, "; ".join(words for words, cell in zip(told, cells, strict=True) if cell), "")
        case Entry():
            yield ("thing", block.heading, "; ".join(_line(line) for line in block.lines), block.aside)
        case Drawing():
            yield ("drawing", "", block.alt, "")
        case Blanks():
            yield from (("blank", name, "", "") for name in block.names)


def _line(line: Line) -> str:
    return " ".join(filter(None, (line.head, line.text, line.aside)))
