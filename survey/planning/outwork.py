"""Work sent away: the trades in their order, what a batch holds, what is out. Pure.

Nothing here makes a part fit: a safety part that comes back is to be examined (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from survey.model import Finding, GradedPart, Look
from survey.planning.prices import Price, money_words, price_words
from survey.words import day_words, many

BatchState = Literal["draft", "out", "back"]
Hydrogen = Literal["", "bake", "no-plate", "not-hard"]
Threads = Literal["", "run", "closed"]
Said = Literal["yes", "no"]

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
        """What the plater is told of the bake, with its hours."""
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
        return {one.id: one for one in self.trades}[trade]

    def named(self, words: str) -> tuple[Trade, ...]:
        """The trades that a rule's words name, in their order: ``alloy welder, machine shop`` are two."""
        said = {word.strip() for word in words.split(",")}
        return tuple(one for one in self.trades if said.intersection(one.words))


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
    said: Mapping[str, Said] = field(default_factory=dict)
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
        """How many are out while its batch is: all until it was looked over, then those of which nothing is told."""
        if self.came_back is None:
            return self.count
        return 0 if self.short_note else self.short

    @property
    def accounted(self) -> bool:
        """Whether it was looked over, and every one of it is here or its end is told."""
        return self.came_back is not None and (self.short == 0 or bool(self.short_note))


@dataclass(frozen=True, slots=True)
class Batch:
    """What goes to one firm at one time. Dates are local days, ``YYYY-MM-DD`` or empty.

    ``price`` is for the whole batch; ``agreed``: it was agreed and is no guess any more; ``paid``: so far, or None.
    ``answers``: ask -> what was said. ``anyway``: why it went although something was open.
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


@dataclass(frozen=True, slots=True)
class Away:
    """How many of a part are not here, and where in words. ``lost``: those among them whose end is told."""

    count: int
    where: str
    lost: int = 0


def away(batches: Iterable[Batch], counted_off: Mapping[int, int] | None = None) -> dict[int, Away]:
    """By part number, how many of it are out and with whom, or have not come back from there.

    Args:
        counted_off: by item that came back short, how many were taken off the count of its part since then.
    """
    off, found = counted_off or {}, dict[int, Away]()
    for batch in batches:
        promised = f", promised {day_words(batch.promised)}" if batch.promised else ""
        where = f"{batch.place} since {day_words(batch.out_at)}{promised}"
        for item in batch.items if batch.state != "draft" else ():
            out = item.still_out if batch.state == "out" else 0
            lost = 0 if out else max(0, item.short - off.get(item.id, 0))
            if out or lost:
                before = found.get(item.part, Away(0, ""))
                words = where if out else f"not come back, was {batch.place}: {item.short_note or 'nobody said why'}"
                found[item.part] = Away(before.count + out + lost, words, before.lost + lost)
    return found


def to_examine(graded: Iterable[GradedPart], batches: Iterable[Batch]) -> dict[int, str]:
    """Safety parts that came back and that nobody has looked over since: by part number, from whom and when.

    Only a look or a finding recorded after the latest return counts, and only of what was seen; the work itself passes
    nothing. What nobody knows yet may be a safety part.
    """
    came = [(item, batch) for batch in batches for item in batch.items if item.came_back]
    returns = {
        item.part: (item.checked_at, batch.trade.person, item.back_at)
        for item, batch in sorted(came, key=lambda one: (one[0].checked_at, one[0].id))
    }
    found: dict[int, str] = {}
    for one in graded:
        if one.part.id in returns and (one.component is None or one.component.duty == "safety"):
            at, person, day = returns[one.part.id]
            said: tuple[Look | Finding, ...] = (*one.looks, *one.findings)
            if max((each.at for each in said if each.seen != "unseen"), default="") <= at:
                found[one.part.id] = f"back from the {person} since {day_words(day)}, not looked over"
    return found


CRACK_TEST, WELDING = "examine", "weld"
"""Trades by id: whose answer speaks of cracks, and whose heat makes new ones."""


def crack_tested(graded: Iterable[GradedPart], batches: Iterable[Batch], marring: Collection[str]) -> frozenset[int]:
    """Parts whose crack test still speaks for them, by number: none was welded since, and no harm was recorded.

    Args:
        marring: kinds of finding that speak of the metal itself.
    """
    last: dict[tuple[int, str], str] = {}
    for batch in batches:
        for item in batch.items:
            if item.came_back:
                key = item.part, batch.trade.id
                last[key] = max(last.get(key, ""), item.checked_at)
    return frozenset(
        one.part.id
        for one in graded
        if (tested := last.get((one.part.id, CRACK_TEST)))
        and last.get((one.part.id, WELDING), "") < tested
        and not any(found.kind in marring and found.at >= tested for found in one.findings)
    )


def agreed_words(batch: Batch, currency: str) -> str:
    """What was agreed, one figure where there is one: ``£30.00``; else low to high. Empty where nobody said."""
    likely = batch.price.likely
    return price_words(batch.price, currency) if likely is None else money_words(likely, currency)


def outwork_in_words(batches: Iterable[Batch], today: str) -> str:
    """How the outwork stands, in a sentence: ``2 batches out with 14 pieces, 1 of them overdue.``; empty for none."""
    known = list(batches)
    out = [one for one in known if one.away]
    told = []
    if out:
        pieces = sum(item.count for one in out for item in one.away)
        late = sum(one.overdue(today) for one in out)
        overdue = "" if not late else ", overdue" if late == len(out) else f", {late} of them overdue"
        told.append(f"{many(len(out), 'batch', 'batches')} out with {many(pieces, 'piece')}{overdue}")
    lost = sum(item.short for one in known for item in one.short)
    if lost:
        told.append(f"{many(lost, 'piece')} came back short")
    drafts = sum(one.state == "draft" for one in known)
    if drafts:
        told.append(f"{many(drafts, 'batch', 'batches')} being made up")
    return "; ".join(told) + "." if told else ""
