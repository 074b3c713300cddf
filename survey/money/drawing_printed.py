"""The range of cost against the range of worth, drawn: SVG that takes its ink from its place and prints in one ink.

A thin line runs from the sum of all lows to the sum of all highs, a bar over the range, a heavy stroke marks what
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
        """The x coordinate of an amount."""
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
    worth_amounts = (worth.high, *(comparison.price for comparison in worth.comparisons)) if worth else ()
    highest = max(whole.high, *worth_amounts, parts.high if parts else NIL)
    if highest <= 0:
        return None
    scale = _make_scale(highest)
    rows = [_draw_cost(money, scale, currency, 0)]
    if worth is not None:
        rows.append(_draw_worth(worth, scale, currency, _ROW * len(rows)))
    if parts is not None:
        rows.append(_draw_parts(parts, scale, currency, _ROW * len(rows)))
    height = _ROW * len(rows) + 26
    alt = _describe_drawing(money, worth, parts, currency)
    svg = (
        f'<svg class="money-drawing" viewBox="0 0 {_WIDE} {height}" role="img" aria-label="{escape(alt, quote=True)}"'
        f' fill="none" stroke="currentColor" font-size="13">'
        f"{''.join(rows)}{_draw_axis(scale, currency, height - 24)}</svg>"
    )
    return Drawing(svg, alt, CAPTION)


def _make_scale(highest: Decimal) -> _Scale:
    """Steps of 1, 2 or 5 times a power of ten, at most five of them to above the highest amount."""
    size = Decimal(10) ** (highest.adjusted() - 1)
    steps = (size * factor for factor in (1, 2, 5, 10, 20, 50))
    step = next(step for step in steps if highest <= step * _TICKS_AT_MOST)
    return _Scale(step * (highest / step).to_integral_value(ROUND_CEILING), step)


def _draw_axis(scale: _Scale, currency: str, y: int) -> str:
    elements = [f'<path d="M{_EDGE} {y}H{_WIDE - _EDGE}"/>']
    for number in range(int(scale.top / scale.step) + 1):
        x = scale.x(scale.step * number)
        is_last = scale.step * number == scale.top
        anchor = "start" if number == 0 else "end" if is_last else "middle"
        at = _EDGE if number == 0 else _WIDE - _EDGE if is_last else x
        elements.append(f'<path d="M{x} {y}v5"/>')
        elements.append(_draw_text(at, y + 18, _format_round(scale.step * number, currency), anchor))
    return "".join(elements)


def _draw_cost(money: Money, scale: _Scale, currency: str, y: int) -> str:
    whole = money.whole
    words = _describe_cost(money, currency)
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
    return _draw_text(_EDGE, y + 16, words) + _draw_bar(whole, scale, y + 26) + spent + arrow


def _describe_cost(money: Money, currency: str) -> str:
    whole = money.whole
    if money.at_least:
        return f"Cost: at least {_format_round(whole.low, currency)}; some lines lack a figure"
    return f"Cost: {_format_round(whole.least, currency)} to {_format_round(whole.most, currency)}"


def _draw_parts(parts: Total, scale: _Scale, currency: str, y: int) -> str:
    words = f"Sold as parts: {_format_round(parts.least, currency)} to {_format_round(parts.most, currency)}"
    return _draw_text(_EDGE, y + 16, words) + _draw_bar(parts, scale, y + 26)


def _draw_bar(total: Total, scale: _Scale, y: int) -> str:
    low, least, expected, most, high = map(
        scale.x, (total.low, total.least, total.expected, total.most, total.high)
    )  # fmt: skip
    middle = y + _BAR // 2
    return (
        f'<path d="M{low} {middle}H{high}M{low} {middle - 4}v8M{high} {middle - 4}v8"/>'
        f'<rect x="{least}" y="{y}" width="{max(0.0, float(most) - float(least)):.1f}" height="{_BAR}"'
        ' fill="currentColor" fill-opacity="0.22"/>'
        f'<path d="M{expected} {y - 3}v{_BAR + 6}" stroke-width="3"/>'
    )


def _draw_worth(worth: Worth, scale: _Scale, currency: str, y: int) -> str:
    words = f"Worth when done: {_format_round(worth.low, currency)} to {_format_round(worth.high, currency)}"
    low, high = scale.x(worth.low), scale.x(worth.high)
    width = max(0.0, float(high) - float(low))
    dots = "".join(
        f'<circle cx="{scale.x(comparison.price)}" cy="{y + 34}" r="3.5"'
        f' fill="{"currentColor" if comparison.sold else "none"}"/>'
        for comparison in worth.comparisons
    )
    frame = f'<rect x="{low}" y="{y + 26}" width="{width:.1f}" height="{_BAR}" stroke-width="1.6"/>'
    return _draw_text(_EDGE, y + 16, words) + frame + dots


def _draw_text(x: object, y: int, words: str, anchor: str = "start") -> str:
    return f'<text x="{x}" y="{y}" text-anchor="{anchor}" fill="currentColor" stroke="none">{escape(words)}</text>'


def _format_round(amount: Decimal, currency: str) -> str:
    return format_money(amount.quantize(Decimal(1)), currency).removesuffix(".00")


def _describe_drawing(money: Money, worth: Worth | None, parts: Total | None, currency: str) -> str:
    whole = money.whole
    sentences = [
        f"{_describe_cost(money, currency)}; {_format_round(whole.expected, currency)} expected,"
        f" {_format_round(money.spent, currency)} spent."
    ]
    if worth is not None:
        sentences.append(
            f"Worth when done: {_format_round(worth.low, currency)} to {_format_round(worth.high, currency)}."
        )
    if parts is not None:
        sentences.append(
            f"Sold as parts: {_format_round(parts.least, currency)} to {_format_round(parts.most, currency)}."
        )
    return " ".join(sentences)
