"""What it may be worth and what its parts would fetch: dated comparisons, and a price to each part."""

from __future__ import annotations

from typing import Any

from survey.bench.money import past_day
from survey.bench.row_words import part_words
from survey.bench.said import prove_text
from survey.bench.survey import Survey, alone, put_aside, standing
from survey.errors import BadValue
from survey.folder import spending
from survey.folder.verb import Verb
from survey.planning.prices import Price, read_price
from survey.planning.worth import Comparison, SalePrice

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
    said = {
        "what": prove_text("machine", what), "condition": prove_text("condition", condition),
        "place": prove_text("place", where), "note": prove_text("note", note),
    }  # fmt: skip
    ends = Price(read_price(prove_text("low", low)), None, read_price(prove_text("high", high)))
    paid = read_price(prove_text("price", price))
    if not said["what"] or paid is None:
        raise BadValue("A comparison needs the machine and its price.", "Say what it was, and what it went for.")
    day = past_day(seen_on)
    figures = {"price": str(paid), "low": _text(ends.low), "high": _text(ends.high)}
    with survey.store.change(ADD_COMPARISON, survey.by) as change:
        row = change.insert("comparison", {
            **said, **figures, "seen_on": day, "sold": int(sold), "by": survey.by, "at": change.at,
        })  # fmt: skip
    return next(one for one in spending.comparisons(survey.store) if one.id == row["id"])


def remove_comparison(survey: Survey, comparison_id: int) -> None:
    """Put a comparison aside; the bin keeps it."""
    put_aside(survey, "comparison", comparison_id, REMOVE_COMPARISON)


@alone
def set_sale_price(
    survey: Survey, part_id: int, *, low: str = "", likely: str = "", high: str = "", held: str = "", note: str = ""
) -> SalePrice | None:
    """Say what a part would fetch by itself; nothing said takes it back.

    Args:
        held: why it is held back and not counted, for example as the pattern for one that is missing.

    Raises:
        NoSuchThing: no such part.
        BadValue: prices that cannot be read, or out of order.
    """
    standing(survey, "part", part_id)
    low_, likely_, high_ = (read_price(prove_text("price", one)) for one in (low, likely, high))
    price = Price(low_, likely_, high_)
    said: dict[str, Any] = {"held": prove_text("reason", held), "note": prove_text("note", note)}
    with survey.store.change(SET_SALE_PRICE, survey.by) as change:
        if not price.known and not said["held"]:
            change.remove("sale_price", [part_id])
            return None
        figures = {"low": _text(low_), "likely": _text(likely_), "high": _text(high_)}
        row = {**said, **figures, "by": survey.by, "at": change.at}
        if change.update("sale_price", [part_id], row) is None:
            change.insert("sale_price", {"part": part_id, **row})
    return SalePrice(part_id, price, said["held"], said["note"])


def _text(price: object | None) -> str | None:
    return None if price is None else str(price)


def describe_comparison(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a comparison's row is, in words."""
    return f"{rows[0]['what']}, {rows[0]['seen_on']}"


def describe_sale_price(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a sale price's row is, in words."""
    return part_words(survey, rows[0]["part"])
