"""A docket in words ready to print: what goes to a trade, and what it is checked against when it comes back. Pure.

It holds what whoever does the work must know, and nothing else of its owner's: no price that was not agreed, no
address, and of stamped numbers not the last three characters unless their owner wants them printed.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from survey.document.masking import make_masker, mask_number
from survey.document.picture import CropRequest, Picture
from survey.grading.cautions import Caution
from survey.model.machine import Machine
from survey.model.outwork import THREADS_WORDS, Batch, BatchItem, HydrogenTable
from survey.model.parts import GradedPart
from survey.model.photos import Photo
from survey.outwork.batches import describe_agreed_price
from survey.outwork.checks import ANSWER_WORDS, DepartureCheck, part_kind
from survey.prices import format_money
from survey.words import capitalize, format_day, format_part_name, format_size_both_ways

SIDES = ("one side", "the other side")
PICTURE_PX = 700
"""How wide a picture is cut: 60 mm at 300 dots an inch."""

TALLEST = 4.0
"""Height over width, or width over height, that a picture is drawn at most."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of an item. ``picture`` is None while there is none."""

    label: str
    picture: Picture | None


@dataclass(frozen=True, slots=True)
class DocketEntry:
    """One item in words. ``orders``: what is to be obeyed, each a heading and a text, the most dangerous first; a
    text not given yet is empty, and leaves room to write.

    ``dangers``: what was looked at before it went, each with its answer. ``back``: what was found on its return.
    ``came_back`` is empty until it was looked over.
    """

    tag: str
    part: int
    label: str
    count: int
    finish: str
    orders: tuple[tuple[str, str], ...]
    before: tuple[tuple[str, str], ...]
    dangers: tuple[tuple[str, str], ...]
    sides: tuple[Side, Side]
    came_back: str
    after: tuple[tuple[str, str], ...]
    threads: str
    found: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class DocketData:
    """Everything a docket says. ``number``: of its batch. ``lead``: count and finish, in a sentence.

    ``terms``: heading and text, each. ``told``: what the trade asks about the whole batch, with the answers;
    ``untold``: what it asks that has no answer yet. ``numbers``: place and text of each stamped number that stays
    readable.
    """

    number: int
    title: str
    lead: str
    name: str
    machine: str
    who: str
    made_on: str
    terms: tuple[tuple[str, str], ...]
    told: tuple[tuple[str, str], ...]
    untold: tuple[str, ...]
    entries: tuple[DocketEntry, ...]
    numbers: tuple[tuple[str, str], ...]
    cautions: tuple[Caution, ...]
    note: str
    out_at: str
    out_by: str
    back_at: str
    in_by: str

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """Every picture, in the order printed."""
        return tuple(side.picture for entry in self.entries for side in entry.sides if side.picture is not None)


@dataclass(frozen=True, slots=True)
class DocketSource:
    """What a docket is made from.

    Args:
        graded, photos: by number. checks: of the whole batch. returned: by item, what was found on its return.
        full_numbers: print stamped numbers whole.
    """

    batch: Batch
    machine: Machine
    graded: Mapping[int, GradedPart]
    photos: Mapping[int, Photo]
    checks: tuple[DepartureCheck, ...]
    returned: Mapping[int, tuple[str, ...]]
    hydrogen: HydrogenTable
    cautions: tuple[Caution, ...]
    made_on: str
    full_numbers: bool = False


def gather_docket(source: DocketSource) -> DocketData:
    """The docket of a batch."""
    batch, machine = source.batch, source.machine
    mask: Callable[[str], str] = str if source.full_numbers else make_masker(machine.numbers)
    answers = tuple((ask.label, mask(batch.answers[ask.id])) for ask in batch.trade.ask if batch.answers.get(ask.id))
    return DocketData(
        number=batch.id,
        title=f"Docket {batch.id}: {batch.trade.label[:1].lower()}{batch.trade.label[1:]}",
        lead=_make_lead(batch, mask),
        name=mask(machine.name),
        machine=mask(" · ".join(filter(None, (machine.maker, machine.model, machine.year, machine.engine)))),
        who=mask(batch.who),
        made_on=format_day(source.made_on),
        terms=tuple((head, mask(text)) for head, text in _list_terms(batch, machine) if text),
        told=answers,
        untold=tuple(ask.label for ask in batch.trade.ask if not batch.answers.get(ask.id)),
        entries=tuple(_make_entry(item, source, mask) for item in batch.items),
        numbers=_list_numbers(source),
        cautions=source.cautions,
        note=mask(batch.note),
        out_at=format_day(batch.out_at),
        out_by=mask(batch.out_by),
        back_at=format_day(batch.back_at),
        in_by=mask(batch.in_by),
    )


