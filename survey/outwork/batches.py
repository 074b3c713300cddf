"""Work sent away: the trades in their order, what a batch holds, what is out. Pure.

Nothing here makes a part fit: a safety part that comes back is to be examined (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from survey.model.outwork import Batch
from survey.model.parts import Finding, GradedPart, Look
from survey.prices import format_money, format_price
from survey.words import format_count, format_day


@dataclass(frozen=True, slots=True)
class Away:
    """How many of a part are not here, and where in words. ``lost``: those among them known not to come back."""

    count: int
    where: str
    lost: int = 0


def find_away(batches: Iterable[Batch], counted_off: Mapping[int, int] | None = None) -> dict[int, Away]:
    """By part number, how many of it are out and with whom, or have not come back from there.

    Args:
        counted_off: by item that came back short, how many were taken off the count of its part since then.
    """
    taken_off, away = counted_off or {}, dict[int, Away]()
    for batch in batches:
        promised = f", promised {format_day(batch.promised)}" if batch.promised else ""
        where = f"{batch.place} since {format_day(batch.out_at)}{promised}"
        for item in batch.items if batch.state != "draft" else ():
            out = item.still_out if batch.state == "out" else 0
            lost = 0 if out else max(0, item.short - taken_off.get(item.id, 0))
            if out or lost:
                before = away.get(item.part, Away(0, ""))
                words = where if out else f"not come back, was {batch.place}: {item.short_note or 'nobody said why'}"
                away[item.part] = Away(before.count + out + lost, words, before.lost + lost)
    return away


def find_parts_to_examine(graded: Iterable[GradedPart], batches: Iterable[Batch]) -> dict[int, str]:
    """Safety parts that came back and that nobody has looked over since: by part number, from whom and when.

    Only a look or a finding recorded after the latest return counts, and only of what was seen; the work itself passes
    nothing. What nobody knows yet may be a safety part.
    """
    returned_items = [(item, batch) for batch in batches for item in batch.items if item.came_back]
    returns = {
        item.part: (item.checked_at, batch.trade.person, item.back_at)
        for item, batch in sorted(returned_items, key=lambda one: (one[0].checked_at, one[0].id))
    }
    unexamined: dict[int, str] = {}
    for one in graded:
        if one.part.id in returns and (one.component is None or one.component.duty == "safety"):
            checked_at, person, day = returns[one.part.id]
            records: tuple[Look | Finding, ...] = (*one.looks, *one.findings)
            if max((record.at for record in records if record.seen != "unseen"), default="") <= checked_at:
                unexamined[one.part.id] = f"back from the {person} since {format_day(day)}, not looked over"
    return unexamined


CRACK_TEST, WELDING = "examine", "weld"
"""Trades by id: whose answer speaks of cracks, and whose heat makes new ones."""


def find_crack_tested(
    graded: Iterable[GradedPart], batches: Iterable[Batch], marring: Collection[str]
) -> frozenset[int]:
    """Parts whose crack test still speaks for them, by number: none was welded since, and no harm was recorded.

    Args:
        marring: kinds of finding that speak of the metal itself.
    """
    last: dict[tuple[int, str], str] = {}
    for batch in batches:
        for item in batch.items:
            if item.came_back:
                key = item.part, batch.trade.id
                last[key] = max(last.get(key, ""), item.checked_at)
    return frozenset(
        graded_part.part.id
        for graded_part in graded
        if (tested := last.get((graded_part.part.id, CRACK_TEST)))
        and last.get((graded_part.part.id, WELDING), "") < tested
        and not any(finding.kind in marring and finding.at >= tested for finding in graded_part.findings)
    )


def describe_agreed_price(batch: Batch, currency: str) -> str:
    """What was agreed, one figure where there is one: ``£30.00``; else low to high. Empty where none is recorded."""
    likely = batch.price.likely
    return format_price(batch.price, currency) if likely is None else format_money(likely, currency)


def describe_batches(batches: Iterable[Batch], today: str) -> str:
    """The state of the outwork, in a sentence: ``2 batches out with 14 pieces, 1 of them overdue.``; empty for none."""
    every_batch = list(batches)
    batches_out = [batch for batch in every_batch if batch.away]
    sentences = []
    if batches_out:
        pieces = sum(item.count for batch in batches_out for item in batch.away)
        late = sum(batch.overdue(today) for batch in batches_out)
        overdue = "" if not late else ", overdue" if late == len(batches_out) else f", {late} of them overdue"
        sentences.append(
            f"{format_count(len(batches_out), 'batch', 'batches')} out with {format_count(pieces, 'piece')}{overdue}"
        )
    lost = sum(item.short for batch in every_batch for item in batch.short)
    if lost:
        sentences.append(f"{format_count(lost, 'piece')} came back short")
    drafts = sum(batch.state == "draft" for batch in every_batch)
    if drafts:
        sentences.append(f"{format_count(drafts, 'batch', 'batches')} being made up")
    return "; ".join(sentences) + "." if sentences else ""
