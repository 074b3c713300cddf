"""Work that is away, in sentences ready to print. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from survey.model import GradedPart
from survey.planning.outwork import Batch, BatchItem, agreed_words
from survey.planning.outwork_checks import Return
from survey.planning.prices import money_words, price_words
from survey.words import capital, day_words, part_name


@dataclass(frozen=True, slots=True)
class OutworkLine:
    """A batch in words, or a part that came back and is to be examined (``batch`` None).

    ``head`` names it; ``state``: Out since a day, overdue, Back, Being made up; ``items``: each with its count;
    ``found``: what is short, damaged or changed; ``money``: price and insured value, empty where nobody said.
    """

    batch: int | None
    head: str
    state: str
    items: tuple[str, ...] = ()
    found: tuple[str, ...] = ()
    money: str = ""


def outwork_lines(
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
    order = sorted(batches, key=lambda one: (rank[one.state], one.promised or "9", one.id))
    lines = [_line(one, graded, returned.get(one.id, ()), currency, today) for one in order]
    owed = [
        OutworkLine(None, f"Part {number}, {part_name(graded[number])}", "To be examined", found=(_sentence(words),))
        for number, words in unexamined.items()
    ]
    return (*lines, *owed)


def state_words(batch: Batch, today: str) -> str:
    """``Out since 2026-06-01, promised 2026-06-20: overdue``."""
    if batch.state == "draft":
        return "Being made up"
    if batch.state == "back":
        return f"Back {day_words(batch.back_at)}"
    promised = f", promised {day_words(batch.promised)}" if batch.promised else ", no day promised"
    late = ": overdue" if batch.overdue(today) else ""
    return f"Out since {day_words(batch.out_at)}{promised}{late}"


def _line(
    batch: Batch, graded: Mapping[int, GradedPart], returned: Sequence[Return], currency: str, today: str
) -> OutworkLine:  # fmt: skip
    price = agreed_words(batch, currency) if batch.agreed else price_words(batch.price, currency)
    money = [
        f"{'agreed' if batch.agreed else 'guessed'} {price}" if price else "",
        f"paid {money_words(batch.paid, currency)}" if batch.paid is not None else "",
        f"insured for {money_words(batch.insured, currency)}" if batch.insured is not None else "",
    ]
    return OutworkLine(
        batch.id,
        f"Batch {batch.id}: {batch.name}",
        state_words(batch, today),
        tuple(_item(item, graded) for item in batch.items),
        tuple(f"Part {_part(batch, one.item)}: {said}" for one in returned for said in one.found),
        _sentence("; ".join(filter(None, money))),
    )


def _item(item: BatchItem, graded: Mapping[int, GradedPart]) -> str:
    called = part_name(graded[item.part]) if item.part in graded else f"part {item.part}"
    back = "" if item.came_back is None else f" ({item.came_back} back)"
    return f"{item.count} × {called}" + (f", tag {item.tag}" if item.tag else "") + back


def _part(batch: Batch, item_id: int) -> int:
    return next(item.part for item in batch.items if item.id == item_id)


def _sentence(words: str) -> str:
    return f"{capital(words)}." if words else ""