def _make_lead(batch: Batch, mask: Callable[[str], str]) -> str:
    """``41 pieces in 1 item: zinc, dull.`` The finishes that several share are named once."""
    finishes = dict.fromkeys(mask(item.finish) for item in batch.items if item.finish)
    pieces = f"{batch.count} {'piece' if batch.count == 1 else 'pieces'}"
    items = f"{len(batch.items)} {'item' if len(batch.items) == 1 else 'items'}"
    return f"{pieces} in {items}" + (f": {'; '.join(finishes)}." if finishes else ".")


def _list_terms(batch: Batch, machine: Machine) -> Iterable[tuple[str, str]]:
    money = machine.currency
    yield "To", ", ".join(filter(None, (batch.who, batch.contact)))
    yield "From", machine.surveyor
    yield "State", "being made up, not sent yet" if batch.state == "draft" else ""
    yield "Promised for", format_day(batch.promised)
    yield "Carriage", batch.carriage
    yield "Insured for", "" if batch.insured is None else format_money(batch.insured, money)
    yield "Price agreed", describe_agreed_price(batch, money) if batch.agreed else ""


def _list_numbers(source: DocketSource) -> tuple[tuple[str, str], ...]:
    """The stamped numbers, where something in the batch may carry one."""
    kinds = {part_kind(source.graded[item.part])[0] for item in source.batch.items if item.part in source.graded}
    if not kinds & {"frame", "fork", "casting", "barrel", "number", "unknown"}:
        return ()
    mask, mask_whole = (str, str) if source.full_numbers else (make_masker(source.machine.numbers), mask_number)
    return tuple((mask(number.place), mask_whole(number.text)) for number in source.machine.numbers)


def _make_entry(item: BatchItem, source: DocketSource, mask: Callable[[str], str]) -> DocketEntry:
    part = source.graded.get(item.part)
    label = format_part_name(part) if part else ""
    checks = [check for check in source.checks if check.item == item.id]
    first, other = (_make_side(words, photo, mask(label), source.photos)
                    for words, photo in zip(SIDES, item.photos, strict=True))  # fmt: skip
    return DocketEntry(
        tag=mask(item.tag),
        part=item.part,
        label=mask(label),
        count=item.count,
        finish=mask(item.finish),
        orders=tuple((head, mask(text)) for head, text in _list_orders(source.batch, item, part, source.hydrogen)),
        before=_format_sizes(item.before, mask),
        dangers=tuple(
            (check.label, ANSWER_WORDS[check.answer])
            for check in checks
            if check.asked or (check.id == "hydrogen" and check.answer != "yes")
        ),
        sides=(first, other),
        came_back="" if item.came_back is None else f"{item.came_back} of {item.count}, {format_day(item.back_at)}",
        after=_format_sizes(item.after, mask),
        threads=THREADS_WORDS.get(item.threads, ""),
        found=tuple(map(mask, source.returned.get(item.id, ()))),
        note=mask(item.note),
    )


def _list_orders(
    batch: Batch, item: BatchItem, part: GradedPart | None, table: HydrogenTable
) -> Iterable[tuple[str, str]]:  # fmt: skip
    never = part is not None and table.never_plated(*part_kind(part)[:2])
    if item.hydrogen == "no-plate" or (item.hydrogen and never):
        yield "Do not plate, no acid", table.never
    elif item.hydrogen == "bake":
        yield "Bake", table.bake_words
    if item.plug or batch.trade.plugs:
        yield "Plug", item.plug
    if item.keep_off or batch.trade.keeps:
        yield "Do not polish, blast or coat", item.keep_off


def _format_sizes(sizes: Collection[tuple[str, str]], mask: Callable[[str], str]) -> tuple[tuple[str, str], ...]:
    return tuple((mask(capitalize(name)), mask(format_size_both_ways(written))) for name, written in sizes)


def _make_side(words: str, number: int | None, label: str, photos: Mapping[int, Photo]) -> Side:
    photo = photos.get(number) if number is not None else None
    if photo is None:
        return Side(words, None)
    aspect = min(max(photo.height / photo.width, 1 / TALLEST), TALLEST)
    crop = CropRequest(photo.id, (0.0, 0.0, 1.0, 1.0), min(PICTURE_PX, photo.width))
    return Side(words, Picture(crop, (), round(aspect, 4), f"{label}, {words}", f"Photo {photo.id}: {words}"))
