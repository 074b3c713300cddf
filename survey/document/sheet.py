"""A sheet of paper as frozen records, in words ready to print: headings over lines, tables and entries.

The plan in the report, and every copy made for one reader, is a sheet. A writer only lays it out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from survey.document.picture import Picture


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph: ``head`` in bold, the text, and an aside in small.

    ``tick``: with a box to tick. ``leads``: it heads what follows and stays with it. ``blank``:
    the text ends in a line to write on.
    """

    text: str = ""
    head: str = ""
    aside: str = ""
    tick: bool = False
    leads: bool = False
    blank: bool = False
    is_a: Literal["line"] = "line"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of words under ``heads``. ``wide``: share of the width of each column; ``figures``: columns of numbers."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    wide: tuple[int, ...]
    figures: tuple[int, ...] = ()
    is_a: Literal["table"] = "table"


@dataclass(frozen=True, slots=True)
class Facts:
    """Names with a text each; those with an empty text are left out."""

    pairs: tuple[tuple[str, str], ...]
    is_a: Literal["facts"] = "facts"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing: its name, lines about it with its pictures beside them, and boxes to tick with room to write."""

    heading: str
    aside: str = ""
    lines: tuple[Line, ...] = ()
    pictures: tuple[Picture, ...] = ()
    ticks: tuple[str, ...] = ()
    is_a: Literal["entry"] = "entry"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing of our own as SVG in ``currentColor``, with its content in words, and how to read it."""

    svg: str
    alt: str
    caption: str = ""
    is_a: Literal["drawing"] = "drawing"


@dataclass(frozen=True, slots=True)
class Blanks:
    """Lines to write on by hand, each with what belongs there."""

    names: tuple[str, ...]
    is_a: Literal["blanks"] = "blanks"


Block = Line | Facts | Table | Entry | Drawing | Blanks


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and the blocks under it. ``key`` is its name in tables and in the addresses of a page."""

    key: str
    heading: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole paper for one reader.

    ``copy``: the word that selects it. ``over``: the line above the title, for whom it is. ``lead``: what the
    machine is. ``before``: text before the first section. ``closing``: what this paper is not, at its end.
    """

    copy: str
    title: str
    over: str
    lead: str
    made_on: str
    sections: tuple[Section, ...]
    before: tuple[str, ...] = ()
    closing: tuple[str, ...] = ()

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Every picture, in the order printed."""
        return tuple(pictures_of(self.sections))


def pictures_of(sections: tuple[Section, ...]) -> Iterator[Picture]:
    """The pictures of some sections, in the order printed."""
    for section in sections:
        for block in section.blocks:
            if isinstance(block, Entry):
                yield from block.pictures
