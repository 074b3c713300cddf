"""What it costs: the three-point method, sums to the penny, what is only "at least", worth and breaking for parts.

Sources, by what each checks:

- the method: D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, "Application of a technique for research and
  development program evaluation", Operations Research 7(5), 1959, 646-669 (the citation was checked, the paper itself
  was not seen);
- D. R. Anderson and others, "An Introduction to Management Science" (Cengage, 2014), chapter 9, pages 384 and 386:
  activities of a project with three figures each, their expected values, a variance, the sum of the longest path;
- an example of B. W. Taylor's "Introduction to Management Science" (seen in an extract; author and title from memory):
  four activities in a row, their sum, and the chance of staying below a figure, from the table of the normal curve;
- the same by throwing dice: beta distributions drawn with the standard library's ``random``.

All of them reckon in weeks; the arithmetic is the same for money.
"""

from __future__ import annotations

import csv
import io
import random
import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from statistics import NormalDist, fmean, pstdev
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.model.grading import Verdict
from survey.model.money import (
    LINE_KINDS,
    METHOD,
    NIL,
    Comparison,
    MoneyLine,
    SalePrice,
    ThreePoint,
    make_three_point,
)
from survey.model.outwork import Batch, Trade
from survey.model.parts import GradedPart, Part
from survey.model.price import Price
from survey.model.schedule import Component
from survey.model.wants import Want
from survey.money.costs import Money, add_up, make_outwork_lines, make_want_lines
from survey.money.drawing_printed import draw_money
from survey.money.money_words import gather_money
from survey.money.table_files import write_money_csv
from survey.money.worth import add_up_sale, compare_cost, describe_age, estimate_worth
from survey.wants.want_lines import Stall, WantLine

PENCE = st.integers(0, 10_000_000).map(lambda pence: Decimal(pence) / 100)
THREES = st.tuples(PENCE, PENCE, PENCE).map(lambda three_: ThreePoint(*sorted(three_)))


def of(low: str, likely: str, high: str) -> ThreePoint:
    return ThreePoint(Decimal(low), Decimal(likely), Decimal(high))


def line(key: str = "own-1", **fields: object) -> MoneyLine:
    given_ = {"what": key, "kind": "other", "origin": "own", **fields}
    return MoneyLine(key=key, **given_)  # type: ignore[arg-type]


def price(low: str | None = None, likely: str | None = None, high: str | None = None) -> Price:
    return Price(*(None if one is None else Decimal(one) for one in (low, likely, high)))


# --- the method, against published examples

ANDERSON = {
    "A": (of("4", "5", "12"), "6.00"), "E": (of("2", "3", "4"), "3.00"), "H": (of("2.5", "3.5", "7.5"), "4.00"),
    "I": (of("1.5", "2", "2.5"), "2.00"), "J": (of("1", "2", "3"), "2.00"),
}  # fmt: skip
"""Anderson and others, table 9.4 and page 386: the activities of the longest path, and what is expected of each."""

TAYLOR = (of("5", "8", "17"), of("3", "5", "7"), of("4", "6", "8"), of("3", "4", "5"))
"""Taylor, activities 1, 3, 5 and 7: 24 weeks together; the chance of 28 at the most is .9633."""


@pytest.mark.parametrize("name", ANDERSON)
def test_what_is_expected_is_as_published(name: str) -> None:
    figures, expected = ANDERSON[name]
    assert figures.expected == Decimal(expected)


def test_the_spread_of_one_is_as_published() -> None:
    """Page 384: the variance of activity A is 1.78, the square of eight sixths."""
    deviation = float(ANDERSON["A"][0].deviation)
    assert deviation == pytest.approx(8 / 6, abs=0.005)
    assert deviation**2 == pytest.approx(1.78, abs=0.02)


def test_a_sum_is_as_published() -> None:
    """Page 386: 17 weeks. A variance of 2.72 and a deviation of 1.65 are from memory, and follow from table 9.4."""
    found = add_up(figures for figures, _ in ANDERSON.values())
    assert (found.expected, found.deviation) == (Decimal("17.00"), Decimal("1.65"))


