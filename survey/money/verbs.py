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
from survey.schedule.verbs import get_component as component_of
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
    found = compute_money(survey)
    seen = estimate_worth(fetch_comparisons(survey.store))
    return Reckoning(
        found,
        seen,
        add_up_sale(fetch_sale_prices(survey.store), list_parts(survey), _held_back(survey)),
        compare_cost(found, seen),
        get_machine(survey).currency,
        get_local_day(),
    )


def compute_money(survey: Survey) -> Money:
    """The lines of money alone."""
    own = _own_lines(survey)
    wanted = make_want_lines(list_wants(survey), fetch_wants(survey.store), own)
    sent = make_outwork_lines(list_batches(survey))
    return Money((*own, *wanted, *sent), fetch_contingency(survey.store))


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
        fields: the other ``MONEY_FIELDS`` as written: ``kind`` one of ``LINE_KINDS`` (``other`` unless said), prices,
            ``state`` one of ``LINE_STATES`` (``guess`` unless said, ``committed`` where something is spent),
            ``spent_at`` a date YYYY-MM-DD (today where something is spent).

    Raises:
        BadValue: no words, an unknown field or word, prices out of order, no such date.
    """
    said = _proved(None, {"kind": "other", **fields, "what": what})
    with survey.store.change(ADD_MONEY_LINE, survey.by) as change:
        row = change.insert("money_line", {**_paying(said, None), "by": survey.by, "at": change.at})
    return _own(survey, row["id"])


@in_one_transaction
def change_money_line(survey: Survey, line_id: int, **fields: str) -> MoneyLine:
    """Say something else of a line of the owner's own. Fields: ``MONEY_FIELDS``.

    Raises:
        NoSuchThing: no such line.
        BadValue: as for ``add_money_line``.
    """
    require_live_row(survey, "money_line", line_id)
    before = _own(survey, line_id)
    said = _proved(before, fields)
    with survey.store.change(CHANGE_MONEY_LINE, survey.by) as change:
        change.update("money_line", [line_id], {**_paying(said, before), "by": survey.by, "at": change.at})
    return _own(survey, line_id)


def remove_money_line(survey: Survey, line_id: int) -> None:
    """Put a line of the owner's own aside; the bin keeps it."""
    put_row_aside(survey, "money_line", line_id, REMOVE_MONEY_LINE)


@in_one_transaction
def record_payment(
    survey: Survey, key: str, spent: str, *, spent_at: str = "", receipt: str = "", settled: bool = True
) -> MoneyLine:
    """Say what was paid for a line, in all. Paid for a want, it stands as bought and gets a line of its own.

    Args:
        key: the line's key. spent: everything paid so far. spent_at: date of the payment, today unless said.
        settled: whether that is all of it; else more is to come.

    Raises:
        NoSuchThing: no such line.
        BadValue: no amount, or a line that is paid elsewhere.
    """
    line = next((one for one in compute_money(survey).lines if one.key == key), None)
    if line is None:
        raise NoSuchThing(f"There is no line of money {key!r}.", NextStep.SEE_MONEY)
    if line.origin == "outwork":
        raise BadValue("What outwork costs is said of its batch.", "Say it there.")
    if parse_price(spent) is None:
        raise BadValue("Nobody said what was paid.", "Write it in figures, like 12.50.")
    paid = {"spent": spent, "spent_at": spent_at, "state": "paid" if settled else "committed"}
    if receipt or not line.receipt:
        paid["receipt"] = receipt
    said = _proved(line if line.own else None, paid)
    with survey.store.change(PAY, survey.by) as change:
        written = {**_paying(said, line), "by": survey.by, "at": change.at}
        if line.own is None:
            prices = {name: _text(getattr(line.price, name)) for name in _PRICES}
            named = {"what": line.what, "kind": line.kind, "want": _bought(survey, change, line)}
            row = change.insert("money_line", {**prices, **named, **written})
        else:
            row = change.update("money_line", [line.own], written) or {}
    return _own(survey, line.own or row["id"])


def set_contingency(survey: Survey, percent: str) -> Decimal | None:
    """Say by how much per cent more than expected one reckons on what is still to be paid; empty for none.

    Raises:
        BadValue: no figure from 0 to 500.
    """
    share = parse_price(validate_text("contingency", percent).rstrip("% "))
    if share is not None and share > 500:
        raise BadValue("A contingency is at most 500 per cent.", "Write it again, like 20.")
    with survey.store.change(SET_CONTINGENCY, survey.by) as change:
        said = {"contingency": _text(share), "by": survey.by, "at": change.at}
        if change.update("budget", [1], said) is None:
            change.insert("budget", {"id": 1, **said})
    return share


