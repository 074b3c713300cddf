"""What have I got, what stops me, what must I find; and what nobody looked at. Pure counting and sorting."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from survey.model.grading import HARDEST_FIRST, Outcome
from survey.model.photos import Photo
from survey.model.schedule import Component
from survey.report.contents_printed import GapLine, GradeCount, Item, NotLooked, PartEntry, Summary
from survey.report.words_printed import DUTY_ORDER
from survey.schedule.gaps import PositionCount
from survey.words import OUTCOME_WORDS, SEEN_WORDS

COUNTED: tuple[Outcome, ...] = ("reuse", "repair", "replace", "examine-first", "take-a-reading", "not-looked-at")
WAITS: tuple[Outcome, ...] = ("examine-first", "take-a-reading", "not-looked-at")
ABSENT = ("missing", "wrong", "short")


def summarise(parts: Sequence[PartEntry], gaps: Sequence[GapLine], tally: PositionCount) -> Summary:
    """The summary page's answers; every list in full, the writer shows its head."""
    absent = [gap for gap in gaps if gap.state in ABSENT]
    to_find = sorted((gap for gap in absent if not gap.through), key=lambda gap: DUTY_ORDER[gap.duty])
    return Summary(
        counts=tuple(_count_grade(outcome, parts) for outcome in COUNTED),
        parts=len(parts),
        tally=tally,
        own_grades=sum(part.own_grade is not None for part in parts),
        owed=tuple(
            _make_item(part) for part in _sort_hardest_first(parts) if part.duty == "safety" and part.outcome in WAITS
        ),
        hardest=tuple(_make_item(part) for part in _sort_hardest_first(parts) if part.outcome in ("replace", "repair")),
        stopping=tuple(gap for gap in to_find if gap.duty in ("safety", "running")),
        to_find=tuple(to_find),
        with_them=len(absent) - len(to_find),
    )


def list_not_looked(
    parts: Sequence[PartEntry], gaps: Sequence[GapLine], not_fitted: Sequence[Component], photos: Iterable[Photo]
) -> NotLooked:
    """Everything nobody looked at, or not bare."""
    photos = tuple(photos)
    return NotLooked(
        parts=tuple(_make_item(part) for part in parts if part.outcome == "not-looked-at"),
        through_coat=tuple(item for part in parts for item in _list_seen_items(part, "paint")),
        told=tuple(item for part in parts for item in _list_seen_items(part, "unseen")),
        positions=tuple(gap for gap in gaps if gap.state == "not-looked"),
        unseen=tuple(gap for gap in gaps if gap.state == "unseen"),
        not_fitted=tuple(component.label for component in not_fitted),
        photos_waiting=sum(photo.state == "waiting" for photo in photos),
        photos_aside=sum(photo.state == "aside" for photo in photos),
    )


def _count_grade(outcome: Outcome, parts: Sequence[PartEntry]) -> GradeCount:
    counted = [part for part in parts if part.outcome == outcome]
    return GradeCount(outcome, OUTCOME_WORDS[outcome], len(counted), sum(part.duty == "safety" for part in counted))


def _sort_hardest_first(parts: Sequence[PartEntry]) -> list[PartEntry]:
    return sorted(parts, key=lambda part: (HARDEST_FIRST.index(part.outcome), DUTY_ORDER[part.duty]))


def _make_item(part: PartEntry, says: str = "") -> Item:
    return Item(
        part.id, part.label, part.assembly, part.duty, part.outcome, part.word, says or _describe_test_owed(part)
    )


def _describe_test_owed(part: PartEntry) -> str:
    """What the ruling that decided asks for: its remedy, and who does it."""
    deciding = next((ruling for ruling in part.rulings if ruling.outcome == part.outcome), None)
    if deciding is None:
        return ""
    who = f" ({deciding.trade})" if deciding.trade else ""
    return (deciding.remedy or deciding.because).rstrip(".") + who + "."


def _list_seen_items(part: PartEntry, seen: str) -> Iterable[Item]:
    """One item a part, naming what was seen in that way; a part also seen better elsewhere is still named."""
    findings = [f"{line.label.lower()}, {line.step_name.lower()}" for line in part.findings if line.seen == seen]
    findings += [f"nothing wrong seen, {SEEN_WORDS[look.seen]}" for look in part.looks if look.seen == seen]
    if findings:
        yield _make_item(part, "; ".join(findings))
