"""What is looked at before a batch leaves, and what is found when it comes back. Pure: today is given, never asked.

Each answer is one of three: yes, no, not said. The usual trade practice of photographing both sides, counting, tagging
and measuring before plating is common practice, no source; the cautions carry their own (see the table of trades).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from survey.errors import BadSize
from survey.model.outwork import HYDROGEN_WORDS, UNKNOWN, Batch, BatchItem, PartCheck, Trade, Trades
from survey.model.parts import GradedPart
from survey.units import parse_size
from survey.words import capital

Answer = Literal["yes", "no", "not-said"]
Holds = Literal["always", "unless", "never"]

ANSWER_WORDS: dict[Answer, str] = {"yes": "yes", "no": "no", "not-said": "not said"}


@dataclass(frozen=True, slots=True)
class DepartureCheck:
    """One thing looked at before a batch leaves. ``item``: the number of the item it is of, or None for the batch.

    ``holds``: ``always`` keeps it here while the answer is not yes, ``unless`` does so unless a reason is given,
    ``never`` is advice. ``asked``: whether a person answers it with yes or no (else it follows from what is recorded).
    """

    id: str
    label: str
    answer: Answer
    text: str
    holds: Holds
    item: int | None = None
    source: str = ""
    asked: bool = False

    @property
    def keeps_here(self) -> bool:
        """Whether the batch does not leave as it stands, reason or none."""
        return self.holds == "always" and self.answer != "yes"

    @property
    def needs_reason(self) -> bool:
        """Whether the batch leaves only with a reason."""
        return self.holds == "unless" and self.answer != "yes"


@dataclass(frozen=True, slots=True)
class Return:
    """What is found of an item that came back: sentences, the worst first; none where all is as it went."""

    item: int
    found: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DepartureFacts:
    """What the checks stand on: parts by number, trades to be seen first by item, and the facts that hold.

    ``facts``: steps of the build that are done. ``examined``: parts that came back from a crack test.
    """

    parts: Mapping[int, GradedPart]
    trades: Trades
    first: Mapping[int, Trade]
    facts: Collection[str] = ()
    examined: Collection[int] = ()


def check_before_departure(batch: Batch, ground: DepartureFacts) -> tuple[DepartureCheck, ...]:
    """Everything that is looked at before the batch leaves: the batch itself, then item by item."""
    return (*_of_batch(batch), *(check for item in batch.items for check in _of_item(batch, item, ground)))


def check_returns(batch: Batch, ground: DepartureFacts) -> tuple[Return, ...]:
    """What is found of every item that was looked over on its return."""
    return tuple(
        Return(item.id, tuple(_found(batch, item, ground.parts.get(item.part))))
        for item in batch.items
        if item.came_back is not None
    )


def describe_size_change(before: str, after: str) -> str:
    """How a size has changed, ``0.05 mm more``; empty where it has not, or the two cannot be compared."""
    try:
        sizes = parse_size(before), parse_size(after)
    except BadSize:
        sizes = None
    if sizes is None or {one.dimension for one in sizes} != {"length"}:
        return "" if before.casefold().split() == after.casefold().split() else "written otherwise"
    change = float(sizes[1].mm - sizes[0].mm)
    return "" if abs(change) < 0.0005 else f"{abs(change):.3f} mm {'more' if change > 0 else 'less'}"


def _of_batch(batch: Batch) -> Iterator[DepartureCheck]:
    def told(name: str, label: str, known: bool, text: str, holds: Holds = "never") -> DepartureCheck:
        return DepartureCheck(name, label, "yes" if known else "not-said", text, holds)

    yield DepartureCheck("items", "Something is in it", "yes" if batch.items else "no", "Put a part into it.", "always")
    yield told("who", "Who gets it", bool(batch.who), "Say to which firm or person it goes.", "always")
    yield told("contact", "How to reach them", bool(batch.contact), "A telephone number.")
    yield told("promised", "Promised for", bool(batch.promised), "Ask for a day; without one nothing is ever late.")
    yield told("carriage", "Who pays carriage", bool(batch.carriage), "There and back.")
    yield told("insured", "Insured for", batch.insured is not None, "What it would cost to find the same again.")
    yield told("price", "What it will cost", batch.price.known, "Low, likely and high, until it is agreed.")
    for ask in batch.trade.ask:
        yield told(f"ask-{ask.id}", ask.label, bool(batch.answers.get(ask.id)), f"{capital(ask.hint)}.")


def _of_item(batch: Batch, item: BatchItem, ground: DepartureFacts) -> Iterator[DepartureCheck]:
    trade, part = batch.trade, ground.parts.get(item.part)

    def check(name: str, label: str, answer: Answer | bool, text: str, source: str = "") -> DepartureCheck:
        said: Answer = answer if isinstance(answer, str) else "yes" if answer else "not-said"
        return DepartureCheck(name, label, said, text, "unless", item.id, source)

    in_hand = part.part.quantity if part else 0
    gone = f"{_told(item.count)} to go, and {_told(in_hand)} recorded as here."
    yield check("count", "Counted", "yes" if item.count <= in_hand else "no", gone)
    yield check("tag", "Tagged", bool(item.tag), "A stamped or engraved tag wired on: ovens and acid eat paper.")
    sides: tuple[Answer, Answer, Answer] = ("not-said", "no", "yes")
    yield check("photos", "Photo of both sides", sides[sum(one is not None for one in item.photos)], _PHOTOS)
    yield check("finish", "What is to be done to it", bool(item.finish), "Say what finish, or what work, is wanted.")
    if trade.sizes:
        yield check("sizes", "Sizes before", bool(item.before), _SIZES)
    if trade.plugs:
        yield check("plug", "Threads and bores to plug", bool(item.plug), _PLUG)
    if trade.keeps:
        yield check("keep_off", "Not to be touched", bool(item.keep_off), _KEEP_OFF)
    first = ground.first.get(item.id)
    if first is not None:
        text = f"It is still to go to the {first.person}. {first.about}"
        yield check("order", f"{first.label} comes first", "no", text, first.source)
    if part is not None:
        yield from _dangers(trade, item, part, ground)


_PHOTOS = "Whoever has the picture taken before it went wins the argument afterwards."
_SIZES = "Such work adds metal or takes it off: measure what must fit."
_PLUG = "Name them, or say none: else they come back closed."
_KEEP_OFF = "Numbers, cast marks, tapers, bearing seats, crisp edges; or say none."


def _dangers(trade: Trade, item: BatchItem, part: GradedPart, ground: DepartureFacts) -> Iterator[DepartureCheck]:
    """The cautions of such a part at such a trade. What is not known what it is, is asked everything."""
    kind, material, duty = part_kind(part)
    table = ground.trades.hydrogen
    if table.asked_of(trade.id, kind, material):
        never = table.never_plated(kind, material)
        told = ("no-plate",) if never else tuple(HYDROGEN_WORDS)
        answer: Answer = "yes" if item.hydrogen in told else "no" if item.hydrogen else "not-said"
        label = "Said: do not plate" if never else "Hardened? Bake, or do not plate"
        text = table.never if never else table.bake_words
        yield DepartureCheck("hydrogen", label, answer, text, "always", item.id, table.source)
    for check in ground.trades.checks:
        if check.asked_of(trade.id, kind, material, duty):
            yield DepartureCheck(
                check.id, check.label, _answer(check, item, ground, known=kind != UNKNOWN), check.text,
                "always" if check.always or check.never else "unless", item.id, check.source, asked=not check.never,
            )  # fmt: skip


def part_kind(part: GradedPart) -> tuple[str, str, str]:
    """Class, material and duty of a part; of one that nobody knows yet, ``unknown`` and safety."""
    one = part.component
    if one is None:
        return UNKNOWN, part.part.material or UNKNOWN, "safety"
    return one.part_class, part.part.material or one.material, one.duty


def _answer(check: PartCheck, item: BatchItem, ground: DepartureFacts, known: bool) -> Answer:
    """``known``: it has a class; a step of the build was done to what the schedule names, and to nothing else."""
    if check.never:
        return "no"
    said = item.said.get(check.id)
    if said is not None:
        return said
    fact = check.given == "examined" and item.part in ground.examined
    return "yes" if fact or (known and check.given in ground.facts) else "not-said"


def _found(batch: Batch, item: BatchItem, part: GradedPart | None) -> Iterator[str]:
    if item.short:
        told = f": {item.short_note}" if item.short_note else ". Ask where the rest is, or say what became of it"
        yield f"{item.short} of {item.count} short{told}."
    if item.came_back is not None and item.came_back > item.count:
        yield f"{item.came_back - item.count} more than went: somebody else's may be among them."
    if item.damage:
        yield f"Damaged: {item.damage}."
    if item.threads == "closed":
        yield "Threads closed up: run them before anything is forced together."
    elif batch.trade.plugs and not item.threads:
        yield "Nobody has said whether the threads still run."
    yield from _sizes(item)
    if part is not None and part_kind(part)[2] == "safety":
        yield "A safety part: look it over and record what is seen. Its work passes nothing as fit."


def _sizes(item: BatchItem) -> Iterator[str]:
    after = {name.casefold(): written for name, written in item.after}
    for name, before in item.before:
        now = after.get(name.casefold())
        if now is None:
            yield f"{capital(name)} not measured again; it was {before}."
        elif change := describe_size_change(before, now):
            yield f"{capital(name)} was {before}, now {now}: {change}."


def select_open_checks(checks: Iterable[DepartureCheck]) -> tuple[DepartureCheck, ...]:
    """Those that keep a batch here, the ones that no reason lifts first."""
    held = [one for one in checks if one.keeps_here or one.needs_reason]
    return tuple(sorted(held, key=lambda one: one.holds != "always"))


def _told(count: int) -> str:
    return f"{count} {'is' if count == 1 else 'are'}"
