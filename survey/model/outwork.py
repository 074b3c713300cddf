"""Trades, and batches of work sent away."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from survey.model.price import Price

BatchState = Literal["draft", "out", "back"]
Hydrogen = Literal["", "bake", "no-plate", "not-hard"]
Threads = Literal["", "run", "closed"]
Answers = Literal["yes", "no"]

BATCH_WORDS: dict[BatchState, str] = {"draft": "Being made up", "out": "Out", "back": "Back"}

BATCH_STATES: tuple[BatchState, ...] = tuple(BATCH_WORDS)

HYDROGEN_WORDS: dict[Hydrogen, str] = {
    "bake": "bake after plating",
    "no-plate": "do not plate, no acid",
    "not-hard": "not hardened, its owner knows",
}

THREADS_WORDS: dict[Threads, str] = {"run": "run freely", "closed": "closed up"}

UNKNOWN = "unknown"
"""Class of a part that nobody can name yet."""


@dataclass(frozen=True, slots=True)
class Ask:
    """Something a trade must be told of the whole batch. ``hint``: what an answer speaks of."""

    id: str
    label: str
    hint: str


@dataclass(frozen=True, slots=True)
class Trade:
    """Somebody to whom work is sent. ``words``: what the rules call who does it.

    ``person``: as in "with the plater". ``sizes``: measured before and after; ``plugs``: threads and bores are
    plugged; ``keeps``: something may not be polished, blasted or coated.
    """

    id: str
    label: str
    person: str
    words: tuple[str, ...]
    about: str
    source: str
    ask: tuple[Ask, ...] = ()
    sizes: bool = False
    plugs: bool = False
    keeps: bool = False


@dataclass(frozen=True, slots=True)
class PartCheck:
    """Something looked at before a part leaves. It is asked of parts of these trades, and of these classes or
    materials; ``duties`` narrows that. ``always``: nothing goes without it; ``never``: such a part is not sent.

    ``given``: the fact that answers it with yes by itself.
    """

    id: str
    label: str
    trades: tuple[str, ...]
    text: str
    source: str
    classes: tuple[str, ...] = ()
    materials: tuple[str, ...] = ()
    duties: tuple[str, ...] = ()
    always: bool = False
    never: bool = False
    given: str = ""

    def asked_of(self, trade: str, part_class: str, material: str, duty: str) -> bool:
        """Whether it is asked of such a part at that trade; one that nobody knows yet may be any of them."""
        unknown = part_class == UNKNOWN and not self.never
        named = unknown or part_class in self.classes or material in self.materials
        return trade in self.trades and named and (not self.duties or duty in self.duties)


@dataclass(frozen=True, slots=True)
class HydrogenTable:
    """What plating does to hard steel: what is never plated, what is asked about, and the bake.

    ``hours``: from and to in MPa of tensile strength, and the least hours. ``bake_c``: degrees Celsius, low and high.
    """

    trades: tuple[str, ...]
    never_classes: tuple[str, ...]
    never_materials: tuple[str, ...]
    ask_classes: tuple[str, ...]
    ask_materials: tuple[str, ...]
    bake_c: tuple[int, int]
    never: str
    bake: str
    source: str
    hours: tuple[tuple[int, int, int], ...]

    def never_plated(self, part_class: str, material: str) -> bool:
        """Whether such a part is not plated at all."""
        return part_class in self.never_classes or material in self.never_materials

    def asked_of(self, trade: str, part_class: str, material: str) -> bool:
        """Whether its owner must say what it is, before it goes to that trade."""
        asked = part_class in (UNKNOWN, *self.ask_classes) or material in self.ask_materials
        return trade in self.trades and (asked or self.never_plated(part_class, material))

    @property
    def bake_words(self) -> str:
        """The words to the plater about the bake, with its hours."""
        first, last = self.hours[0], self.hours[-1]
        least = f"at least {first[2]} hours for {first[0]} to {first[1]} MPa"
        hours = f"{least}, up to {last[2]} for {last[0]} to {last[1]} MPa"
        return self.bake.format(low=self.bake_c[0], high=self.bake_c[1], hours=hours)


@dataclass(frozen=True, slots=True)
class Trades:
    """The trades in their order, what is looked at before a part leaves, and the words that are no trade."""

    trades: tuple[Trade, ...]
    checks: tuple[PartCheck, ...]
    hydrogen: HydrogenTable
    elsewhere: tuple[str, ...] = ()

    def of(self, trade: str) -> Trade:
        """The trade of that id. Raises KeyError."""
        return {known.id: known for known in self.trades}[trade]

    def named(self, words: str) -> tuple[Trade, ...]:
        """The trades that a rule's words name, in their order: ``alloy welder, machine shop`` are two."""
        parts = {word.strip() for word in words.split(",")}
        return tuple(trade for trade in self.trades if parts.intersection(trade.words))


