"""What the rows of an act are about, in words that several subjects share: the part, the position, the photos."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from survey.store.survey import Survey

DescribeRows = Callable[[Survey, list[dict[str, Any]]], str]
"""Describes in words the rows of one table, all of them changed by one act and at least one."""

ENOUGH_EVENTS = 60
"""So many events of an act are read to describe it; one act may have changed thousands of rows."""


def describe_part_no(survey: Survey, part: int | None) -> str:
    """``part 3 (Handlebar)``; empty for None."""
    if part is None:
        return ""
    row = survey.store.row(
        "SELECT part.label AS own, component.label AS named FROM part LEFT JOIN component"
        " ON component.id = part.component WHERE part.id = ?",
        [part],
    )
    name = (row or {}).get("own") or (row or {}).get("named") or "not known yet"
    return f"part {part} ({name})"


def describe_position_id(survey: Survey, component: str) -> str:
    """``B052 Handlebar``; the id alone where the schedule has no such component."""
    row = survey.store.row("SELECT label FROM component WHERE id = ?", [component])
    return f"{component} {row['label']}" if row else component


def describe_photo_nos(numbers: Iterable[int]) -> str:
    """``photo 1, photo 2``; from four on how many they are."""
    unique = list(dict.fromkeys(numbers))
    count_text = f"{len(unique)} photos" if len(unique) < ENOUGH_EVENTS // 2 else "many photos"
    return count_text if len(unique) > 3 else ", ".join(f"photo {number}" for number in unique)
