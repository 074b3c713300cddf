"""The wants as CSV: a line a want."""

from __future__ import annotations

from pathlib import Path

from survey.document.csv_text import csv_text
from survey.document.files import write_whole
from survey.wants.printed import WantEntry, WantsData

COLUMNS = (
    "stall", "component", "label", "names", "assembly", "duty", "count", "why", "sizes", "still_unknown", "wrong_one",
    "comes_with_it", "also", "state", "who", "since", "low", "likely", "high", "currency", "note",
)  # fmt: skip

KEPT_FROM_FRIENDS = frozenset(("why", "state", "who", "since", "low", "likely", "high", "currency", "note"))


def write_wants_csv(data: WantsData, to: Path) -> None:
    """Write the wants as CSV (RFC 4180: CRLF, quoting; UTF-8). No cell can be taken for a formula.

    A friend's copy lacks the columns of ``KEPT_FROM_FRIENDS``.

    Raises:
        CannotWrite: the place cannot be written.
    """
    columns = [name for name in COLUMNS if not data.for_friend or name not in KEPT_FROM_FRIENDS]
    write_whole(to, csv_text(columns, (_make_row(entry, data.currency) for entry in data.entries)).encode("utf-8"))


def _make_row(entry: WantEntry, currency: str) -> dict[str, str]:
    return {
        "stall": entry.stall,
        "component": entry.component,
        "label": entry.label,
        "names": entry.names,
        "assembly": entry.assembly,
        "duty": entry.duty,
        "count": str(entry.count),
        "why": entry.why,
        "sizes": "; ".join(entry.sizes),
        "still_unknown": "; ".join(entry.unknown),
        "wrong_one": "; ".join(entry.tell_tales),
        "comes_with_it": "; ".join(entry.brings),
        "also": entry.also,
        "state": entry.state,
        "who": entry.who,
        "since": entry.since,
        "low": entry.low,
        "likely": entry.likely,
        "high": entry.high,
        "currency": currency if entry.low or entry.likely or entry.high else "",
        "note": entry.note,
    }
