"""What a thing may cost, in decimal money of the survey's one currency. Never a float: pence add up."""

from __future__ import annotations

import re
from decimal import Decimal

from survey.errors import BadValue
from survey.model.price import Price

HIGHEST = Decimal(10_000_000)
"""No part and no machine costs more: beyond this a price is a slip of the pen."""

_SIGNS = {"GBP": "£", "EUR": "€", "USD": "$"}

_CURRENCY = re.compile(r"[A-Z]{3}", re.ASCII)

_PRICE = re.compile(r"(\d{1,3}(,\d{3})+|\d{1,9})(\.\d{1,2})?", re.ASCII)


def parse_price(text: str) -> Decimal | None:
    """A price as somebody wrote it, to the penny: ``12``, ``12.50``, ``£1,200``; None for nothing written.

    Raises:
        BadValue: it cannot be read, or is more than any machine costs.
    """
    plain = text.strip().lstrip("£€$").strip()
    if not text.strip():
        return None
    if not _PRICE.fullmatch(plain):
        raise BadValue(f"“{text[:40]}” cannot be read as a price.", "Write it in figures with a point, like 12.50.")
    price = Decimal(plain.replace(",", "")).quantize(Decimal("0.01"))
    if price > HIGHEST:
        raise BadValue(f"“{text[:40]}” is more than any machine costs.", "Write the price again.")
    return price


def validate_currency(text: str) -> str:
    """A currency by its three letters (ISO 4217), in capitals.

    Raises:
        BadValue: not three letters.
    """
    currency = text.strip().upper()
    if not _CURRENCY.fullmatch(currency):
        raise BadValue(f"“{text[:40]}” is no currency.", "Write its three letters, like GBP, EUR or USD.")
    return currency


def format_money(amount: Decimal, currency: str) -> str:
    """``£12.50``, ``CHF 1,200.00``."""
    sign = _SIGNS.get(currency)
    figures = f"{amount:,.2f}"
    return f"{sign}{figures}" if sign else f"{currency} {figures}"


def format_price(price: Price, currency: str) -> str:
    """``£8.00 to £20.00, likely £12.00``; a figure that is not known is left out, empty if none is.

    Three that are the same are written once.
    """
    low, likely, high = (
        None if n is None else format_money(n, currency) for n in (price.low, price.likely, price.high)
    )
    if low == high and low is not None:
        return low
    ends = f"{low} to {high}" if low and high else f"from {low}" if low else f"up to {high}" if high else ""
    return ", ".join(filter(None, (ends, f"likely {likely}" if likely else "")))
