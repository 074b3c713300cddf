"""Wants: what the owner recorded about things to get."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from survey.model.price import Price

WantState = Literal["wanted", "asked", "promised", "bought", "here"]

WANT_STATES: tuple[WantState, ...] = ("wanted", "asked", "promised", "bought", "here")

WANT_WORDS: dict[WantState, str] = {
    "wanted": "Wanted", "asked": "Asked", "promised": "Promised", "bought": "Bought, not come", "here": "Here",
}  # fmt: skip

UNDER_WAY: tuple[WantState, ...] = ("asked", "promised", "bought")

Scarcity = Literal["", "common", "clubs", "used", "nobody"]

SCARCITIES: dict[Scarcity, str] = {
    "common": "easily had", "clubs": "from clubs or specialists", "used": "used only", "nobody": "nobody has it",
}  # fmt: skip
"""How scarce a thing is, as its owner says."""


@dataclass(frozen=True, slots=True)
class Want:
    """What the owner has recorded of something to get: of a component, or of a thing of their own by its label.

    ``quantity``: how many, where it is not what the schedule lacks. ``since``: UTC time from which the state holds;
    ``who``: whom it has to do with. ``sizes``: name and value as written. ``also``: what would also do. ``scarcity``:
    one of ``SCARCITIES``, empty while not known.
    """

    id: int
    component: str | None
    label: str = ""
    state: WantState = "wanted"
    quantity: int | None = None
    who: str = ""
    since: str = ""
    sizes: tuple[tuple[str, str], ...] = ()
    also: str = ""
    price: Price = field(default=Price())
    note: str = ""
    scarcity: Scarcity = ""
