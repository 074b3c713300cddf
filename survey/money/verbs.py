"""What it costs: lines from the wants and of the owner's own, what is paid, and the sums."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from survey.belonging.verbs import list_belongings
from survey.errors import BadValue, NextStep, NoSuchThing
from survey.machine.verbs import get_machine
from survey.model.money import LINE_KINDS, LINE_STATES, NIL, MoneyLine
from survey.model.price import Price
from survey.model.verb import Verb
from survey.money.costs import Money, make_outwork_lines, make_want_lines
from survey.money.records import fetch_comparisons, fetch_contingency, fetch_own_lines, fetch_sale_prices
from survey.money.worth import (
    CostAgainstWorth,
    SaleOfParts,
    Worth,
    add_up_sale,
    compare_cost,
    estimate_worth,
)
from survey.outwork.field_verbs import validate_day
from survey.outwork.verbs import list_batches
from survey.parts.verbs import list_parts
from survey.prices import parse_price
from survey.schedule.verbs import get_component
from survey.store.database import Change
from survey.store.survey import Survey, get_local_day, in_one_transaction, put_row_aside, require_live_row
from survey.validation import validate_text
from survey.wants.records import fetch_wants
from survey.wants.verbs import list_wants

if TYPE_CHECKING:
    from survey.document.sheet import Drawing
    from survey.money.money_words import MoneyWords

MONEY_FIELDS = ("what", "kind", "low", "likely", "high", "state", "spent", "spent_at", "receipt", "note")

_TEXTS = ("what", "receipt", "note")
_PRICES = ("low", "likely", "high")

ADD_MONEY_LINE = Verb("add money line", "Line of money written")
CHANGE_MONEY_LINE = Verb("change money line", "Line of money changed")
REMOVE_MONEY_LINE = Verb("remove money line", "Line of money put aside")
PAY = Verb("pay", "Paid")
SET_CONTINGENCY = Verb("contingency", "Contingency said")
MONEY_VERBS = (ADD_MONEY_LINE, CHANGE_MONEY_LINE, REMOVE_MONEY_LINE, PAY, SET_CONTINGENCY)


@dataclass(frozen=True, slots=True)
class Reckoning:
    """What it costs, what it may be worth, what the parts would fetch. ``today``: the date of the reckoning."""

    money: Money
    worth: Worth | None
    breaking: SaleOfParts
    against: CostAgainstWorth | None
    currency: str
    today: str


def get_reckoning(survey: Survey) -> Reckoning:
    """The whole reckoning: lines from the wants and the owner's own, with sums, worth and the parts' prices."""
    money = compute_money(survey)
    worth = estimate_worth(fetch_comparisons(survey.store))
    return Reckoning(
        money,
        worth,
        add_up_sale(fetch_sale_prices(survey.store), list_parts(survey), _list_held_back(survey)),
        compare_cost(money, worth),
        get_machine(survey).currency,
        get_local_day(),
    )


def compute_money(survey: Survey) -> Money:
    """The lines of money alone."""
    own_lines = _list_own_lines(survey)
    want_lines = make_want_lines(list_wants(survey), fetch_wants(survey.store), own_lines)
    outwork_lines = make_outwork_lines(list_batches(survey))
    return Money((*own_lines, *want_lines, *outwork_lines), fetch_contingency(survey.store))


def describe_reckoning(survey: Survey, found: Reckoning | None = None) -> MoneyWords:
    """The whole reckoning in words ready to print. ``found``: one that was made just now."""
    from survey.money.money_words import gather_money

    found = found or get_reckoning(survey)
    return gather_money(found.money, found.worth, found.breaking, found.against, found.currency, found.today)


def draw_reckoning(survey: Survey, found: Reckoning | None = None) -> Drawing | None:
    """The range of cost against worth and the parts' prices, as a drawing; None where there is nothing to draw.

    ``found``: a reckoning that was made just now.
    """
    from survey.money.drawing_printed import draw_money

    found = found or get_reckoning(survey)
    return draw_money(found.money, found.worth, found.breaking.sum, found.currency)


def write_money_table(survey: Survey, to: Path) -> Path:
    """Write every line of money as .csv.

    Raises:
        BadValue: another ending.
        CannotWrite: the place cannot be written.
    """
    if to.suffix.lower() != ".csv":
        raise BadValue(f"Money is not written as {to.suffix or 'a file without an ending'}.", "End the name in .csv.")
    from survey.money.table_files import write_money_csv

    write_money_csv(compute_money(survey), get_machine(survey).currency, to)
    return to


def add_money_line(survey: Survey, what: str, **fields: str) -> MoneyLine:
    """Write down something that costs.

    Args:
        what: what it is, in words.
        fields: the other ``MONEY_FIELDS`` as written: ``kind`` one of ``LINE_KINDS`` (``other`` by default), prices,
            ``state`` one of ``LINE_STATES`` (``guess`` by default, ``committed`` where something is spent),
            ``spent_at`` a date YYYY-MM-DD (today where something is spent).

    Raises:
        BadValue: no words, an unknown field or word, prices out of order, no such date.
    """
    columns = _validate_fields(None, {"kind": "other", **fields, "what": what})
    with survey.store.change(ADD_MONEY_LINE, survey.by) as change:
        row = change.insert("money_line", {**_add_payment_columns(columns, None), "by": survey.by, "at": change.at})
    return _get_own_line(survey, row["id"])


@in_one_transaction
def change_money_line(survey: Survey, line_id: int, **fields: str) -> MoneyLine:
    """Change fields of a line of the owner's own: ``MONEY_FIELDS``.

    Raises:
        NoSuchThing: no such line.
        BadValue: as for ``add_money_line``.
    """
    require_live_row(survey, "money_line", line_id)
    before = _get_own_line(survey, line_id)
    columns = _validate_fields(before, fields)
    with survey.store.change(CHANGE_MONEY_LINE, survey.by) as change:
        change.update(
            "money_line", [line_id], {**_add_payment_columns(columns, before), "by": survey.by, "at": change.at}
        )
    return _get_own_line(survey, line_id)


def remove_money_line(survey: Survey, line_id: int) -> None:
    """Put a line of the owner's own aside; the bin keeps it."""
    put_row_aside(survey, "money_line", line_id, REMOVE_MONEY_LINE)


