"""The fields of a batch and of an item in it, validated and turned into columns."""

from __future__ import annotations

import difflib
import json
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any

from survey.errors import BadValue, NoSuchThing
from survey.model.outwork import HYDROGEN_WORDS, Batch, BatchItem, Trade
from survey.model.price import Price
from survey.outwork.data import load_trades
from survey.prices import parse_price
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey
from survey.validation import validate_count, validate_text

_PRICES = ("low", "likely", "high")
_SIZES_AT_MOST = 40


def get_trade(trade: str) -> Trade:
    """The trade of that id.

    Raises:
        NoSuchThing: there is none.
    """
    trades = get_trades_by_id()
    if trade not in trades:
        similar = difflib.get_close_matches(trade, trades, n=2)
        raise NoSuchThing(f"There is no trade {trade!r}.", f"Say one of: {', '.join(similar or trades)}.")
    return trades[trade]


def get_trades_by_id() -> dict[str, Trade]:
    """The trades by their ids."""
    return {trade.id: trade for trade in load_trades().trades}


def require_known_fields(fields: Mapping[str, Any], allowed: tuple[str, ...], what: str) -> Mapping[str, Any]:
    """The fields, if each is allowed. Raises BadValue where one is not."""
    unknown = sorted(set(fields) - set(allowed))
    if unknown:
        raise BadValue(f"{what} has no {unknown[0]!r}.", "It has: " + ", ".join(allowed) + ".")
    return fields


def validate_day(said: str) -> str:
    """A day as ``YYYY-MM-DD``, or empty.

    Raises:
        BadValue: it is no day.
    """
    text = validate_text("day", said)
    try:
        if text and date.fromisoformat(text).isoformat() != text:
            raise ValueError
    except ValueError:
        raise BadValue(f"“{text[:40]}” is no day.", "Write it as year-month-day, like 2026-06-03.") from None
    return text


def make_batch_row(before: Batch | None, trade: Trade, fields: Mapping[str, Any]) -> dict[str, Any]:
    """The columns that change. Raises BadValue at an invalid value."""
    row: dict[str, Any] = {
        name: validate_text(name, fields[name]) for name in ("who", "contact", "carriage", "note") if name in fields
    }
    if "promised" in fields:
        row["promised"] = validate_day(fields["promised"])
    if "agreed" in fields:
        row["agreed"] = int(bool(fields["agreed"]))
    for name in ("insured", "paid"):
        if name in fields:
            row[name] = _to_column(parse_price(validate_text(name, fields[name])))
    prices = {name: parse_price(validate_text(name, fields[name])) for name in _PRICES if name in fields}
    price_before = before.price if before else Price()
    Price(*(prices.get(name, getattr(price_before, name)) for name in _PRICES))
    if "answers" in fields:
        row["answers"] = json.dumps(_join_trade_answers(before, trade, fields["answers"]), ensure_ascii=False)
    return row | {name: _to_column(price) for name, price in prices.items()}


def make_item_row(before: BatchItem, fields: Mapping[str, Any], checks: Collection[str]) -> dict[str, Any]:
    """The columns that change; ``checks``: what can be answered with yes or no. Raises BadValue at an invalid value."""
    row: dict[str, Any] = {
        name: validate_text(name, fields[name])
        for name in ("tag", "finish", "plug", "keep_off", "note")
        if name in fields
    }
    if "count" in fields:
        row["count"] = validate_count("count", fields["count"])
    for name, sizes_before in (("before", before.before), ("after", before.after)):
        if name in fields:
            row[name] = json.dumps(_join_sizes(dict(sizes_before), fields[name]), ensure_ascii=False)
    if "photos" in fields:
        pair = tuple(fields["photos"])
        if len(pair) != 2 or (pair[0] is not None and pair[0] == pair[1]):
            raise BadValue("Both sides are two photos.", "Name two different photos, or leave one side open.")
        row |= {"photo_one": pair[0], "photo_other": pair[1]}
    if "hydrogen" in fields:
        if fields["hydrogen"] not in ("", *HYDROGEN_WORDS):
            raise BadValue(f"{fields['hydrogen']!r} says nothing.", "Say one of: " + ", ".join(HYDROGEN_WORDS) + ".")
        row["hydrogen"] = fields["hydrogen"]
    if "said" in fields:
        row["said"] = json.dumps(_join_check_answers(before, fields["said"], checks), ensure_ascii=False)
    return row


def _to_column(price: object) -> str | None:
    return None if price is None else str(price)


def _join_trade_answers(before: Batch | None, trade: Trade, new_answers: Mapping[str, str]) -> dict[str, str]:
    questions = {ask.id for ask in trade.ask}
    for name in new_answers:
        if name not in questions:
            raise BadValue(f"This trade does not ask {name!r}.", "It asks: " + ", ".join(sorted(questions)) + ".")
    answers_before = dict(before.answers) if before else {}
    joined = answers_before | {name: validate_text(name, text) for name, text in new_answers.items()}
    return {name: text for name, text in joined.items() if text}


def _join_sizes(sizes_before: dict[str, str], new_sizes: Mapping[str, str]) -> dict[str, str]:
    """The sizes before, updated with the new ones; an empty one is removed."""
    joined = sizes_before | {
        validate_text("name of a size", name): validate_text("size", size) for name, size in new_sizes.items()
    }
    kept = {name: size for name, size in joined.items() if name and size}
    if len(kept) > _SIZES_AT_MOST:
        raise BadValue(f"An item keeps {_SIZES_AT_MOST} sizes at most.", "Put the rest into the note.")
    return kept


def _join_check_answers(before: BatchItem, new_answers: Mapping[str, str], checks: Collection[str]) -> dict[str, str]:
    joined: dict[str, str] = dict(before.said)
    for name, answer in new_answers.items():
        if name not in checks:
            raise BadValue(
                f"Nothing is looked at by the name {name!r}.", "Say one of: " + ", ".join(sorted(checks)) + "."
            )
        if answer not in ("yes", "no", ""):
            raise BadValue(f"{answer!r} is no answer.", "Say yes or no, or nothing.")
        joined[name] = answer
    return {name: answer for name, answer in joined.items() if answer}


def describe_batch(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a batch's row is, in words."""
    row = rows[0]
    trade = {known.id: known.label for known in load_trades().trades}.get(row["trade"], row["trade"])
    return f"batch {row['id']} ({trade}{', ' + row['who'] if row['who'] else ''})"


def describe_item(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of an item in a batch is, in words."""
    return f"{describe_part_no(survey, rows[0]['part'])}, batch {rows[0]['batch']}"
