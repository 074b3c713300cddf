"""Work that is away, in sentences ready to print. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from survey.document.sheet import Block, Line, Section
from survey.model.outwork import Batch, BatchItem
from survey.model.parts import GradedPart
from survey.outwork.batches import describe_agreed_price
from survey.outwork.checks import Return
from survey.prices import format_money, format_price
from survey.words import capitalize, format_day, format_part_name


def make_outwork_section(lines: Iterable[OutworkLine], standing: str) -> Section | None:
    """What is away, made up or came back; None where there is none. ``standing``: all of it in a sentence."""
    blocks: list[Block] = []
    for line in lines:
        blocks.append(Line(line.state + ".", head=f"{line.head}.", aside=line.money, leads=bool(line.items)))
        blocks += [Line(item, tick=True) for item in line.items]
        blocks += [Line(fault, head="Found:") for fault in line.found]
    if not blocks:
        return None
    return Section("outwork", "Outwork", (*([Line(standing)] if standing else []), *blocks))


@dataclass(frozen=True, slots=True)
class OutworkLine:
    """A batch in words, or a part that came back and is to be examined (``batch`` None).

    ``head`` names it; ``state``: Out since a day, overdue, Back, Being made up; ``items``: each with its count;
    ``found``: what is short, damaged or changed; ``money``: price and insured value, empty where none is recorded.
    """

    batch: int | None
    head: str
    state: str
    items: tuple[str, ...] = ()
    found: tuple[str, ...] = ()
    money: str = ""


def make_printed_outwork_lines(
    batches: Sequence[Batch],
    graded: Mapping[int, GradedPart],
    returned: Mapping[int, tuple[Return, ...]],
    unexamined: Mapping[int, str],
    currency: str,
    today: str,
) -> tuple[OutworkLine, ...]:
    """The lines: what is out first, the longest overdue of it first; then what is made up, what is back, what is
    to be examined.

    Args:
        graded: by number. returned: by batch. unexamined: by part. today: a local day.
    """
    rank = {"out": 0, "draft": 1, "back": 2}
    ordered = sorted(batches, key=lambda batch: (rank[batch.state], batch.promised or "9", batch.id))
    lines = [_make_line(batch, graded, returned.get(batch.id, ()), currency, today) for batch in ordered]
    to_examine = [
        OutworkLine(
            None, f"Part {number}, {format_part_name(graded[number])}", "To be examined", found=(_make_sentence(words),)
        )
        for number, words in unexamined.items()
    ]
    return (*lines, *to_examine)


def state_words(batch: Batch, today: str) -> str:
    """``Out since 2026-06-01, promised 2026-06-20: overdue``."""
    if batch.state == "draft":
        return "Being made up"
    if batch.state == "back":
        return f"Back {format_day(batch.back_at)}"
    promised = f", promised {format_day(batch.promised)}" if batch.promised else ", no day promised"
    late = ": overdue" if batch.overdue(today) else ""
    return f"Out since {format_day(batch.out_at)}{promised}{late}"


def _make_line(
    batch: Batch, graded: Mapping[int, GradedPart], returned: Sequence[Return], currency: str, today: str
) -> OutworkLine:  # fmt: skip
    price = describe_agreed_price(batch, currency) if batch.agreed else format_price(batch.price, currency)
    money = [
        f"{'agreed' if batch.agreed else 'guessed'} {price}" if price else "",
        f"paid {format_money(batch.paid, currency)}" if batch.paid is not None else "",
        f"insured for {format_money(batch.insured, currency)}" if batch.insured is not None else "",
    ]
    return OutworkLine(
        batch.id,
        f"Batch {batch.id}: {batch.name}",
        state_words(batch, today),
        tuple(_describe_item(item, graded) for item in batch.items),
        tuple(
            f"Part {_get_part_number(batch, item_return.item)}: {sentence}"
            for item_return in returned
            for sentence in item_return.found
        ),
        _make_sentence("; ".join(filter(None, money))),
    )


def _describe_item(item: BatchItem, graded: Mapping[int, GradedPart]) -> str:
    name = format_part_name(graded[item.part]) if item.part in graded else f"part {item.part}"
    back = "" if item.came_back is None else f" ({item.came_back} back)"
    return f"{item.count} × {name}" + (f", tag {item.tag}" if item.tag else "") + back


def _get_part_number(batch: Batch, item_id: int) -> int:
    return next(item.part for item in batch.items if item.id == item_id)


def _make_sentence(words: str) -> str:
    return f"{capitalize(words)}." if words else ""