def test_the_chance_of_staying_below_is_as_published() -> None:
    found = add_up(TAYLOR)
    assert found.expected == Decimal("24.00")
    chance = NormalDist(float(found.expected), float(found.deviation)).cdf(28)
    assert chance == pytest.approx(0.9633, abs=0.001), "the book reads a table at two decimals"


def test_the_range_holds_what_dice_throw() -> None:
    """Beta distributions of these three figures (shape 1 + 4 x share): their mean is the method's, exactly."""
    chance = random.Random(1959)
    figures = [of(str(n), str(2 * n), str(5 * n)) for n in range(20, 90, 10)]

    def thrown() -> float:
        drawn = 0.0
        for one in figures:
            low, likely, high = float(one.low), float(one.likely), float(one.high)
            first = 1 + 4 * (likely - low) / (high - low)
            drawn += low + (high - low) * chance.betavariate(first, 6 - first)
        return drawn

    throws = [thrown() for _ in range(20_000)]
    found = add_up(figures)
    assert fmean(throws) == pytest.approx(float(found.expected), rel=0.005)
    assert pstdev(throws) == pytest.approx(float(found.deviation), rel=0.1), "a sixth of the span is a rule of thumb"
    inside = sum(found.least <= Decimal(one) <= found.most for one in throws) / len(throws)
    assert 0.93 < inside < 0.98, "two standard deviations: 0.954 by the normal curve"


@given(THREES)
def test_what_is_expected_lies_between(figures: ThreePoint) -> None:
    assert figures.low <= figures.expected <= figures.high
    assert 0 <= figures.deviation <= (figures.high - figures.low) / 6 + Decimal("0.01")


@given(st.lists(THREES, max_size=12), THREES)
def test_one_line_more_never_lowers_the_sums(figures: list[ThreePoint], more: ThreePoint) -> None:
    before, after = add_up(figures), add_up([*figures, more])
    for name in ("low", "expected", "high", "deviation", "most"):
        assert getattr(after, name) >= getattr(before, name), name
    assert after.low <= after.least <= after.expected <= after.most <= after.high


@given(st.lists(THREES, max_size=12))
def test_the_sum_is_the_sum_of_what_stands_beside_each_to_the_penny(figures: list[ThreePoint]) -> None:
    found = add_up(figures)
    pence = sum(int(one.expected * 100) for one in figures)
    assert found.expected * 100 == pence
    assert found.expected.as_tuple().exponent == -2


def test_a_hundred_thirds_of_a_penny_do_not_drift() -> None:
    assert add_up([of("0.01", "0.01", "0.03")] * 300).expected == Decimal("3.00"), "each is a penny as it is shown"


# --- a line


@pytest.mark.parametrize(
    ("said", "figures"),
    [
        (price(), None),
        (price("4", "5", "12"), of("4", "5", "12")),
        (price("4", None, "12"), of("4", "8.00", "12")),
        (price(None, "5", None), of("5", "5", "5")),
        (price(None, None, "12"), of("12", "12.00", "12")),
        (price("4", "5", None), of("4", "5", "5")),
    ],
)
def test_what_was_not_said_is_taken_from_what_was(said: Price, figures: ThreePoint | None) -> None:
    assert make_three_point(said) == figures


@pytest.mark.parametrize(
    ("fields", "figures", "unpriced", "open_ended", "to_pay"),
    [
        ({"price": price("10", "20", "30")}, of("10", "20", "30"), False, False, "20.00"),
        ({"price": price("10", "20", None)}, of("10", "20", "20"), False, True, "18.33"),
        ({"price": price(None, "20", None), "state": "committed"}, of("20", "20", "20"), False, False, "20.00"),
        ({"price": price("20", None, None), "state": "committed"}, of("20", "20", "20"), False, True, "20.00"),
        ({"price": price("10", "20", "30"), "state": "paid", "spent": Decimal(14)}, of("14", "14", "14"), False, False,
         "0.00"),
        ({"price": price("10", "20", "30"), "state": "committed", "spent": Decimal(25)}, of("25", "25", "30"), False,
         False, "0.83"),
        ({"spent": Decimal(5), "state": "committed"}, None, True, False, "0.00"),
        ({}, None, True, False, "0.00"),
    ],
)  # fmt: skip
def test_a_line_costs_never_less_than_is_spent(
    fields: dict[str, object], figures: ThreePoint | None, unpriced: bool, open_ended: bool, to_pay: str
) -> None:
    found = line(**fields)
    assert (found.figures, found.unpriced, found.open_ended) == (figures, unpriced, open_ended)
    assert found.to_pay == Decimal(to_pay)


