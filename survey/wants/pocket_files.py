"""The wants as PDF: a pocket sheet that folds to a quarter."""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from survey.document.files import write_whole
from survey.document.pdf import printable_texts, set_pdf
from survey.document.printable import shorten
from survey.model.wants import WANT_WORDS, WantState
from survey.wants.printed import WantEntry, WantsData

POCKET_LINES = 8
"""Sizes and the like of one want on the pocket sheet, and 110 letters of each: a want must fit a quarter of a page."""

POCKET_LETTERS = 110

_LOOKED_FOR: tuple[WantState, ...] = ("wanted", "asked", "promised")
LOOKED_FOR = tuple(WANT_WORDS[state] for state in _LOOKED_FOR)
"""Labels of the states in which the owner goes on looking: a promise is not a part."""


def write_pocket(data: WantsData, to: Path, paper: str = "a4") -> None:
    """Write the pocket sheet: four quarters on one side of each page, to be folded twice with the print outside.

    What is here already, bought or no longer needed is left out; what was only promised is not.

    Raises:
        CannotPrint, CannotWrite, ToolMissing: as for the report.
    """
    groups = tuple(
        (stall, tuple(_shorten_entry(entry) for entry in entries if _is_looked_for(entry)))
        for stall, entries in data.groups
    )
    looked_for = replace(data, groups=tuple((stall, entries) for stall, entries in groups if entries))
    template_data = _make_template_data(
        replace(looked_for, to_measure=sum(bool(entry.unknown) for entry in looked_for.entries))
    )
    with tempfile.TemporaryDirectory(prefix="teachest-") as name:
        folder = Path(name)
        template_data = {"title": f"Wanted for {template_data['name']}", **template_data}
        (folder / "data.json").write_text(json.dumps(printable_texts(template_data)), encoding="utf-8")
        content = set_pdf(folder, "wants_pocket.typ", paper)
    write_whole(to, content)


def _is_looked_for(entry: WantEntry) -> bool:
    return entry.count > 0 and entry.state in LOOKED_FOR


def _shorten_entry(entry: WantEntry) -> WantEntry:
    """The want with its lists and texts no longer than a quarter of a page holds."""
    return replace(
        entry,
        label=shorten(entry.label, 60),
        names=shorten(entry.names, 70),
        also=shorten(entry.also, POCKET_LETTERS),
        sizes=_shorten_list(entry.sizes),
        unknown=_shorten_list(entry.unknown, 6),
        tell_tales=_shorten_list(entry.tell_tales, 4),
        brings=_shorten_list(entry.brings, 4),
    )


def _shorten_list(texts: tuple[str, ...], most: int = POCKET_LINES) -> tuple[str, ...]:
    kept = tuple(shorten(text, POCKET_LETTERS) for text in texts[:most])
    return (*kept, f"and {len(texts) - most} more") if len(texts) > most else kept


def _make_template_data(data: WantsData) -> dict[str, Any]:
    template_data = {**asdict(data), "name": shorten(data.name, 60), "machine": shorten(data.machine, 150)}
    for (_, entries), (_, entry_rows) in zip(data.groups, template_data["groups"], strict=True):
        for entry, entry_row in zip(entries, entry_rows, strict=True):
            entry_row["way"] = entry.way
    template_data["count"] = len(data.entries)
    return template_data
