"""The range of cost against the range of worth, drawn: SVG that takes its ink from its place and prints in one ink.

A thin line runs from the sum of all lows to the sum of all highs, a bar over the range, a heavy stroke stands at what
is expected. What is spent is solid; a worth is an open frame with a disc for each price that was paid and a ring for
each that was only asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from html import escape

from survey.document.sheet import Drawing
from survey.model.money import NIL
from survey.money.costs import Money, Total
from survey.money.worth import Worth
from survey.prices import format_money

_WIDE = 360
_EDGE = 10
_ROW = 62
_BAR = 16
_TICKS_AT_MOST = 5


@dataclass(frozen=True, slots=True)
class _Scale:
    """Money to pixels across."""

    top: Decimal
    step: Decimal

    def x(self, amount: Decimal) -> str:
        """Where an amount stands across."""
        share = float(amount / self.top)
        return f"{_EDGE + min(max(share, 0.0), 1.0) * (_WIDE - 2 * _EDGE):.1f}"


CAPTION = (
    "Thin line: from all lows to all highs. Bar: the range, with a heavy stroke at what is expected. Solid: what is "
    "spent. Open frame: what it may be worth, with a disc for a price that was paid, a ring for one only asked."
)
"""How to read it."""


def draw_money(money: Money, worth: Worth | None, parts: Total | None, currency: str) -> Drawing | None:
    """The drawing, 360 units wide; None where there is nothing to draw."""
    whole = money.whole
    seen = (worth.high, *(one.price for one in worth.comparisons)) if worth else ()
    highest = max(whole.high, *seen, parts.high if parts else NIL)
    if highest <= 0:
        return None
    scale = _scale(highest)
    rows = [_cost(money, scale, currency, 0)]
    if worth is not None:
        rows.append(_worth(worth, scale, currency, _ROW * len(rows)))
    if parts is not None:
        rows.append(_parts(parts, scale, currency, _ROW * len(rows)))
    high = _ROW * len(rows) + 26
    told = _in_words(money, worth, parts, currency)
    svg = (
        f'<svg class="money-drawing" viewBox="0 0 {_WIDE} {high}" role="img" aria-label="{escape(told, quote=True)}"'
        f' fill="none" stroke="currentColor" font-size="13">{"".join(rows)}{_axis(scale, currency, high - 24)}</svg>'
    )
    return Drawing(svg, told, CAPTION)


def _scale(highest: Decimal) -> _Scale:
    """Steps of 1, 2 or 5 times a power of ten, at most five of them to above the highest amount."""
    size = Decimal(10) ** (highest.adjusted() - 1)
    steps = (size * factor for factor in (1, 2, 5, 10, 20, 50))
    step = next(step for step in steps if highest <= step * _TICKS_AT_MOST)
    return _Scale(step * (highest / step).to_integral_value(ROUND_CEILING), step)


def _axis(scale: _Scale, currency: str, y: int) -> str:
    drawn = [f'<path d="M{_EDGE} {y}H{_WIDE - _EDGE}"/>']
    for number in range(int(scale.top / scale.step) + 1):
        x = scale.x(scale.step * number)
        last = scale.step * number == scale.top
        anchor = "start" if number == 0 else "end" if last else "middle"
        at = _EDGE if number == 0 else _WIDE - _EDGE if last else x
        drawn.append(f'<path d="M{x} {y}v5"/>')
        drawn.append(_text(at, y + 18, _round(scale.step * number, currency), anchor))
    return "".join(drawn)


def _cost(money: Money, scale: _Scale, currency: str, y: int) -> str:
    whole = money.whole
    words = _cost_words(money, currency)
    spent = (
        f'<rect x="{_EDGE}" y="{y + 30}" width="{float(scale.x(money.spent)) - _EDGE:.1f}" height="{_BAR - 8}"'
        ' fill="currentColor" stroke="none"/>'
        if money.spent
        else ""
    )
    arrow = ""
    if money.at_least:
        x = float(scale.x(whole.high))
        arrow = f'<path d="M{x - 5:.1f} {y + 29}l5 5l-5 5" stroke-width="1.6"/>'
    return _text(_EDGE, y + 16, words) + _bar(whole, scale, y + 26) + spent + arrow


def _cost_words(money: Money, currency: str) -> str:
    whole = money.whole
    if money.at_least:
        return f"Cost: at least {_round(whole.low, currency)}; some lines lack a figure"
    return f"Cost: {_round(whole.least, currency)} to {_round(whole.most, currency)}"


def _parts(parts: Total, scale: _Scale, currency: str, y: int) -> str:
    words = f"Sold as parts: {_round(parts.least, currency)} to {_round(parts.most, currency)}"
    return _text(_EDGE, y + 16, words) + _bar(parts, scale, y + 26)


def _bar(found: Total, scale: _Scale, y: int) -> str:
    low, least, expected, most, high = map(
        scale.x, (found.low, found.least, found.expected, found.most, found.high)
    )  # fmt: skip
    middle = y + _BAR // 2
    return (
        f'<path d="M{low} {middle}H{high}M{low} {middle - 4}v8M{high} {middle - 4}v8"/>'
        f'<rect x="{least}" y="{y}" width="{max(0.0, float(most) - float(least)):.1f}" height="{_BAR}"'
        ' fill="currentColor" fill-opacity="0.22"/>'
        f'<path d="M{expected} {y - 3}v{_BAR + 6}" stroke-width="3"/>'
    )


def _worth(worth: Worth, scale: _Scale, currency: str, y: int) -> str:
    words = f"Worth when done: {_round(worth.low, currency)} to {_round(worth.high, currency)}"
    low, high = scale.x(worth.low), scale.x(worth.high)
    wide = max(0.0, float(high) - float(low))
    dots = "".join(
        f'<circle cx="{scale.x(one.price)}" cy="{y + 34}" r="3.5" fill="{"currentColor" if one.sold else "none"}"/>'
        for one in worth.comparisons
    )
    frame = f'<rect x="{low}" y="{y + 26}" width="{wide:.1f}" height="{_BAR}" stroke-width="1.6"/>'
    return _text(_EDGE, y + 16, words) + frame + dots


def _text(x: object, y: int, words: str, anchor: str = "start") -> str:
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}" fill="currentColor" stroke="none">{escape(words)}</text>'


def _round(amount: Decimal, currency: str) -> str:
    return format_money(amount.quantize(Decimal(1)), currency).removesuffix(".00")


def _in_words(money: Money, worth: Worth | None, parts: Total | None, currency: str) -> str:
    whole = money.whole
    told = [
        f"{_cost_words(money, currency)}; {_round(whole.expected, currency)} expected,"
        f" {_round(money.spent, currency)} spent."
    ]
    if worth is not None:
        told.append(f"Worth when done: {_round(worth.low, currency)} to {_round(worth.high, currency)}.")
    if parts is not None:
        told.append(f"Sold as parts: {_round(parts.least, currency)} to {_round(parts.most, currency)}.")
    return " ".join(told)