MONEY = Money((
    line("own-1", kind="machine", state="paid", spent=Decimal("260.00")),
    line("own-2", kind="outwork", price=price("75", "110", "190"), state="committed", spent=Decimal("30.00")),
    line("own-3", kind="consumables", price=price("40", "60", "110")),
), Decimal(20))  # fmt: skip


def test_spent_committed_and_to_come_make_up_the_whole() -> None:
    assert (MONEY.spent, MONEY.committed, MONEY.to_come) == (Decimal("290.00"), Decimal("87.50"), Decimal("65.00"))
    assert MONEY.spent + MONEY.committed + MONEY.to_come == MONEY.whole.expected
    assert (MONEY.set_aside, MONEY.heap, MONEY.at_least) == (Decimal("30.50"), Decimal("260.00"), False)
    assert [*MONEY.of_kind()] == [kind for kind in LINE_KINDS if kind in ("machine", "outwork", "consumables")]


@given(st.lists(st.tuples(THREES, PENCE, st.sampled_from(["guess", "committed", "paid"])), max_size=8))
def test_the_parts_of_the_whole_always_add_up(told: list[tuple[ThreePoint, Decimal, str]]) -> None:
    lines = tuple(
        line(f"own-{n}", price=Price(one.low, one.likely, one.high), spent=spent, state=state)
        for n, (one, spent, state) in enumerate(told)
    )
    found = Money(lines)
    assert found.spent + found.committed + found.to_come == found.whole.expected
    assert found.whole.low >= found.spent
    more = Money((*lines, line("own-x", price=price("1", "2", "3"), state="committed")))
    assert (more.whole.low, more.whole.expected, more.whole.high) > (
        found.whole.low, found.whole.expected, found.whole.high,
    )  # fmt: skip


def test_a_line_without_a_price_makes_the_sums_the_least() -> None:
    found = Money((*MONEY.lines, line("own-4", what="saddle"), line("own-5", what="lamp", price=price("8"))))
    assert found.at_least
    assert ([one.what for one in found.unpriced], [one.what for one in found.open_ended]) == (["saddle"], ["lamp"])
    told = gather_money(found, None, add_up_sale([], []), None, "GBP", "2026-06-30")
    assert told.head == "At least £383.00 in all; of what has a figure £450.50 is expected."
    assert told.short == ("1 line has no price: saddle.", "1 line has no high figure: lamp.")
    sums = dict(told.sums)
    assert sums["Expected in all"] == "at least £450.50"
    assert "Range, two standard deviations either way" not in sums
    assert Money((line("own-4", what="saddle"),)).whole.low == NIL


# --- where lines come from


def wanted(component: str, said: Want | None = None, count: int = 1) -> WantLine:
    piece = Component(component, f"part {component}", "Wheels", None, 1, "running", "lamp", "steel")
    return WantLine(piece, piece.label, count, (), Stall("any", "Any", ()), (), (), (), (), (), said)


def test_wants_are_lines_and_what_is_bought_is_committed() -> None:
    bought = Want(2, "B002", state="bought", price=price(None, "24", None), who="stall by the gate")
    here = Want(3, "B003", state="here", price=price("5", "5", "5"))
    promised = Want(4, "B004", state="promised", price=price("1", "2", "3"))
    idle = Want(5, "B005", state="asked")
    lines = [wanted("B001"), wanted("B002", bought), wanted("B004", promised), wanted("B005", idle, count=0)]
    found = make_want_lines(lines, [bought, here, promised, idle], [])
    assert [(one.key, one.state, one.unpriced) for one in found] == [
        ("want-B001", "guess", True), ("want-B002", "committed", False), ("want-B004", "guess", False),
        ("want-B003", "committed", False),
    ]  # fmt: skip


def test_a_line_that_pays_for_a_want_stands_in_its_place() -> None:
    said = Want(2, "B002", state="bought", price=price("1", "2", "3"))
    own = line("own-1", want=2, state="paid", spent=Decimal(4))
    assert make_want_lines([wanted("B002", said), wanted("B001")], [said], [own])[0].key == "want-B001"
    assert make_want_lines([], [said], [own]) == ()


