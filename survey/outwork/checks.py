"""What is looked at before a batch leaves, and what is found when it comes back. Pure: today's date is passed in.

Each answer is one of three: yes, no, not recorded. The usual trade practice of photographing both sides, counting,
tagging and measuring before plating is common practice, no source; the cautions carry their own (see the table of
trades).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from survey.errors import BadSize
from survey.model.outwork import HYDROGEN_WORDS, UNKNOWN, Batch, BatchItem, PartCheck, Trade, Trades
from survey.model.parts import GradedPart
from survey.units import parse_size
from survey.words import capitalize

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
        """Whether the batch cannot leave as it is, whatever reason is given."""
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
    """What the checks are made from: parts by number, earlier trades by item, and the facts that hold.

    ``facts``: steps of the build that are done. ``examined``: parts that came back from a crack test.
    """

    parts: Mapping[int, GradedPart]
    trades: Trades
    first: Mapping[int, Trade]
    facts: Collection[str] = ()
    examined: Collection[int] = ()


def check_before_departure(batch: Batch, facts: DepartureFacts) -> tuple[DepartureCheck, ...]:
    """Everything that is looked at before the batch leaves: the batch itself, then item by item."""
    return (*_check_batch(batch), *(check for item in batch.items for check in _check_item(batch, item, facts)))


def check_returns(batch: Batch, facts: DepartureFacts) -> tuple[Return, ...]:
    """What is found of every item that was looked over on its return."""
    return tuple(
        Return(item.id, tuple(_find_faults(batch, item, facts.parts.get(item.part))))
        for item in batch.items
        if item.came_back is not None
    )


def describe_size_change(before: str, after: str) -> str:
    """How a size has changed, ``0.05 mm more``; empty where it has not, or the two cannot be compared."""
    try:
        sizes = parse_size(before), parse_size(after)
    except BadSize:
        sizes = None
    if sizes is None or {size.dimension for size in sizes} != {"length"}:
        return "" if before.casefold().split() == after.casefold().split() else "written otherwise"
    change = float(sizes[1].mm - sizes[0].mm)
    return "" if abs(change) < 0.0005 else f"{abs(change):.3f} mm {'more' if change > 0 else 'less'}"


def _check_batch(batch: Batch) -> Iterator[DepartureCheck]:
    def make_check(name: str, label: str, is_recorded: bool, text: str, holds: Holds = "never") -> DepartureCheck:
        return DepartureCheck(name, label, "yes" if is_recorded else "not-said", text, holds)

    yield DepartureCheck("items", "Something is in it", "yes" if batch.items else "no", "Put a part into it.", "always")
    yield make_check("who", "Who gets it", bool(batch.who), "Say to which firm or person it goes.", "always")
    yield make_check("contact", "How to reach them", bool(batch.contact), "A telephone number.")
    yield make_check(
        "promised", "Promised for", bool(batch.promised), "Ask for a day; without one nothing is ever late."
    )
    yield make_check("carriage", "Who pays carriage", bool(batch.carriage), "There and back.")
    yield make_check("insured", "Insured for", batch.insured is not None, "What it would cost to find the same again.")
    yield make_check("price", "What it will cost", batch.price.known, "Low, likely and high, until it is agreed.")
    for ask in batch.trade.ask:
        yield make_check(f"ask-{ask.id}", ask.label, bool(batch.answers.get(ask.id)), f"{capitalize(ask.hint)}.")


def _check_item(batch: Batch, item: BatchItem, facts: DepartureFacts) -> Iterator[DepartureCheck]:
    trade, part = batch.trade, facts.parts.get(item.part)

    def make_check(name: str, label: str, answer: Answer | bool, text: str, source: str = "") -> DepartureCheck:
        checked: Answer = answer if isinstance(answer, str) else "yes" if answer else "not-said"
        return DepartureCheck(name, label, checked, text, "unless", item.id, source)

    in_hand = part.part.quantity if part else 0
    count_text = f"{_format_count(item.count)} to go, and {_format_count(in_hand)} recorded as here."
    yield make_check("count", "Counted", "yes" if item.count <= in_hand else "no", count_text)
    yield make_check("tag", "Tagged", bool(item.tag), "A stamped or engraved tag wired on: ovens and acid eat paper.")
    sides: tuple[Answer, Answer, Answer] = ("not-said", "no", "yes")
    yield make_check("photos", "Photo of both sides", sides[sum(photo is not None for photo in item.photos)], _PHOTOS)
    yield make_check(
        "finish", "What is to be done to it", bool(item.finish), "Say what finish, or what work, is wanted."
    )
    if trade.sizes:
        yield make_check("sizes", "Sizes before", bool(item.before), _SIZES)
    if trade.plugs:
        yield make_check("plug", "Threads and bores to plug", bool(item.plug), _PLUG)
    if trade.keeps:
        yield make_check("keep_off", "Not to be touched", bool(item.keep_off), _KEEP_OFF)
    first = facts.first.get(item.id)
    if first is not None:
        text = f"It is still to go to the {first.person}. {first.about}"
        yield make_check("order", f"{first.label} comes first", "no", text, first.source)
    if part is not None:
        yield from _check_dangers(trade, item, part, facts)


_PHOTOS = "Whoever has the picture taken before it went wins the argument afterwards."
_SIZES = "Such work adds metal or takes it off: measure what must fit."
_PLUG = "Name them, or say none: else they come back closed."
_KEEP_OFF = "Numbers, cast marks, tapers, bearing seats, crisp edges; or say none."


def _check_dangers(trade: Trade, item: BatchItem, part: GradedPart, facts: DepartureFacts) -> Iterator[DepartureCheck]:
    """The cautions of such a part at such a trade. A part that is not identified yet gets every caution."""
    kind, material, duty = part_kind(part)
    table = facts.trades.hydrogen
    if table.asked_of(trade.id, kind, material):
        never = table.never_plated(kind, material)
        allowed_answers = ("no-plate",) if never else tuple(HYDROGEN_WORDS)
        answer: Answer = "yes" if item.hydrogen in allowed_answers else "no" if item.hydrogen else "not-said"
        label = "Said: do not plate" if never else "Hardened? Bake, or do not plate"
        text = table.never if never else table.bake_words
        yield DepartureCheck("hydrogen", label, answer, text, "always", item.id, table.source)
    for check in facts.trades.checks:
        if check.asked_of(trade.id, kind, material, duty):
            yield DepartureCheck(
                check.id, check.label, _answer_check(check, item, facts, known=kind != UNKNOWN), check.text,
                "always" if check.always or check.never else "unless", item.id, check.source, asked=not check.never,
            )  # fmt: skip


def part_kind(part: GradedPart) -> tuple[str, str, str]:
    """Class, material and duty of a part; of one that is not identified yet, ``unknown`` and safety."""
    component = part.component
    if component is None:
        return UNKNOWN, part.part.material or UNKNOWN, "safety"
    return component.part_class, part.part.material or component.material, component.duty


def _answer_check(check: PartCheck, item: BatchItem, facts: DepartureFacts, known: bool) -> Answer:
    """``known``: the part has a class; a finished build step counts only for parts the schedule names."""
    if check.never:
        return "no"
    recorded = item.said.get(check.id)
    if recorded is not None:
        return recorded
    is_examined = check.given == "examined" and item.part in facts.examined
    return "yes" if is_examined or (known and check.given in facts.facts) else "not-said"


def _find_faults(batch: Batch, item: BatchItem, part: GradedPart | None) -> Iterator[str]:
    if item.short:
        reason = f": {item.short_note}" if item.short_note else ". Ask where the rest is, or say what became of it"
        yield f"{item.short} of {item.count} short{reason}."
    if item.came_back is not None and item.came_back > item.count:
        yield f"{item.came_back - item.count} more than went: somebody else's may be among them."
    if item.damage:
        yield f"Damaged: {item.damage}."
    if item.threads == "closed":
        yield "Threads closed up: run them before anything is forced together."
    elif batch.trade.plugs and not item.threads:
        yield "Nobody has said whether the threads still run."
    yield from _compare_sizes(item)
    if part is not None and part_kind(part)[2] == "safety":
        yield "A safety part: look it over and record what is seen. Its work passes nothing as fit."


def _compare_sizes(item: BatchItem) -> Iterator[str]:
    sizes_after = {name.casefold(): written for name, written in item.after}
    for name, before in item.before:
        after_size = sizes_after.get(name.casefold())
        if after_size is None:
            yield f"{capitalize(name)} not measured again; it was {before}."
        elif change := describe_size_change(before, after_size):
            yield f"{capitalize(name)} was {before}, now {after_size}: {change}."


def select_open_checks(checks: Iterable[DepartureCheck]) -> tuple[DepartureCheck, ...]:
    """Those that keep a batch here, the ones that no reason lifts first."""
    open_checks = [check for check in checks if check.keeps_here or check.needs_reason]
    return tuple(sorted(open_checks, key=lambda check: check.holds != "always"))


def _format_count(count: int) -> str:
    return f"{count} {'is' if count == 1 else 'are'}"
