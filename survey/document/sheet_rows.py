"""A sheet's sections as rows of plain words, for tables."""

from __future__ import annotations

from collections.abc import Iterator

from survey.document.sheet import Blanks, Block, Drawing, Entry, Facts, Line, Section, Table

COLUMNS = ("section", "what", "name", "text", "aside")
"""Columns of a sheet as CSV. ``what``: heading, line, row, thing, drawing or blank."""


def section_rows(sections: tuple[Section, ...]) -> Iterator[tuple[str, str, str, str, str]]:
    """The sections as rows of ``COLUMNS``; a row of a table is written as ``head: cell`` after its first cell."""
    for section in sections:
        yield (section.key, "heading", section.heading, "", "")
        for block in section.blocks:
            for row in _make_block_rows(block):
                yield (section.key, *row)


def _make_block_rows(block: Block) -> Iterator[tuple[str, str, str, str]]:
    match block:
        case Line():
            yield ("line", block.head, block.text, block.aside)
        case Facts():
            yield from (("line", name, text, "") for name, text in block.pairs if text)
        case Table():
            for name, *cells in block.rows:
                cell_texts = [
                    f"{head}: {cell}" if head else cell for head, cell in zip(block.heads[1:], cells, strict=True)
                ]
                yield ("row", name, "; ".join(words for words, cell in zip(cell_texts, cells, strict=True) if cell), "")
        case Entry():
            yield ("thing", block.heading, "; ".join(_join_line(line) for line in block.lines), block.aside)
        case Drawing():
            yield ("drawing", "", block.alt, "")
        case Blanks():
            yield from (("blank", name, "", "") for name in block.names)


def _join_line(line: Line) -> str:
    return " ".join(filter(None, (line.head, line.text, line.aside)))
