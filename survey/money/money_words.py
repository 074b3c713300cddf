"""The reckoning in words ready to print: every line, the sums, the worth, the parts, and how each figure was got. Pure.

Figures only: nothing here advises anybody to buy, to sell or to begin.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from survey.model.money import LINE_KINDS, LINE_WORDS, METHOD, NIL, Comparison, MoneyLine
from survey.money.costs import Money, Total
from survey.money.worth import CostAgainstWorth, SaleLine, SaleOfParts, Worth, describe_age
from survey.prices import format_money, format_price
from survey.words import format_day

_LABELS_AT_MOST = 6
_Format = Callable[[Decimal], str]


@dataclass(frozen=True, slots=True)
class MoneyEntry:
    """A line: what it is, its figures as written, what is expected, its state, what is spent and the receipt."""

    key: str
    what: str
    figures: str
    expected: str
    state: str
    spent: str
    about: str

    @property
    def stands(self) -> str:
        """Its state and what is spent; one of them where both say the same."""
        words = (self.state, self.spent) if self.state != LINE_WORDS["paid"] else (self.spent or self.state,)
        return ", ".join(filter(None, words))


@dataclass(frozen=True, slots=True)
class MoneyGroup:
    """The lines of one kind, with what is expected of them together."""

    label: str
    entries: tuple[MoneyEntry, ...]
    expected: str


@dataclass(frozen=True, slots=True)
class ComparisonEntry:
    """A comparison: what it was, its price, what this machine would be worth by it, when and where."""

    id: int
    what: str
    price: str
    ends: str
    about: str


@dataclass(frozen=True, slots=True)
class SaleEntry:
    """A part with what it would fetch, or why it is held back."""

    part: int
    label: str
    price: str
    about: str


@dataclass(frozen=True, slots=True)
class MoneyWords:
    """The whole reckoning as printed.

    ``head``: in one sentence. ``sums``: name and amount. ``short``: what lacks, so that the sums are only the least;
    empty where nothing does. ``against``: sentences that set the cost against the worth.
    """

    head: str
    sums: tuple[tuple[str, str], ...]
    short: tuple[str, ...]
    method: str
    groups: tuple[MoneyGroup, ...]
    worth: str
    comparisons: tuple[ComparisonEntry, ...]
    against: tuple[str, ...]
    breaking: str
    sales: tuple[SaleEntry, ...]
    held: tuple[SaleEntry, ...]


def gather_money(
    money: Money,
    worth: Worth | None,
    breaking: SaleOfParts,
    against: CostAgainstWorth | None,
    currency: str,
    today: str,
) -> MoneyWords:
    """Everything in words. ``today``: date ``YYYY-MM-DD`` from which ages are counted."""

    def format_amount(amount: Decimal) -> str:
        return format_money(amount, currency)

    return MoneyWords(
        head=_describe_head(money, format_amount),
        sums=_list_sums(money, format_amount),
        short=_describe_lacks(money),
        method=METHOD,
        groups=tuple(
            MoneyGroup(
                LINE_KINDS[kind],
                tuple(_make_entry(line, currency) for line in kind_lines),
                format_amount(sum((line.counted.expected for line in kind_lines), Decimal())),
            )
            for kind, kind_lines in money.of_kind().items()
        ),
        worth=_describe_worth(worth, format_amount, today),
        comparisons=tuple(_make_comparison_entry(comparison, format_amount, today) for comparison in worth.comparisons)
        if worth
        else (),
        against=_describe_against(money, against, breaking.sum, format_amount),
        breaking=_describe_sale(breaking, format_amount),
        sales=tuple(_make_sale_entry(line, currency) for line in breaking.counted),
        held=tuple(_make_sale_entry(line, currency) for line in breaking.held),
    )


def _describe_head(money: Money, format_amount: _Format) -> str:
    if not money.lines:
        return "Nothing that costs is written down yet."
    whole = money.whole
    if all(line.unpriced for line in money.lines) and not money.spent:
        return "Not known yet: no line has a figure."
    if money.at_least:
        expected = format_amount(whole.expected)
        return f"At least {format_amount(whole.low)} in all; of what has a figure {expected} is expected."
    ends = f"from {format_amount(whole.least)} to {format_amount(whole.most)}"
    return f"Expected {format_amount(whole.expected)} in all, {ends}."


def _list_sums(money: Money, format_amount: _Format) -> tuple[tuple[str, str], ...]:
    whole, at_least = money.whole, "at least " if money.at_least else ""
    range_label = "Range of what has figures" if money.at_least else "Range"
    rows = [
        ("Spent to date", format_amount(money.spent)),
        ("Committed, still to pay", format_amount(money.committed)),
        ("Guessed, still to come", at_least + format_amount(money.to_come)),
        ("Expected in all", at_least + format_amount(whole.expected)),
        (
            f"{range_label}, two standard deviations either way",
            f"{format_amount(whole.least)} to {format_amount(whole.most)}",
        ),
        ("Standard deviation", format_amount(whole.deviation)),
        ("If everything goes well together", at_least + format_amount(whole.low)),
        ("If everything goes wrong together", at_least + format_amount(whole.high)),
    ]
    if money.contingency is not None:
        share = f"{money.contingency.normalize():f}"
        rows.append((f"Your contingency, {share} per cent of what is still to be paid", format_amount(money.set_aside)))
        rows.append(("Expected with your contingency", at_least + format_amount(whole.expected + money.set_aside)))
    return tuple(rows)


def _describe_lacks(money: Money) -> tuple[str, ...]:
    sentences = []
    if money.unpriced:
        sentences.append(
            f"{_count_lines(money.unpriced)} no price: {_join_labels(line.what for line in money.unpriced)}."
        )
    if money.open_ended:
        sentences.append(
            f"{_count_lines(money.open_ended)} no high figure: {_join_labels(line.what for line in money.open_ended)}."
        )
    return tuple(sentences)


def _count_lines(lines: Sequence[MoneyLine]) -> str:
    return "1 line has" if len(lines) == 1 else f"{len(lines)} lines have"


def _join_labels(labels: Iterable[str]) -> str:
    all_labels = list(labels)
    more = len(all_labels) - _LABELS_AT_MOST
    return ", ".join(all_labels[:_LABELS_AT_MOST]) + (f" and {more} more" if more > 0 else "")


def _make_entry(line: MoneyLine, currency: str) -> MoneyEntry:
    figures = line.figures
    paid = f"{format_money(line.spent, currency)} paid{f' on {format_day(line.spent_at)}' if line.spent_at else ''}"
    about = [f"receipt: {line.receipt}" if line.receipt else "", line.note]
    return MoneyEntry(
        key=line.key,
        what=line.what,
        figures=format_price(line.price, currency),
        expected=format_money(figures.expected, currency) if figures else "",
        state=LINE_WORDS[line.state] if figures else "no price",
        spent=paid if line.spent else "",
        about="; ".join(filter(None, about)),
    )


def _describe_worth(worth: Worth | None, format_amount: _Format, today: str) -> str:
    if worth is None:
        return "Not known: no comparison is written down."
    count = len(worth.comparisons)
    newest, oldest = worth.comparisons[0], worth.comparisons[-1]
    count_text = "1 comparison" if count == 1 else f"{count} comparisons"
    age = f"{describe_age(newest.seen_on, today)} old"
    if count > 1:
        age = f"the newest {age}, the oldest {describe_age(oldest.seen_on, today)}"
    asked_note = f" In {worth.only_asked} of them the price was only asked." if worth.only_asked else ""
    return f"{format_amount(worth.low)} to {format_amount(worth.high)} when done, from {count_text}, {age}.{asked_note}"


def _make_comparison_entry(comparison: Comparison, format_amount: _Format, today: str) -> ComparisonEntry:
    low, high = comparison.ends
    about = [
        "sold" if comparison.sold else "only asked", comparison.condition,
        f"{format_day(comparison.seen_on)}, {describe_age(comparison.seen_on, today)} ago", comparison.where,
        comparison.note,
    ]  # fmt: skip
    ends = format_amount(low) if low == high else f"{format_amount(low)} to {format_amount(high)}"
    return ComparisonEntry(
        comparison.id, comparison.what, format_amount(comparison.price), ends, "; ".join(filter(None, about))
    )


def _describe_against(
    money: Money, comparison: CostAgainstWorth | None, parts: Total | None, format_amount: _Format
) -> tuple[str, ...]:
    sentences = []
    if comparison is None:
        sentences.append(
            "How the cost stands against the worth is not known: it needs what the heap itself cost and a comparison."
        )
    else:
        least = "at least " if money.at_least else ""
        low, high = comparison.can_spend
        to_spend = _format_span((max(NIL, low), max(NIL, high)), format_amount) if high > 0 else "nothing"
        sentences.append(
            f"By the old rule, worth when done less the price paid ({format_amount(comparison.heap)}), {to_spend}"
            f" can be spent on it; {least}{format_amount(comparison.rest)} is expected."
        )
        meets = (
            f"It breaks even where all of it costs what it is worth: {_format_span(comparison.worth, format_amount)}."
        )
        lack = "; some lines still lack a figure" if money.at_least else ""
        ends = " to ".join(dict.fromkeys(_describe_difference(left, format_amount) for left in comparison.left))
        sentences.append(f"{meets} What is expected is {ends} than that{lack}.")
    heap = money.heap
    if parts is not None and heap is not None:
        sentences.append(
            f"Sold as parts, {format_amount(parts.expected)} is expected"
            f" ({format_amount(parts.least)} to {format_amount(parts.most)});"
            f" the heap cost {format_amount(heap)}."
        )
    return tuple(sentences)


def _describe_difference(left: Decimal, format_amount: _Format) -> str:
    return f"{format_amount(left)} less" if left >= 0 else f"{format_amount(-left)} more"


def _format_span(ends: tuple[Decimal, Decimal], format_amount: _Format) -> str:
    low, high = ends
    return format_amount(low) if low == high else f"{format_amount(low)} to {format_amount(high)}"


def _describe_sale(breaking: SaleOfParts, format_amount: _Format) -> str:
    total = breaking.sum
    held_note = f" {len(breaking.held)} held back, not counted." if breaking.held else ""
    if total is None:
        return f"Not known: none of {breaking.of_parts} parts has a price.{held_note}"
    priced = len(breaking.counted)
    return (
        f"{format_amount(total.expected)} expected, {format_amount(total.least)} to {format_amount(total.most)},"
        f" for {priced} of {breaking.of_parts} parts; the others count as nothing.{held_note}"
    )


def _make_sale_entry(line: SaleLine, currency: str) -> SaleEntry:
    held_note = f"held back: {line.said.held}" if line.said.held else ""
    about = "; ".join(filter(None, (held_note, line.said.note)))
    return SaleEntry(line.said.part, line.label, format_price(line.said.price, currency), about)
