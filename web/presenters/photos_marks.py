"""Marks as the page's script reads and writes them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

from survey.model.photos import Mark


def mark_as_data(mark: Mark, label: str = "", says: str = "") -> dict[str, object]:
    """One mark: its places as fractions of the picture, what stands beside it, and what it is in words."""
    return {
        "id": mark.id,
        "shape": mark.shape,
        "points": mark.points,
        "label": label,
        "says": says,
        "part": mark.part,
        "finding": mark.finding,
    }


def marks_json(
    marks: Sequence[Mark], labels: Mapping[int, str] | None = None, says: Mapping[int, str] | None = None
) -> str:
    """The ``data-marks`` of ``<photo-marks>``. ``labels``: finding id to what stands beside its marks; ``says``: mark
    id to what it is in words.
    """
    labels, says = labels or {}, says or {}
    return json.dumps([mark_as_data(mark, labels.get(mark.finding or 0, ""), says.get(mark.id, "")) for mark in marks])