@in_one_transaction
def record_payment(
    survey: Survey, key: str, spent: str, *, spent_at: str = "", receipt: str = "", settled: bool = True
) -> MoneyLine:
    """Record what was paid for a line, in all. A want that is paid for becomes bought and gets a line of its own.

    Args:
        key: the line's key. spent: everything paid so far. spent_at: date of the payment, today by default.
        settled: whether that is all of it; else more is to come.

    Raises:
        NoSuchThing: no such line.
        BadValue: no amount, or a line that is paid elsewhere.
    """
    line = next((known_line for known_line in compute_money(survey).lines if known_line.key == key), None)
    if line is None:
        raise NoSuchThing(f"There is no line of money {key!r}.", NextStep.SEE_MONEY)
    if line.origin == "outwork":
        raise BadValue("What outwork costs is said of its batch.", "Say it there.")
    if parse_price(spent) is None:
        raise BadValue("Nobody said what was paid.", "Write it in figures, like 12.50.")
    payment = {"spent": spent, "spent_at": spent_at, "state": "paid" if settled else "committed"}
    if receipt or not line.receipt:
        payment["receipt"] = receipt
    columns = _validate_fields(line if line.own else None, payment)
    with survey.store.change(PAY, survey.by) as change:
        paid_columns = {**_add_payment_columns(columns, line), "by": survey.by, "at": change.at}
        if line.own is None:
            prices = {name: _to_column(getattr(line.price, name)) for name in _PRICES}
            line_columns = {"what": line.what, "kind": line.kind, "want": _mark_want_bought(survey, change, line)}
            row = change.insert("money_line", {**prices, **line_columns, **paid_columns})
        else:
            row = change.update("money_line", [line.own], paid_columns) or {}
    return _get_own_line(survey, line.own or row["id"])


def set_contingency(survey: Survey, percent: str) -> Decimal | None:
    """Set the contingency: per cent added to what is still to be paid; empty for none.

    Raises:
        BadValue: no figure from 0 to 500.
    """
    share = parse_price(validate_text("contingency", percent).rstrip("% "))
    if share is not None and share > 500:
        raise BadValue("A contingency is at most 500 per cent.", "Write it again, like 20.")
    with survey.store.change(SET_CONTINGENCY, survey.by) as change:
        row = {"contingency": _to_column(share), "by": survey.by, "at": change.at}
        if change.update("budget", [1], row) is None:
            change.insert("budget", {"id": 1, **row})
    return share