def validate_past_day(written: str) -> str:
    """A date as written, if it is one that has been.

    Raises:
        BadValue: no date of the form YYYY-MM-DD, or one to come.
    """
    day = validate_day(written)
    if not day:
        raise BadValue("Nobody said on which day.", "Write it with the year first, like 2026-05-17.")
    if day > get_local_day():
        raise BadValue(f"{day} has not come yet.", "Write the day on which it was.")
    return day


def _proved(before: MoneyLine | None, fields: Mapping[str, str]) -> dict[str, Any]:
    unknown = sorted(set(fields) - set(MONEY_FIELDS))
    if unknown:
        raise BadValue(f"A line of money has no {unknown[0]!r}.", "It has: " + ", ".join(MONEY_FIELDS) + ".")
    said: dict[str, Any] = {name: validate_text(name, fields[name]) for name in _TEXTS if name in fields}
    if said.get("what") == "":
        raise BadValue("Nobody said what costs.", "Name it in a few words, like: plating, small parts.")
    for name, allowed in (("kind", tuple(LINE_KINDS)), ("state", LINE_STATES)):
        if name in fields and fields[name] not in allowed:
            raise BadValue(f"{fields[name]!r} is no {name} of a line.", "Say one of: " + ", ".join(allowed) + ".")
        said |= {name: fields[name]} if name in fields else {}
    prices = {name: parse_price(validate_text(name, fields[name])) for name in _PRICES if name in fields}
    stood = before.price if before else Price()
    Price(*(prices.get(name, getattr(stood, name)) for name in _PRICES))
    said |= {name: _text(price) for name, price in prices.items()}
    known = fields.get("spent", "").strip() or (before is not None and (before.spent or before.state == "paid"))
    if said.get("state") == "paid" and not known:
        raise BadValue("Nobody said what was paid.", "Say how much it was in all, and nought where it was a gift.")
    if "spent" in fields:
        said["spent"] = str(parse_price(validate_text("spent", fields["spent"])) or NIL)
    if "spent_at" in fields:
        said["spent_at"] = validate_past_day(fields["spent_at"]) if fields["spent_at"].strip() else ""
    return said


def _paying(said: dict[str, Any], before: MoneyLine | None) -> dict[str, Any]:
    """What follows where something is spent: it is committed at least, and was spent on some day."""
    spent = Decimal(said.get("spent", before.spent if before else NIL))
    follows: dict[str, Any] = {}
    if spent and "state" not in said and (before is None or before.state == "guess"):
        follows["state"] = "committed"
    if spent and not said.get("spent_at") and (before is None or not before.spent_at or spent != before.spent):
        follows["spent_at"] = get_local_day()
    return {**said, **follows}


def _bought(survey: Survey, change: Change, line: MoneyLine) -> int:
    """The want that is paid for, which stands as bought at least."""
    bought = {"state": "bought", "since": change.at, "by": survey.by, "at": change.at}
    said = next((one for one in fetch_wants(survey.store) if one.id == line.want), None)
    if said is None:
        component_of(survey, line.component or "")
        return int(change.insert("want", {"component": line.component, "label": "", **bought})["id"])
    if said.state not in ("bought", "here"):
        change.update("want", [said.id], bought)
    return said.id


def _held_back(survey: Survey) -> dict[int, str]:
    """Parts that are kept as a pattern, or that cannot be passed on yet, each with why."""
    kept = ((one, f"pattern for {one.pattern.label}" if one.pattern else one.held) for one in list_belongings(survey))
    return {one.part.part.id: why for one, why in kept if why}


def _own_lines(survey: Survey) -> list[MoneyLine]:
    """The owner's own lines; one that pays for a want names its component."""
    components = {one.id: one.component for one in fetch_wants(survey.store)}
    return [replace(line, component=components.get(line.want or 0)) for line in fetch_own_lines(survey.store)]


def _own(survey: Survey, line_id: int) -> MoneyLine:
    return next(one for one in _own_lines(survey) if one.own == line_id)


def _text(price: Decimal | None) -> str | None:
    return None if price is None else str(price)


def describe_line(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a row of a line of money is, in words."""
    return str(rows[0]["what"])


def describe_budget(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the budget's row is, in words."""
    return f"{rows[0]['contingency']} per cent" if rows[0]["contingency"] else "none"
