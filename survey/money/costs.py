"""What it will cost: line by line a low, a likely and a high figure, and a range for the whole with how it was got.

The three-point method is that of D. G. Malcolm, J. H. Roseboom, C. E. Clark and W. Fazar, "Application of a technique
for research and development program evaluation", Operations Research 7(5), 1959, pages 646-669: of a low, a likely and
a high figure (low + 4 x likely + high) / 6 is expected, with a standard deviation of (high - low) / 6. Over a sum the
expected figures add up and the squares of the deviations do, if no line has to do with another. Lines do have to do
with each other, so the sums of all lows and of all highs are given beside the range.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property

from survey.model.money import _PENNY, LINE_KINDS, NIL, LineKind, MoneyLine, ThreePoint
from survey.model.outwork import Batch
from survey.model.price import Price
from survey.model.wants import Want
from survey.wants.want_lines import WantLine

_DEVIATIONS = 2


@dataclass(frozen=True, slots=True)
class Total:
    """The sum of several figures of three.

    ``low``, ``high``: the sums of all lows and all highs. ``least``, ``most``: the range (see ``METHOD``).
    """

    low: Decimal = NIL
    expected: Decimal = NIL
    high: Decimal = NIL
    deviation: Decimal = NIL
    least: Decimal = NIL
    most: Decimal = NIL


def add_up(figures: Iterable[ThreePoint]) -> Total:
    """Adds up: the expected figures to the penny, the deviations by the root of the sum of their squares."""
    all_figures = tuple(figures)
    low, high = sum((figure.low for figure in all_figures), NIL), sum((figure.high for figure in all_figures), NIL)
    expected = sum((figure.expected for figure in all_figures), NIL)
    squares = sum(((figure.high - figure.low) ** 2 for figure in all_figures), NIL)
    deviation = (squares.sqrt() / 6).quantize(_PENNY, ROUND_HALF_UP)
    spread = _DEVIATIONS * deviation
    return Total(low, expected, high, deviation, max(low, expected - spread), min(high, expected + spread))


@dataclass(frozen=True)
class Money:
    """Every line with its sums. ``contingency``: the owner's own per cent on what is still to be paid, or None.

    Each sum is asked for many times over on one page, so each is made once; hence no slots.
    """

    lines: tuple[MoneyLine, ...]
    contingency: Decimal | None = None

    @cached_property
    def whole(self) -> Total:
        """What all of it costs, with what is spent."""
        return add_up(line.counted for line in self.lines)

    @cached_property
    def spent(self) -> Decimal:
        """What is paid so far."""
        return sum((line.spent for line in self.lines), NIL)

    @cached_property
    def committed(self) -> Decimal:
        """What is expected to be paid yet on lines that are committed."""
        return sum((line.to_pay for line in self.lines if line.state == "committed"), NIL)

    @cached_property
    def to_come(self) -> Decimal:
        """What is expected to be paid yet on lines that are guesses."""
        return sum((line.to_pay for line in self.lines if line.state == "guess"), NIL)

    @cached_property
    def set_aside(self) -> Decimal:
        """The owner's contingency on what is still to be paid."""
        share = (self.contingency or NIL) / 100
        return ((self.committed + self.to_come) * share).quantize(_PENNY, ROUND_HALF_UP)

    @cached_property
    def unpriced(self) -> tuple[MoneyLine, ...]:
        """Lines without a price."""
        return tuple(line for line in self.lines if line.unpriced)

    @cached_property
    def open_ended(self) -> tuple[MoneyLine, ...]:
        """Guesses without a high figure."""
        return tuple(line for line in self.lines if line.open_ended)

    @cached_property
    def at_least(self) -> bool:
        """Whether the sums are only what it costs at least."""
        return bool(self.unpriced or self.open_ended)

    @cached_property
    def heap(self) -> Decimal | None:
        """What the heap itself cost; None where it is not recorded."""
        machine_lines = [line for line in self.lines if line.kind == "machine" and not line.unpriced]
        return sum((line.counted.expected for line in machine_lines), NIL) if machine_lines else None

    def of_kind(self) -> dict[LineKind, tuple[MoneyLine, ...]]:
        """The lines by kind, kinds in their order, those without a line left out."""
        by_kind = {kind: tuple(line for line in self.lines if line.kind == kind) for kind in LINE_KINDS}
        return {kind: kind_lines for kind, kind_lines in by_kind.items() if kind_lines}


def make_want_lines(lines: Iterable[WantLine], said: Iterable[Want], own: Sequence[MoneyLine]) -> tuple[MoneyLine, ...]:
    """The wants as lines of money.

    What is bought or here costs, even where nothing is wanted any more. A line of the owner's own that pays for a want
    replaces it.

    Args:
        lines: everything that is wanted. said: the owner's record of each. own: the owner's own lines.
    """
    needed_lines = tuple(line for line in lines if line.count or line.state in ("bought", "here"))
    listed_wants = {line.said.id for line in needed_lines if line.said}
    paid_wants = {line.want for line in own if line.want is not None}
    money_lines = [
        _make_want_line(line.said, line.component.id if line.component else None, line.label)
        for line in needed_lines
        if line.said is None or line.said.id not in paid_wants
    ]
    other_wants = (
        want for want in said if want.state in ("bought", "here") and want.id not in listed_wants | paid_wants
    )
    return (
        *money_lines,
        *(_make_want_line(want, want.component, want.label or want.component or "") for want in other_wants),
    )


def _make_want_line(want: Want | None, component: str | None, label: str) -> MoneyLine:
    committed = want is not None and want.state in ("bought", "here")
    return MoneyLine(
        key=f"want-{component or (want.id if want else '')}",
        what=label,
        kind="part",
        origin="want",
        price=want.price if want else Price(),
        state="committed" if committed else "guess",
        note=want.who if want else "",
        component=component,
        want=want.id if want else None,
    )


def make_outwork_lines(batches: Iterable[Batch]) -> tuple[MoneyLine, ...]:
    """Batches of outwork as lines of money: committed once its price is agreed or it has left.

    What was paid for a batch that is back is all that it cost (judgement).
    """
    return tuple(_make_batch_line(batch) for batch in batches)


def _make_batch_line(batch: Batch) -> MoneyLine:
    is_committed = batch.agreed or batch.state != "draft" or bool(batch.paid)
    is_settled = batch.state == "back" and batch.paid is not None
    return MoneyLine(
        key=f"outwork-{batch.id}",
        what=batch.name,
        kind="outwork",
        origin="outwork",
        price=batch.price,
        state="paid" if is_settled else "committed" if is_committed else "guess",
        spent=batch.paid or NIL,
        spent_at=batch.back_at if is_settled else "",
        batch=batch.id,
    )
