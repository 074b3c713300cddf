"""What it may be worth when done, what its parts would fetch, and how the cost compares with either.

Worth is a range from dated comparisons that the owner wrote down, never one figure. Nothing here advises anybody to
buy, to sell or to begin: figures, and how they were got.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from survey.model.money import Comparison, SalePrice, make_three_point
from survey.model.parts import GradedPart
from survey.money.costs import Money, Total, add_up

_DAYS_PER_MONTH = 30.44

_MONTHS_AT_MOST = 24


@dataclass(frozen=True, slots=True)
class Worth:
    """From the lowest to the highest that the comparisons say."""

    low: Decimal
    high: Decimal
    comparisons: tuple[Comparison, ...]

    @property
    def only_asked(self) -> int:
        """How many of the prices were asked and not, as far as anybody knows, paid."""
        return sum(not one.sold for one in self.comparisons)


def estimate_worth(comparisons: Iterable[Comparison]) -> Worth | None:
    """The range of worth, the newest comparison first; None where there is none."""
    newest_first = tuple(sorted(comparisons, key=lambda comparison: (comparison.seen_on, comparison.id), reverse=True))
    if not newest_first:
        return None
    return Worth(
        min(comparison.ends[0] for comparison in newest_first),
        max(comparison.ends[1] for comparison in newest_first),
        newest_first,
    )


def describe_age(seen_on: str, today: str) -> str:
    """How old something is: ``12 days``, ``7 months``, ``3 years``; both dates ``YYYY-MM-DD``."""
    days = max(0, (date.fromisoformat(today) - date.fromisoformat(seen_on)).days)
    months = int(days / _DAYS_PER_MONTH)
    count, unit = (
        (days, "day") if months < 1 else (months, "month") if months < _MONTHS_AT_MOST else (days // 365, "year")
    )
    return f"{count} {unit}" if count == 1 else f"{count} {unit}s"


@dataclass(frozen=True, slots=True)
class SaleLine:
    """A part with what it would fetch."""

    part: GradedPart
    said: SalePrice

    @property
    def label(self) -> str:
        """What the part is called."""
        return self.part.part.label or (self.part.component.label if self.part.component else "Unknown part")


@dataclass(frozen=True, slots=True)
class SaleOfParts:
    """What the parts would fetch one by one. ``of_parts``: how many parts there are in all."""

    counted: tuple[SaleLine, ...]
    held: tuple[SaleLine, ...]
    of_parts: int

    @property
    def sum(self) -> Total | None:
        """Added up like the cost; None where no part that counts has a price."""
        figures = [figure for line in self.counted if (figure := make_three_point(line.said.price)) is not None]
        return add_up(figures) if figures else None


def add_up_sale(
    prices: Iterable[SalePrice], parts: Iterable[GradedPart], held: Mapping[int, str] | None = None
) -> SaleOfParts:
    """What the parts would fetch, without those that are held back.

    Args:
        prices: what the owner recorded of each. parts: every part.
        held: parts that something else holds back, with why: a pattern for one that is missing.
    """
    parts_by_id = {part.part.id: part for part in parts}
    held_parts = held or {}
    known_prices = [price for price in prices if price.part in parts_by_id]
    lines = [
        SaleLine(
            parts_by_id[price.part],
            SalePrice(price.part, price.price, price.held or held_parts.get(price.part, ""), price.note),
        )
        for price in known_prices
    ]
    return SaleOfParts(
        tuple(line for line in lines if not line.said.held),
        tuple(line for line in lines if line.said.held),
        len(parts_by_id),
    )


@dataclass(frozen=True, slots=True)
class CostAgainstWorth:
    """The cost against the range of worth.

    ``worth``: its ends, where the cost breaks even. ``can_spend``: by the old rule, worth when done less what the heap
    cost, at the low and the high end of worth. ``rest``: what is expected to be spent on everything but the heap.
    ``left``: worth less all that is expected to be spent, at either end; below nought it costs more than it is worth.
    """

    heap: Decimal
    worth: tuple[Decimal, Decimal]
    can_spend: tuple[Decimal, Decimal]
    rest: Decimal
    left: tuple[Decimal, Decimal]


def compare_cost(money: Money, worth: Worth | None) -> CostAgainstWorth | None:
    """The cost against the worth; None while either the worth or what the heap cost is not known."""
    heap = money.heap
    if worth is None or heap is None:
        return None
    expected = money.whole.expected
    return CostAgainstWorth(
        heap,
        (worth.low, worth.high),
        (worth.low - heap, worth.high - heap),
        expected - heap,
        (worth.low - expected, worth.high - expected),
    )
