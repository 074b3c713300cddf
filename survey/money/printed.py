"""Money as sections of the report and of a valuer's copy. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from survey.document.sheet import Block, Drawing, Line, Section, Table
from survey.money.money_words import MoneyEntry, MoneyGroup, MoneyWords


def make_money_section(money: MoneyWords, drawing: Drawing | None = None) -> Section | None:
    """What it costs, line by line, against what it may be worth. None where nothing that costs is written down."""
    if not money.groups and not money.comparisons and not money.sales:
        return None
    return Section(
        "money",
        "Money",
        (
            *_make_sum_blocks(money, drawing),
            *_make_line_blocks(money.groups),
            *_make_worth_blocks(money, money.against),
        ),
    )


def make_worth_section(money: MoneyWords) -> Section:
    """What it may be worth, for a valuer: comparisons with their dates, what its parts would fetch."""
    return Section("worth", "What it may be worth", tuple(_make_worth_blocks(money, ())))


def make_spent_section(money: MoneyWords) -> Section:
    """What has been spent, with its receipts."""
    entries = [entry for group in money.groups for entry in group.entries if entry.spent]
    rows = tuple((entry.what, entry.spent, entry.about) for entry in entries)
    total = dict(money.sums).get("Spent to date", "")
    blocks: list[Block] = [Line(f"{total} in all." if rows and total else "Nothing is written down as spent.")]
    if rows:
        blocks.append(Table(("For what", "Spent", "Receipt and remarks"), rows, (4, 4, 5)))
        blocks.append(Line("The owner's own hours are not counted."))
    return Section("spent", "What has been spent", tuple(blocks))


def _make_worth_blocks(money: MoneyWords, against: Iterable[str]) -> Iterator[Block]:
    yield Line(money.worth, head="Worth:")
    if money.comparisons:
        rows = tuple(
            (comparison.what, comparison.price, comparison.ends, comparison.about) for comparison in money.comparisons
        )
        yield Table(("A like machine", "Price", "Makes this one", "When and where"), rows, (4, 2, 3, 6), (1,))
    yield from (Line(sentence) for sentence in against)
    yield Line(money.breaking, head="Sold as parts:")


def _make_sum_blocks(money: MoneyWords, drawing: Drawing | None) -> Iterator[Block]:
    yield Line(money.head)
    yield from (Line(sentence) for sentence in money.short)
    if drawing is not None:
        yield drawing
    yield Table(("", "Amount"), money.sums, (6, 3), (1,))
    yield Line(aside=money.method)


def _make_line_blocks(groups: Iterable[MoneyGroup]) -> Iterator[Block]:
    for group in groups:
        yield Line(f"{group.expected} expected.", head=f"{group.label}.", leads=True)
        rows = tuple(_make_table_row(entry) for entry in group.entries)
        yield Table(("What", "Figures", "Expected", "Stands"), rows, (5, 4, 2, 5), (2,))


def _make_table_row(entry: MoneyEntry) -> tuple[str, ...]:
    return entry.what, entry.figures, entry.expected, "; ".join(filter(None, (entry.stands, entry.about)))
