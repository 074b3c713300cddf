"""What is stuck on a part, in sentences ready to print. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from survey.build_order.waiting import Waiting
from survey.model.stuck import Stuck
from survey.stuck.removal import Score, describe_score
from survey.words import capitalize


@dataclass(frozen=True, slots=True)
class StuckLine:
    """A stuck thing in words. ``head``: name, points and band. ``text``: why, what was tried, what to try next.

    ``caution``: the dangers of removing it; empty once it is out.
    """

    head: str
    text: str
    caution: str


def stuck_line(stuck: Stuck, score: Score, waiting: Waiting) -> StuckLine:
    """The line of a stuck thing, with the steps that wait for its part."""
    what = capitalize(stuck.what)
    tried = f"Tried: {', '.join(way.label for way in score.tried)}." if score.tried else "Nothing tried yet."
    if stuck.out:
        sentences = [tried if score.tried else "", f"“{stuck.note}”" if stuck.note else ""]
        return StuckLine(f"{what}: out", " ".join(filter(None, sentences)), "")
    points = "; ".join(f"{condition.label.lower()} {condition.points}" for condition in score.counted)
    waits = "; ".join(filter(None, (stuck.holds, _waiting_steps(waiting))))
    sentences = [
        f"{capitalize(points)}. The points are judgement." if points else "Nothing is said of it yet.",
        f"Still to be said: {', '.join(score.unsaid)}." if score.unsaid else "",
        score.band.about,
        tried,
        f"Next: {score.next_way.about}" if score.next_way else "Nothing more is tried at the bench.",
        f"It may hold up: {waits}." if waits else "",
        f"“{stuck.note}”" if stuck.note else "",
    ]
    caution = " ".join(danger.text for danger in score.dangers)
    return StuckLine(describe_score(what, score), " ".join(filter(None, sentences)), caution)


def _waiting_steps(waiting: Waiting) -> str:
    if not waiting.direct:
        return ""
    steps = "1 step" if waiting.total == 1 else f"{waiting.total} steps"
    return f"{steps} of the dry build, first {waiting.direct[0].label[:1].lower()}{waiting.direct[0].label[1:]}"
