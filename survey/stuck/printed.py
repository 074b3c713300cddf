"""What is stuck on a part, in sentences ready to print. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from survey.build_order.waiting import Waiting
from survey.model.stuck import Stuck
from survey.stuck.removal import Score, describe_score
from survey.words import capital


@dataclass(frozen=True, slots=True)
class StuckLine:
    """A stuck thing in words: ``head`` names it with its points and band, ``text`` says why, what was tried and next.

    ``caution``: the dangers of getting it out; empty once it is out.
    """

    head: str
    text: str
    caution: str


def stuck_line(said: Stuck, found: Score, waiting: Waiting) -> StuckLine:
    """The line of a stuck thing, with what waits for the part it is in."""
    what = capital(said.what)
    tried = f"Tried: {', '.join(way.label for way in found.tried)}." if found.tried else "Nothing tried yet."
    if said.out:
        told = [tried if found.tried else "", f"“{said.note}”" if said.note else ""]
        return StuckLine(f"{what}: out", " ".join(filter(None, told)), "")
    points = "; ".join(f"{one.label.lower()} {one.points}" for one in found.counted)
    waits = "; ".join(filter(None, (said.holds, _steps(waiting))))
    told = [
        f"{capital(points)}. The points are judgement." if points else "Nothing is said of it yet.",
        f"Still to be said: {', '.join(found.unsaid)}." if found.unsaid else "",
        found.band.about,
        tried,
        f"Next: {found.next_way.about}" if found.next_way else "Nothing more is tried at the bench.",
        f"It may hold up: {waits}." if waits else "",
        f"“{said.note}”" if said.note else "",
    ]
    caution = " ".join(danger.text for danger in found.dangers)
    return StuckLine(describe_score(what, found), " ".join(filter(None, told)), caution)


def _steps(waiting: Waiting) -> str:
    if not waiting.direct:
        return ""
    steps = "1 step" if waiting.total == 1 else f"{waiting.total} steps"
    return f"{steps} of the dry build, first {waiting.direct[0].label[:1].lower()}{waiting.direct[0].label[1:]}"
