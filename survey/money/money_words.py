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
from survey.words import day_words

_NAMED = 6
_Say = Callable[[Decimal], str]


@dataclass(frozen=True, slots=True)
class MoneyEntry:
    """A line: what it is, its figures as said, what is expected, how it stands, what is spent and the proof of it."""

    key: str
    what: str
    figures: str
    expected: str
    state: str
    spent: str
    about: str

    @property
    def stands(self) -> str:
        """How it stands and what is spent, neither said twice."""
        told = (self.state, self.spent) if self.state != LINE_WORDS["paid"] else (self.spent or self.state,)
        return ", ".join(filter(None, told))


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
    """Everything in words. ``today``: date ``YYYY-MM-DD`` from which ages are told."""

    def say(amount: Decimal) -> str:
        return format_money(amount, currency)

    return MoneyWords(
        head=_head(money, say),
        sums=_sums(money, say),
        short=_short(money),
        method=METHOD,
        groups=tuple(
            MoneyGroup(
                LINE_KINDS[kind],
                tuple(_entry(line, currency) for line in pile),
                say(sum((line.counted.expected for line in pile), Decimal())),
            )
            for kind, pile in money.of_kind().items()
        ),
        worth=_worth(worth, say, today),
        comparisons=tuple(_comparison(one, say, today) for one in worth.comparisons) if worth else (),
        against=_against(money, against, breaking.sum, say),
        breaking=_breaking(breaking, say),
        sales=tuple(_sale(line, currency) for line in breaking.counted),
        held=tuple(_sale(line, currency) for line in breaking.held),
    )


def _head(money: Money, say: _Say) -> str:
    if not money.lines:
        return "Nothing that costs is written down yet."
    whole = money.whole
    if all(line.unpriced for line in money.lines) and not money.spent:
        return "Not known yet: no line has a figure."
    if money.at_least:
        return f"At least {say(whole.low)} in all; of what has a figure {say(whole.expected)} is expected."
    return f"Expected {say(whole.expected)} in all, from {say(whole.least)} to {say(whole.most)}."


def _sums(money: Money, say: _Say) -> tuple[tuple[str, str], ...]:
    whole, at_least = money.whole, "at least " if money.at_least else ""
    of = "Range of what has figures" if money.at_least else "Range"
    told = [
        ("Spent to date", say(money.spent)),
        ("Committed, still to pay", say(money.committed)),
        ("Guessed, still to come", at_least + say(money.to_come)),
        ("Expected in all", at_least + say(whole.expected)),
        (f"{of}, two standard deviations either way", f"{say(whole.least)} to {say(whole.most)}"),
        ("Standard deviation", say(whole.deviation)),
        ("If everything goes well together", at_least + say(whole.low)),
        ("If everything goes wrong together", at_least + say(whole.high)),
    ]
    if money.contingency is not None:
        share = f"{money.contingency.normalize():f}"
        told.append((f"Your contingency, {share} per cent of what is still to be paid", say(money.set_aside)))
        told.append(("Expected with your contingency", at_least + say(whole.expected + money.set_aside)))
    return tuple(told)


def _short(money: Money) -> tuple[str, ...]:
    told = []
    if money.unpriced:
        told.append(f"{_lines(money.unpriced)} no price: {_named(line.what for line in money.unpriced)}.")
    if money.open_ended:
        told.append(f"{_lines(money.open_ended)} no high figure: {_named(line.what for line in money.open_ended)}.")
    return tuple(told)


def _lines(lines: Sequence[MoneyLine]) -> str:
    return "1 line has" if len(lines) == 1 else f"{len(lines)} lines have"


def _named(labels: Iterable[str]) -> str:
    every = list(labels)
    more = len(every) - _NAMED
    return ", ".join(every[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def _entry(line: MoneyLine, currency: str) -> MoneyEntry:
    figures = line.figures
    paid = f"{format_money(line.spent, currency)} paid{f' on {day_words(line.spent_at)}' if line.spent_at else ''}"
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


def _worth(worth: Worth | None, say: _Say, today: str) -> str:
    if worth is None:
        return "Not known: no comparison is written down."
    count = len(worth.comparisons)
    newest, oldest = worth.comparisons[0], worth.comparisons[-1]
    of = "1 comparison" if count == 1 else f"{count} comparisons"
    age = f"{describe_age(newest.seen_on, today)} old"
    if count > 1:
        age = f"the newest {age}, the oldest {describe_age(oldest.seen_on, today)}"
    asked = f" In {worth.only_asked} of them the price was only asked." if worth.only_asked else ""
    return f"{say(worth.low)} to {say(worth.high)} when done, from {of}, {age}.{asked}"


def _comparison(one: Comparison, say: _Say, today: str) -> ComparisonEntry:
    low, high = one.ends
    about = [
        "sold" if one.sold else "only asked", one.condition,
        f"{day_words(one.seen_on)}, {describe_age(one.seen_on, today)} ago", one.where, one.note,
    ]  # fmt: skip
    ends = say(low) if low == high else f"{say(low)} to {say(high)}"
    return ComparisonEntry(one.id, one.what, say(one.price), ends, "; ".join(filter(None, about)))


def _against(money: Money, found: CostAgainstWorth | None, parts: Total | None, say: _Say) -> tuple[str, ...]:
    told = []
    if found is None:
        told.append(
            "How the cost stands against the worth is not known: it needs what the heap itself cost and a comparison."
        )
    else:
        least = "at least " if money.at_least else ""
        low, high = found.can_spend
        spare = _span((max(NIL, low), max(NIL, high)), say) if high > 0 else "nothing"
        told.append(
            f"By the old rule, worth when done less the price paid ({say(found.heap)}), {spare}"
            f" can be spent on it; {least}{say(found.rest)} is expected."
        )
        meets = f"It breaks even where all of it costs what it is worth: {_span(found.worth, say)}."
        lack = "; some lines still lack a figure" if money.at_least else ""
        ends = " to ".join(dict.fromkeys(_beside(left, say) for left in found.left))
        told.append(f"{meets} What is expected is {ends} than that{lack}.")
    heap = money.heap
    if parts is not None and heap is not None:
        told.append(
            f"Sold as parts, {say(parts.expected)} is expected ({say(parts.least)} to {say(parts.most)});"
            f" the heap cost {say(heap)}."
        )
    return tuple(told)


def _beside(left: Decimal, say: _Say) -> str:
    return f"{say(left)} less" if left >= 0 else f"{say(-left)} more"


def _span(ends: tuple[Decimal, Decimal], say: _Say) -> str:
    low, high = ends
    return say(low) if low == high else f"{say(low)} to {say(high)}"


def _breaking(breaking: SaleOfParts, say: _Say) -> str:
    found = breaking.sum
    held = f" {len(breaking.held)} held back, not counted." if breaking.held else ""
    if found is None:
        return f"Not known: none of {breaking.of_parts} parts has a price.{held}"
    priced = len(breaking.counted)
    return (
        f"{say(found.expected)} expected, {say(found.least)} to {say(found.most)}, for {priced} of"
        f" {breaking.of_parts} parts; the others count as nothing.{held}"
    )


def _sale(line: SaleLine, currency: str) -> SaleEntry:
    held = f"held back: {line.said.held}" if line.said.held else ""
    about = "; ".join(filter(None, (held, line.said.note)))
    return SaleEntry(line.said.part, line.label, format_price(line.said.price, currency), about)