def validate_past_day(written: str) -> str:
    """The date as written, if it is not in the future.

    Raises:
        BadValue: no date of the form YYYY-MM-DD, or one to come.
    """
    day = validate_day(written)
    if not day:
        raise BadValue("Nobody said on which day.", "Write it with the year first, like 2026-05-17.")
    if day > get_local_day():
        raise BadValue(f"{day} has not come yet.", "Write the day on which it was.")
    return day


def _validate_fields(before: MoneyLine | None, fields: Mapping[str, str]) -> dict[str, Any]:
    unknown = sorted(set(fields) - set(MONEY_FIELDS))
    if unknown:
        raise BadValue(f"A line of money has no {unknown[0]!r}.", "It has: " + ", ".join(MONEY_FIELDS) + ".")
    columns: dict[str, Any] = {name: validate_text(name, fields[name]) for name in _TEXTS if name in fields}
    if columns.get("what") == "":
        raise BadValue("Nobody said what costs.", "Name it in a few words, like: plating, small parts.")
    for name, allowed in (("kind", tuple(LINE_KINDS)), ("state", LINE_STATES)):
        if name in fields and fields[name] not in allowed:
            raise BadValue(f"{fields[name]!r} is no {name} of a line.", "Say one of: " + ", ".join(allowed) + ".")
        columns |= {name: fields[name]} if name in fields else {}
    prices = {name: parse_price(validate_text(name, fields[name])) for name in _PRICES if name in fields}
    price_before = before.price if before else Price()
    Price(*(prices.get(name, getattr(price_before, name)) for name in _PRICES))
    columns |= {name: _to_column(price) for name, price in prices.items()}
    is_paid = fields.get("spent", "").strip() or (before is not None and (before.spent or before.state == "paid"))
    if columns.get("state") == "paid" and not is_paid:
        raise BadValue("Nobody said what was paid.", "Say how much it was in all, and nought where it was a gift.")
    if "spent" in fields:
        columns["spent"] = str(parse_price(validate_text("spent", fields["spent"])) or NIL)
    if "spent_at" in fields:
        columns["spent_at"] = validate_past_day(fields["spent_at"]) if fields["spent_at"].strip() else ""
    return columns


def _add_payment_columns(columns: dict[str, Any], before: MoneyLine | None) -> dict[str, Any]:
    """The columns with what follows from a payment: the line is committed at least, and has a day of payment."""
    spent = Decimal(columns.get("spent", before.spent if before else NIL))
    follows: dict[str, Any] = {}
    if spent and "state" not in columns and (before is None or before.state == "guess"):
        follows["state"] = "committed"
    if spent and not columns.get("spent_at") and (before is None or not before.spent_at or spent != before.spent):
        follows["spent_at"] = get_local_day()
    return {**columns, **follows}


def _mark_want_bought(survey: Survey, change: Change, line: MoneyLine) -> int:
    """The number of the want that is paid for, which is marked as bought at least."""
    bought = {"state": "bought", "since": change.at, "by": survey.by, "at": change.at}
    want = next((known_want for known_want in fetch_wants(survey.store) if known_want.id == line.want), None)
    if want is None:
        get_component(survey, line.component or "")
        return int(change.insert("want", {"component": line.component, "label": "", **bought})["id"])
    if want.state not in ("bought", "here"):
        change.update("want", [want.id], bought)
    return want.id


def _list_held_back(survey: Survey) -> dict[int, str]:
    """Parts that are kept as a pattern, or that cannot be passed on yet, each with why."""
    reasons = (
        (part, f"pattern for {part.pattern.label}" if part.pattern else part.held) for part in list_belongings(survey)
    )
    return {part.part.part.id: reason for part, reason in reasons if reason}


def _list_own_lines(survey: Survey) -> list[MoneyLine]:
    """The owner's own lines; one that pays for a want names its component."""
    components = {want.id: want.component for want in fetch_wants(survey.store)}
    return [replace(line, component=components.get(line.want or 0)) for line in fetch_own_lines(survey.store)]


def _get_own_line(survey: Survey, line_id: int) -> MoneyLine:
    return next(line for line in _list_own_lines(survey) if line.own == line_id)


def _to_column(price: Decimal | None) -> str | None:
    return None if price is None else str(price)


def describe_line(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a row of a line of money is, in words."""
    return str(rows[0]["what"])


def describe_budget(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the budget's row is, in words."""
    return f"{rows[0]['contingency']} per cent" if rows[0]["contingency"] else "none"