PLATER = Trade("plate", "Plating", "plater", ("plater",), "", "")


@pytest.mark.parametrize(
    ("batch", "state", "spent"),
    [
        (Batch(1, PLATER, price=price(None, None, "60")), "guess", "0"),
        (Batch(1, PLATER, state="out"), "committed", "0"),
        (Batch(1, PLATER, agreed=True), "committed", "0"),
        (Batch(1, PLATER, state="out", paid=Decimal(20)), "committed", "20"),
        (Batch(1, PLATER, state="back", paid=Decimal(20), back_at="2026-07-01"), "paid", "20"),
        (Batch(1, PLATER, state="back"), "committed", "0"),
    ],
)
def test_outwork_is_committed_once_agreed_or_gone(batch: Batch, state: str, spent: str) -> None:
    (found,) = make_outwork_lines([batch])
    assert (found.key, found.kind, found.state, found.spent) == ("outwork-1", "outwork", state, Decimal(spent))


# --- worth

SOLD = Comparison(1, "running, older", "2026-05-17", Decimal(1450), low=Decimal(1300), high=Decimal(1500))
ASKED = Comparison(2, "shiny", "2026-02-21", Decimal(1900), sold=False, low=Decimal(1400), high=Decimal(1700))
PLAIN = Comparison(3, "no book", "2024-06-06", Decimal(1150))


def test_worth_is_a_range_from_dated_comparisons() -> None:
    found = estimate_worth([SOLD, ASKED, PLAIN])
    assert found is not None
    assert (found.low, found.high, found.only_asked) == (Decimal(1150), Decimal(1700), 1)
    assert [one.id for one in found.comparisons] == [1, 2, 3], "the newest first"
    assert estimate_worth([]) is None


@pytest.mark.parametrize(
    ("seen_on", "words"),
    [("2026-06-30", "0 days"), ("2026-06-29", "1 day"), ("2026-05-17", "1 month"), ("2025-09-06", "9 months"),
     ("2024-06-06", "2 years"), ("2019-01-01", "7 years"), ("2026-07-02", "0 days")],
)  # fmt: skip
def test_the_age_of_a_comparison_is_told(seen_on: str, words: str) -> None:
    assert describe_age(seen_on, "2026-06-30") == words


def test_the_cost_is_set_against_the_worth() -> None:
    """The old rule (common practice, no source): what it is worth when done less what was paid can be spent."""
    found = compare_cost(MONEY, estimate_worth([SOLD]))
    assert found is not None
    assert (found.heap, found.can_spend) == (Decimal(260), (Decimal(1040), Decimal(1240)))
    assert found.rest == Decimal("182.50")
    assert found.left == (Decimal("857.50"), Decimal("1057.50"))
    assert compare_cost(MONEY, None) is None
    assert compare_cost(Money(MONEY.lines[1:]), estimate_worth([SOLD])) is None


def graded(number: int, label: str) -> GradedPart:
    return GradedPart(Part(number, None, label), None, Verdict(None, "not-looked-at"))


def test_breaking_for_parts_counts_what_is_priced_and_not_held_back() -> None:
    parts = [graded(1, "tank"), graded(2, "hub"), graded(3, "lug"), graded(4, "bar")]
    said = [
        SalePrice(1, price("40", "70", "100")), SalePrice(2, price("15", "25", "45")),
        SalePrice(3, price(None, "15", None), held="pattern for the other"), SalePrice(9, price("1", "1", "1")),
    ]  # fmt: skip
    found = add_up_sale(said, parts)
    assert found.sum is not None
    assert (found.sum.expected, found.of_parts) == (Decimal("96.67"), 4)
    assert [one.label for one in found.held] == ["lug"]
    assert [one.label for one in add_up_sale(said, parts, {2: "pattern"}).counted] == ["tank"]
    assert add_up_sale([], parts).sum is None