@dataclass(frozen=True, slots=True)
class BatchItem:
    """One part in a batch. ``count``: how many of it went. Sizes are names with what was written.

    ``photos``: of its two sides, each None while there is none. ``said``: check -> yes or no. ``came_back`` is None
    until it was looked over on its return, on the local day ``back_at``, recorded at the UTC time ``checked_at``;
    ``short_note``: what became of those that did not come back.
    """

    id: int
    batch: int
    part: int
    count: int
    tag: str = ""
    finish: str = ""
    plug: str = ""
    keep_off: str = ""
    before: tuple[tuple[str, str], ...] = ()
    after: tuple[tuple[str, str], ...] = ()
    photos: tuple[int | None, int | None] = (None, None)
    hydrogen: Hydrogen = ""
    said: Mapping[str, Answers] = field(default_factory=dict)
    came_back: int | None = None
    back_at: str = ""
    checked_at: str = ""
    threads: Threads = ""
    damage: str = ""
    short_note: str = ""
    note: str = ""

    @property
    def short(self) -> int:
        """How many have not come back of one that was looked over."""
        return 0 if self.came_back is None else max(0, self.count - self.came_back)

    @property
    def still_out(self) -> int:
        """How many are out while its batch is: all until it was looked over, then those whose end is not recorded."""
        if self.came_back is None:
            return self.count
        return 0 if self.short_note else self.short

    @property
    def accounted(self) -> bool:
        """Whether it was looked over, and every one of it is here or its end is recorded."""
        return self.came_back is not None and (self.short == 0 or bool(self.short_note))


@dataclass(frozen=True, slots=True)
class Batch:
    """What goes to one firm at one time. Dates are local days, ``YYYY-MM-DD`` or empty.

    ``price`` is for the whole batch; ``agreed``: it was agreed and is no guess any more; ``paid``: so far, or None.
    ``answers``: ask -> the answer. ``anyway``: why it went although something was open.
    """

    id: int
    trade: Trade
    who: str = ""
    contact: str = ""
    state: BatchState = "draft"
    out_at: str = ""
    promised: str = ""
    back_at: str = ""
    carriage: str = ""
    insured: Decimal | None = None
    price: Price = field(default_factory=Price)
    agreed: bool = False
    paid: Decimal | None = None
    answers: Mapping[str, str] = field(default_factory=dict)
    out_by: str = ""
    in_by: str = ""
    anyway: str = ""
    note: str = ""
    items: tuple[BatchItem, ...] = ()

    @property
    def name(self) -> str:
        """``Plating, Hollin Brothers``."""
        return f"{self.trade.label}, {self.who}" if self.who else self.trade.label

    @property
    def place(self) -> str:
        """``with the plater (Hollin Brothers)``."""
        return f"with the {self.trade.person}" + (f" ({self.who})" if self.who else "")

    @property
    def count(self) -> int:
        """How many pieces it holds."""
        return sum(item.count for item in self.items)

    @property
    def away(self) -> tuple[BatchItem, ...]:
        """What is out and has not come back."""
        return tuple(item for item in self.items if item.came_back is None) if self.state == "out" else ()

    @property
    def unaccounted(self) -> tuple[BatchItem, ...]:
        """What must be looked over, or told of, before it can be closed."""
        return tuple(item for item in self.items if not item.accounted)

    @property
    def short(self) -> tuple[BatchItem, ...]:
        """What came back short, in a batch that is out or back."""
        return tuple(item for item in self.items if item.short)

    def overdue(self, today: str) -> bool:
        """Whether its promised day is past and something has not come back."""
        return bool(self.promised) and self.promised < today and bool(self.away)
