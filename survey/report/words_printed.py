"""The report's own words for the closed vocabularies."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from survey.model.schedule import Duty
from survey.report.contents_printed import GapLine
from survey.schedule.gaps import PositionCount

DUTY_ORDER: dict[Duty, int] = {"safety": 0, "running": 1, "paperwork": 2, "cosmetic": 3}

LISTED_INSIDE = 6
"""Positions that are named under the part they sit in while they are not looked for; the rest is counted."""

DISCLAIMER = (
    "This is its owner's own record of what was seen and measured on the dates given. "
    "It is not an engineer's inspection, nor proof that anything is fit for the road.",
    "No safety part is passed here. A part that carries, steers or stops you is examined by somebody "
    "competent, with the means, before it is used. Local codes and licensed practice come first.",
    "A thing that is not mentioned was not looked at.",
)


def describe_count(count: PositionCount) -> str:
    """How many positions of an assembly are filled; every kind of gap it has is named."""
    if not count.asked:
        return ""
    gaps = (
        (count.missing, "missing"),
        (count.wrong, "here but wrong"),
        (count.short, "short"),
        (count.unseen, "inside and not seen"),
        (count.not_looked, "not looked for"),
    )
    gap_text = ", ".join(f"{number} {word}" for number, word in gaps if number)
    return f"{count.here} of {count.asked} positions filled" + (f": {gap_text}" if gap_text else "")


def describe_source(sure: str, source: str) -> str:
    """How sure a rule is and its source; a source that begins with how sure it is contains both."""
    if not source or source.casefold().startswith(sure.casefold()):
        return source or sure
    return f"{sure} · {source}"


def describe_inside(gaps: Sequence[GapLine]) -> tuple[tuple[str, str], ...]:
    """What is gone from inside a part, and what may be: pairs of a head and a sentence, those with nothing left out."""
    absent = [f"{gap.label} ({_describe_absence(gap)})" for gap in gaps if gap.state not in ("unseen", "not-looked")]
    unseen = [gap.label for gap in gaps if gap.state == "unseen"]
    unlooked = [gap.label for gap in gaps if gap.state == "not-looked"]
    if len(unlooked) > LISTED_INSIDE + 1:
        unlooked[LISTED_INSIDE:] = [f"and {len(unlooked) - LISTED_INSIDE} more"]
    heads = ("Not in it", absent), ("Inside it, not seen", unseen), ("On or in it, not looked for", unlooked)
    return tuple((head, _make_sentence(labels)) for head, labels in heads if labels)


def _describe_absence(gap: GapLine) -> str:
    return f"{gap.found} of {gap.quantity}" if gap.state == "short" else gap.word.lower()


def _make_sentence(labels: Iterable[str]) -> str:
    return "; ".join(labels) + "."