def test_the_words_advise_nobody_and_name_the_source() -> None:
    found = estimate_worth([SOLD, ASKED, PLAIN])
    told = gather_money(MONEY, found, add_up_sale([], []), compare_cost(MONEY, found), "GBP", "2026-06-30")
    assert "Operations Research 7(5), 1959" in told.method == METHOD
    assert told.worth == (
        "£1,150.00 to £1,700.00 when done, from 3 comparisons, the newest 1 month old, the oldest 2 years."
        " In 1 of them the price was only asked."
    )
    assert told.against == (
        "By the old rule, worth when done less the price paid (£260.00), £890.00 to £1,440.00 can be spent on it;"
        " £182.50 is expected.",
        "It breaks even where all of it costs what it is worth: £1,150.00 to £1,700.00. What is expected is £707.50"
        " less to £1,257.50 less than that.",
    )
    every = " ".join((told.head, told.method, told.worth, told.breaking, *told.against, *told.short))
    assert not re.search(r"\b(should|worth it|buy it|sell it|recommend|bargain)\b", every)


def test_costing_more_than_it_is_worth_is_told() -> None:
    dear = Money((*MONEY.lines, line("own-9", price=price("2000", "2000", "2000"))))
    found = estimate_worth([SOLD])
    told = gather_money(dear, found, add_up_sale([], []), compare_cost(dear, found), "GBP", "2026-06-30")
    assert told.against[1].endswith("What is expected is £1,142.50 more to £942.50 more than that.")
    poor = estimate_worth([replace(SOLD, low=Decimal(100), high=Decimal(200))])
    assert (
        "(£260.00), nothing can be spent"
        in gather_money(MONEY, poor, add_up_sale([], []), compare_cost(MONEY, poor), "GBP", "2026-06-30").against[0]
    )


# --- on paper


def drawn(money: Money, *others: Any) -> str:
    """The drawing itself; what it says in words is said beside it, too."""
    found = draw_money(money, *others, "GBP")
    assert found is not None
    assert found.alt.startswith("Cost: ")
    assert "heavy stroke" in found.caption
    return found.svg


def numbers(pattern: str, drawing: str) -> list[float]:
    return [float(number) for number in re.findall(pattern, drawing)]


def test_the_drawing_puts_amounts_to_scale_and_says_the_same_in_words() -> None:
    found = estimate_worth([SOLD, ASKED])
    drawing = drawn(MONEY, found, add_up([of("40", "70", "100")]))
    assert 'role="img"' in drawing
    assert re.search(r'aria-label="Cost: £398 to £487; £442 expected, £290 spent\. Worth', drawing)
    ticks = re.findall(r">£([\d,]+)</text>", drawing)
    assert ticks == ["0", "500", "1,000", "1,500", "2,000"]
    sold, asked = numbers(r'<circle cx="([\d.]+)"', drawing)
    assert [sold, asked] == pytest.approx([10 + 340 * 1450 / 2000, 10 + 340 * 1900 / 2000], abs=0.1)
    assert drawing.count('fill="currentColor"/>') == 1, "a disc for the price that was paid, a ring for the other"
    assert max(numbers(r'[ "MH]([\d.]+) [\d.]+[HVvl]', drawing)) <= 360


def test_nothing_is_drawn_of_nothing() -> None:
    assert draw_money(Money(()), None, None, "GBP") is None
    assert "at least £5; some lines lack a figure" in drawn(Money((line(spent=Decimal(5)),)), None, None)


@given(PENCE.filter(bool))
def test_every_amount_finds_an_axis_of_five_steps_at_the_most(amount: Decimal) -> None:
    paid = Money((line(state="paid", spent=amount),))
    assert 2 <= drawn(paid, None, None).count("v5") <= 6


def test_the_table_has_every_line_and_no_formula(tmp_path: Path) -> None:
    write_money_csv(Money((*MONEY.lines, line("own-4", what="=1+1", note="@x"))), "GBP", tmp_path / "money.csv")
    rows = list(csv.DictReader(io.StringIO((tmp_path / "money.csv").read_text("utf-8"))))
    assert [row["line"] for row in rows] == ["own-1", "own-2", "own-3", "own-4"]
    assert (rows[1]["expected"], rows[1]["standard_deviation"], rows[1]["spent"]) == ("117.50", "19.17", "30.00")
    assert rows[3]["expected"] == ""
    assert not rows[3]["what"].startswith("=") and not rows[3]["note"].startswith("@")
