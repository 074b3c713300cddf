"""Which part is for which trade next. Pure.

A part goes to one trade at a time: to whoever must examine it first, then in the order of the table (what can explode,
what makes heat, metal, finish, lacing; common practice, no source). What it needs is what the rules name somebody for,
less what has been done since it was found.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from survey.model.grading import Outcome, Ruling
from survey.model.outwork import Batch, Trade, Trades
from survey.model.parts import Finding, GradedPart


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part for a trade. ``who``: what the rules call it; ``why``: what is to be done, a sentence a rule.

    ``first``: the trade it goes to before; ``at``: the batch that has it now. Neither set: it can go.
    """

    part: GradedPart
    who: tuple[str, ...]
    why: tuple[str, ...]
    examine: bool
    first: Trade | None = None
    at: Batch | None = None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What can go to a trade now, and what will later."""

    trade: Trade
    ready: tuple[Candidate, ...]
    later: tuple[Candidate, ...]


def suggest_for_trades(
    graded: Iterable[GradedPart], batches: Sequence[Batch], trades: Trades
) -> tuple[Suggestion, ...]:
    """Which part is for which trade next, trades in their order; a trade with nothing is left out.

    Args:
        graded: every part with its verdict.
        batches: every live batch.
    """
    piles: dict[str, list[Candidate]] = {trade.id: [] for trade in trades.trades}
    holding = {item.part: batch for batch in batches if batch.state == "draft" for item in batch.items}
    holding |= {item.part: batch for batch in batches for item in batch.away}
    done = _done(batches)
    for one in graded:
        needs = _needs(one, done.get(one.part.id, {}), trades)
        at, first = holding.get(one.part.id), None
        for trade in _in_order(needs, trades):
            if at is None or at.trade.id != trade.id:
                piles[trade.id].append(_candidate(one, needs[trade.id], first, at))
            first = first or trade
    return tuple(
        Suggestion(
            trade,
            tuple(one for one in piles[trade.id] if one.first is None and one.at is None),
            tuple(one for one in piles[trade.id] if one.first or one.at),
        )
        for trade in trades.trades
        if piles[trade.id]
    )


def find_earlier_trade(one: GradedPart, trade: Trade, batches: Iterable[Batch], trades: Trades) -> Trade | None:
    """The trade that the part should have been to before that one; None where none is left."""
    order = _in_order(_needs(one, _done(batches).get(one.part.id, {}), trades), trades)
    ahead = order[: order.index(trade)] if trade in order else order
    return next((each for each in ahead if trade in order or _before(each, trade, trades)), None)


def _needs(one: GradedPart, done: Mapping[str, str], trades: Trades) -> dict[str, list[Ruling]]:
    """By trade, the rulings that name it and whose finding is newer than the part's last return from there."""
    found: dict[str, list[Ruling]] = {}
    for ruling in one.verdict.rulings:
        if not ruling.trade or ruling.outcome not in _sent(one):
            continue
        for trade in trades.named(ruling.trade):
            if trade.id not in done or _recorded(ruling, one.findings) > done[trade.id]:
                found.setdefault(trade.id, []).append(ruling)
    return found


def _sent(one: GradedPart) -> tuple[Outcome, ...]:
    """Rulings of which outcomes send the part away: one that is to be replaced is not mended or plated first."""
    if (one.own_grade.grade if one.own_grade else one.verdict.grade) == "replace":
        return ("replace",)
    # The owner's own grade lifts no examination that is owed.
    return ("examine-first",) if one.own_grade and one.own_grade.grade == "reuse" else _WORTH_SENDING


_WORTH_SENDING: tuple[Outcome, ...] = ("examine-first", "repair", "reuse")


def _in_order(needs: Mapping[str, Sequence[Ruling]], trades: Trades) -> list[Trade]:
    """The trades a part needs: whoever must examine it first, then each in the order of the table."""
    asked = [trade for trade in trades.trades if needs.get(trade.id)]
    return sorted(asked, key=lambda trade: all(ruling.outcome != "examine-first" for ruling in needs[trade.id]))


def _before(first: Trade, then: Trade, trades: Trades) -> bool:
    return trades.trades.index(first) < trades.trades.index(then)


def _done(batches: Iterable[Batch]) -> dict[int, dict[str, str]]:
    """By part number and trade, the UTC time at which the part was last looked over on its return."""
    done: dict[int, dict[str, str]] = {}
    for batch in batches:
        for item in batch.items:
            if item.came_back:
                trades = done.setdefault(item.part, {})
                trades[batch.trade.id] = max(item.checked_at, trades.get(batch.trade.id, ""))
    return done


def _recorded(ruling: Ruling, findings: Iterable[Finding]) -> str:
    """The UTC time of the latest finding that fired the ruling; empty where none did."""
    return max((one.at for one in findings if (one.kind, one.step, one.seen) == ruling.finding), default="")


def _candidate(one: GradedPart, rulings: Sequence[Ruling], first: Trade | None, at: Batch | None) -> Candidate:
    return Candidate(
        part=one,
        who=tuple(dict.fromkeys(ruling.trade for ruling in rulings)),
        why=tuple(dict.fromkeys(ruling.remedy for ruling in rulings)),
        examine=any(ruling.outcome == "examine-first" for ruling in rulings),
        first=first,
        at=at,
    )
