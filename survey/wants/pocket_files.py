"""The wants as PDF: a pocket sheet that folds to a quarter."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from survey.document.files import write_whole
from survey.document.pdf import printable_texts, set_pdf
from survey.document.printable import shortened
from survey.model.wants import WANT_WORDS, WantState
from survey.wants.printed import WantEntry, WantsData

POCKET_LINES = 8
"""Sizes and the like of one want on the pocket sheet, and 110 letters of each: a want must fit a quarter of a page."""

POCKET_LETTERS = 110

_LOOKED_FOR: tuple[WantState, ...] = ("wanted", "asked", "promised")
LOOKED_FOR = tuple(WANT_WORDS[state] for state in _LOOKED_FOR)
"""States in which one goes on looking: a promise is no part."""


def write_pocket(data: WantsData, to: Path, paper: str = "a4") -> None:
    """Write the pocket sheet: four quarters on one side of each page, to be folded twice with the print outside.

    What is here already, bought or no longer needed is left out; what was only promised is not.

    Raises:
        CannotPrint, CannotWrite, ToolMissing: as for the report.
    """
    groups = tuple((stall, tuple(_cut(one) for one in pile if _to_look_for(one))) for stall, pile in data.groups)
    looked_for = replace(data, groups=tuple((stall, pile) for stall, pile in groups if pile))
    told = _told(replace(looked_for, to_measure=sum(bool(entry.unknown) for entry in looked_for.entries)))
    with tempfile.TemporaryDirectory(prefix="teachest-") as name:
        room = Path(name)
        told = {"title": f"Wanted for {told['name']}", **told}
        (room / "data.json").write_text(json.dumps(printable_texts(told)), encoding="utf-8")
        content = set_pdf(room, "wants_pocket.typ", paper)
    write_whole(to, content)


def _to_look_for(entry: WantEntry) -> bool:
    return entry.count > 0 and entry.state in LOOKED_FOR


def _cut(entry: WantEntry) -> WantEntry:
    """The want with its lists and texts no longer than a quarter of a page holds."""
    return replace(
        entry,
        label=shortened(entry.label, 60),
        names=shortened(entry.names, 70),
        also=shortened(entry.also, POCKET_LETTERS),
        sizes=_few(entry.sizes),
        unknown=_few(entry.unknown, 6),
        tell_tales=_few(entry.tell_tales, 4),
        brings=_few(entry.brings, 4),
    )


def _few(said: tuple[str, ...], most: int = POCKET_LINES) -> tuple[str, ...]:
    shown = tuple(shortened(one, POCKET_LETTERS) for one in said[:most])
    return (*shown, f"and {len(said) - most} more") if len(said) > most else shown


def _told(data: WantsData) -> dict[str, Any]:
    told = {**asdict(data), "name": shortened(data.name, 60), "machine": shortened(data.machine, 150)}
    for (_, pile), (_, told_pile) in zip(data.groups, told["groups"], strict=True):
        for entry, told_entry in zip(pile, told_pile, strict=True):
            told_entry["way"] = entry.way
    told["count"] = len(data.entries)
    return told
