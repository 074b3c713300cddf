"""Lines of cost, prices of like machines, and what parts would fetch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from survey.model.price import Price


@dataclass(frozen=True, slots=True)
class Comparison:
    """A like machine that was sold, or that somebody asks a price for.

    ``seen_on``: date ``YYYY-MM-DD``. ``sold``: False where the price was only asked. ``low``, ``high``: what the owner
    makes of that price for this machine, allowing for condition and papers; None: the price itself.
    """

    id: int
    what: str
    seen_on: str
    price: Decimal
    sold: bool = True
    condition: str = ""
    where: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    note: str = ""

    @property
    def ends(self) -> tuple[Decimal, Decimal]:
        """From what to what this machine would be worth by that one."""
        low = self.price if self.low is None else self.low
        high = self.price if self.high is None else self.high
        return min(low, high), max(low, high)


@dataclass(frozen=True, slots=True)
class SalePrice:
    """What a part would fetch. ``held``: why it is held back and not counted, for example as a pattern; else empty."""

    part: int
    price: Price
    held: str = ""
    note: str = ""


LineState = Literal["guess", "committed", "paid"]

LINE_STATES: tuple[LineState, ...] = ("guess", "committed", "paid")

LINE_WORDS: Mapping[LineState, str] = {"guess": "guess", "committed": "committed", "paid": "paid"}

LineKind = Literal["machine", "part", "outwork", "consumables", "paperwork", "carriage", "tools", "other"]

LINE_KINDS: Mapping[LineKind, str] = {
    "machine": "The heap itself", "part": "Parts", "outwork": "Outwork", "consumables": "Consumables",
    "paperwork": "Papers", "carriage": "Carriage", "tools": "Tools", "other": "Other",
}  # fmt: skip

Origin = Literal["own", "want", "outwork"]

METHOD = (
    "Three-point method (Malcolm, Roseboom, Clark and Fazar, Operations Research 7(5), 1959): expected is (low + 4 × "
    "likely + high) / 6 of each line, its standard deviation (high − low) / 6. The range of the whole is the sum of "
    "what is expected, less and plus two standard deviations, and never beyond the sums of all lows and all highs. It "
    "takes the lines to be independent of each other: where one trouble brings the next, the sum of all highs is "
    "nearer."
)
"""How the range was got, in words."""

NIL = Decimal("0.00")

_PENNY = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class ThreePoint:
    """A low, a likely and a high figure, in this order, each to the penny."""

    low: Decimal
    likely: Decimal
    high: Decimal

    @property
    def expected(self) -> Decimal:
        """(low + 4 x likely + high) / 6, to the nearest penny."""
        return ((self.low + 4 * self.likely + self.high) / 6).quantize(_PENNY, ROUND_HALF_UP)

    @property
    def deviation(self) -> Decimal:
        """The standard deviation (high - low) / 6, to the nearest penny."""
        return ((self.high - self.low) / 6).quantize(_PENNY, ROUND_HALF_UP)


def make_three_point(price: Price) -> ThreePoint | None:
    """The three figures of a price; None where none is given.

    What is not given is taken from what is (judgement): low and high from the nearest figure, likely from their
    middle.
    """
    given = [figure for figure in (price.low, price.likely, price.high) if figure is not None]
    if not given:
        return None
    low, high = given[0], given[-1]
    middle = ((low + high) / 2).quantize(_PENNY, ROUND_HALF_UP)
    return ThreePoint(low, middle if price.likely is None else price.likely, high)


@dataclass(frozen=True, slots=True)
class MoneyLine:
    """One thing that costs.

    Attributes:
        key: names the line: ``own-3``, ``want-B140``, ``want-7`` (a want of the owner's own), ``outwork-2``.
        price: for all pieces together. spent: paid so far; with the state ``paid`` it is all that it cost.
        spent_at: date ``YYYY-MM-DD`` or empty. receipt: where the proof of it is.
        own: the number of the owner's own row, where there is one.
        component, want: what is wanted, where the line comes from a want or pays for one.
        batch: the batch of outwork that it is for.
    """

    key: str
    what: str
    kind: LineKind
    origin: Origin
    price: Price = field(default=Price())
    state: LineState = "guess"
    spent: Decimal = NIL
    spent_at: str = ""
    receipt: str = ""
    note: str = ""
    own: int | None = None
    component: str | None = None
    want: int | None = None
    batch: int | None = None

    @property
    def figures(self) -> ThreePoint | None:
        """What it costs in the end, never less than is spent; None where it is not known."""
        if self.state == "paid":
            return ThreePoint(self.spent, self.spent, self.spent)
        price = make_three_point(self.price)
        if price is None:
            return None
        return ThreePoint(max(price.low, self.spent), max(price.likely, self.spent), max(price.high, self.spent))

    @property
    def counted(self) -> ThreePoint:
        """What of it counts in the sums: its figures, or what is spent where there are none."""
        return self.figures or ThreePoint(self.spent, self.spent, self.spent)

    @property
    def unpriced(self) -> bool:
        """Whether it is not known what it costs."""
        return self.figures is None

    @property
    def open_ended(self) -> bool:
        """Whether it has a figure and may cost more than any: a guess without a high one."""
        agreed = self.state == "paid" or (self.state == "committed" and self.price.likely is not None)
        return not self.unpriced and self.price.high is None and not agreed

    @property
    def to_pay(self) -> Decimal:
        """What is expected to be paid yet."""
        return self.counted.expected - self.spent
