"""What it may be worth and what its parts would fetch: dated comparisons, and a price to each part."""

from __future__ import annotations

from typing import Any

from survey.errors import BadValue
from survey.model.money import Comparison, SalePrice
from survey.model.price import Price
from survey.model.verb import Verb
from survey.money.records import fetch_comparisons
from survey.money.verbs import validate_past_day
from survey.prices import parse_price
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey, in_one_transaction, put_row_aside, require_live_row
from survey.validation import validate_text

ADD_COMPARISON = Verb("add comparison", "Comparison written")
REMOVE_COMPARISON = Verb("remove comparison", "Comparison put aside")
SET_SALE_PRICE = Verb("sale price", "What it would fetch")
WORTH_VERBS = (ADD_COMPARISON, REMOVE_COMPARISON, SET_SALE_PRICE)


def add_comparison(
    survey: Survey,
    what: str,
    seen_on: str,
    price: str,
    *,
    sold: bool = True,
    condition: str = "",
    where: str = "",
    low: str = "",
    high: str = "",
    note: str = "",
) -> Comparison:
    """Write down what a like machine was sold or offered for.

    Args:
        what: the machine, in words. seen_on: the day of the price, YYYY-MM-DD. price: as written.
        sold: False where it was only asked. low, high: what this machine would be worth by it, allowing for condition
            and papers; empty: the price.

    Raises:
        BadValue: no words, no price, no such day, or low above high.
    """
    texts = {
        "what": validate_text("machine", what), "condition": validate_text("condition", condition),
        "place": validate_text("place", where), "note": validate_text("note", note),
    }  # fmt: skip
    ends = Price(parse_price(validate_text("low", low)), None, parse_price(validate_text("high", high)))
    amount = parse_price(validate_text("price", price))
    if not texts["what"] or amount is None:
        raise BadValue("A comparison needs the machine and its price.", "Say what it was, and what it went for.")
    day = validate_past_day(seen_on)
    figures = {"price": str(amount), "low": _to_column(ends.low), "high": _to_column(ends.high)}
    with survey.store.change(ADD_COMPARISON, survey.by) as change:
        row = change.insert("comparison", {
            **texts, **figures, "seen_on": day, "sold": int(sold), "by": survey.by, "at": change.at,
        })  # fmt: skip
    return next(comparison for comparison in fetch_comparisons(survey.store) if comparison.id == row["id"])


def remove_comparison(survey: Survey, comparison_id: int) -> None:
    """Put a comparison aside; the bin keeps it."""
    put_row_aside(survey, "comparison", comparison_id, REMOVE_COMPARISON)


@in_one_transaction
def set_sale_price(
    survey: Survey, part_id: int, *, low: str = "", likely: str = "", high: str = "", held: str = "", note: str = ""
) -> SalePrice | None:
    """Record what a part would fetch by itself; without a price and a reason the record is removed.

    Args:
        held: why it is held back and not counted, for example as the pattern for one that is missing.

    Raises:
        NoSuchThing: no such part.
        BadValue: prices that cannot be read, or out of order.
    """
    require_live_row(survey, "part", part_id)
    low_amount, likely_amount, high_amount = (
        parse_price(validate_text("price", written)) for written in (low, likely, high)
    )
    price = Price(low_amount, likely_amount, high_amount)
    texts: dict[str, Any] = {"held": validate_text("reason", held), "note": validate_text("note", note)}
    with survey.store.change(SET_SALE_PRICE, survey.by) as change:
        if not price.known and not texts["held"]:
            change.remove("sale_price", [part_id])
            return None
        figures = {"low": _to_column(low_amount), "likely": _to_column(likely_amount), "high": _to_column(high_amount)}
        row = {**texts, **figures, "by": survey.by, "at": change.at}
        if change.update("sale_price", [part_id], row) is None:
            change.insert("sale_price", {"part": part_id, **row})
    return SalePrice(part_id, price, texts["held"], texts["note"])


def _to_column(price: object | None) -> str | None:
    return None if price is None else str(price)


def describe_comparison(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a comparison's row is, in words."""
    return f"{rows[0]['what']}, {rows[0]['seen_on']}"


def describe_sale_price(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a sale price's row is, in words."""
    return describe_part_no(survey, rows[0]["part"])
