"""What is to be got, in words ready to print, for the owner's pocket or for a friend. Pure: no files, no clock.

A friend's copy says nothing of prices, of who was asked, of the owner's notes or of how the machine was bought, and
no stamped number in full: the last three characters of each are hidden everywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from survey.document.crops import choose_part_pictures, crop_width_px
from survey.document.masking import make_masker, mask_number
from survey.document.picture import Picture
from survey.model.machine import Machine
from survey.model.parts import GradedPart
from survey.model.photos import Photo
from survey.model.wants import WANT_WORDS
from survey.prices import format_money, format_price
from survey.wants.want_lines import Stalls, WantLine, describe_wants, group_by_stall

NO_PICTURES_OF = ("number", "paper")
"""Classes whose pictures would show a number or an address in full."""

PICTURES_OF_ONE = 2
"""Pictures of one want in a friend's copy."""


@dataclass(frozen=True, slots=True)
class WantEntry:
    """One want in words.

    ``duty`` is empty for a thing of the owner's own. ``unknown``: sizes still to be measured. ``most``: the most to be
    paid. ``way``: how far it has got, with whom and since when. ``pictures``: of the part to be replaced, in a
    friend's copy alone.
    """

    component: str
    label: str
    names: str
    count: int
    why: str
    assembly: str
    stall: str
    duty: str
    sizes: tuple[str, ...]
    unknown: tuple[str, ...]
    tell_tales: tuple[str, ...]
    brings: tuple[str, ...]
    also: str
    price: str
    low: str
    likely: str
    high: str
    most: str
    state: str
    who: str
    since: str
    note: str
    pictures: tuple[Picture, ...]

    @property
    def way(self) -> str:
        """``Asked, Wren, 2026-06-07``; empty for what is only wanted."""
        return "" if self.state == WANT_WORDS["wanted"] else ", ".join(filter(None, (self.state, self.who, self.since)))


@dataclass(frozen=True, slots=True)
class WantsData:
    """Everything a sheet of wants prints. ``groups``: the entries by kind of stall, in the order of the walk.

    ``machine``: what it is, in a line. ``numbers``: place and beginning of each stamped number. ``standing``:
    the state of the wants, in a sentence. ``to_measure``: how many things have a size that is still unknown.
    """

    name: str
    machine: str
    numbers: tuple[tuple[str, str], ...]
    made_on: str
    currency: str
    for_friend: bool
    standing: str
    to_measure: int
    groups: tuple[tuple[str, tuple[WantEntry, ...]], ...]

    @property
    def entries(self) -> tuple[WantEntry, ...]:
        """Every want, in the order printed."""
        return tuple(entry for _, entries in self.groups for entry in entries)


def gather_wants(
    lines: Sequence[WantLine],
    machine: Machine,
    stalls: Stalls,
    graded: Mapping[int, GradedPart],
    photos: Mapping[int, Photo],
    *,
    made_on: str,
    for_friend: bool,
) -> WantsData:
    """The wants for paper; what is here already or is no longer needed is left out of a friend's copy.

    Args:
        graded: every part by number; photos: by number. made_on: a date.
    """
    printed_lines = [line for line in lines if not for_friend or (line.count and line.state in ("wanted", "asked"))]
    mask = make_masker(machine.numbers) if for_friend else str
    groups = tuple(
        (stall, tuple(_make_entry(line, machine.currency, mask, _pictures(line, graded, photos) if for_friend else ())
                      for line in stall_lines))
        for stall, stall_lines in group_by_stall(printed_lines, stalls).items()
    )  # fmt: skip
    machine_facts = (machine.maker, machine.model, machine.year, machine.engine)
    data = WantsData(
        name=mask(machine.name),
        machine=mask(" · ".join(filter(None, machine_facts))),
        numbers=tuple((mask(number.place), mask_number(number.text)) for number in machine.numbers)
        if for_friend
        else (),
        made_on=made_on,
        currency=machine.currency,
        for_friend=for_friend,
        standing="" if for_friend else describe_wants(lines),
        to_measure=sum(bool(line.unknown) for line in printed_lines),
        groups=groups,
    )
    return _remove_private_fields(data) if for_friend else data


def _make_entry(line: WantLine, currency: str, mask: Callable[[str], str], pictures: tuple[Picture, ...]) -> WantEntry:
    want, component = line.said, line.component
    low, likely, high = (
        "" if amount is None else str(amount) for amount in (line.price.low, line.price.likely, line.price.high)
    )
    return WantEntry(
        component=component.id if component else "",
        label=mask(line.label),
        names=mask(", ".join(component.names)) if component else "",
        count=line.count,
        why="; ".join(line.reasons) if line.count else "no longer needed: tell them",
        assembly=line.assembly,
        stall=line.stall.label,
        duty=component.duty if component else "",
        sizes=tuple(
            mask(f"{size.name}: {size.written}" + (" (on the old part)" if size.worn else "")) for size in line.sizes
        ),
        unknown=tuple(map(mask, line.unknown)),
        tell_tales=line.tell_tales,
        brings=tuple(map(mask, line.brings)),
        also=mask(want.also) if want else "",
        price=format_price(line.price, currency),
        low=low,
        likely=likely,
        high=high,
        most="" if line.price.high is None else format_money(line.price.high, currency),
        state=WANT_WORDS[line.state],
        who=want.who if want else "",
        since=want.since[:10] if want else "",
        note=want.note if want else "",
        pictures=pictures,
    )


def _remove_private_fields(data: WantsData) -> WantsData:
    """The data without prices, people and notes, also in fields that are not printed."""
    bare = {"price": "", "low": "", "likely": "", "high": "", "most": "", "who": "", "since": "", "note": "", "why": ""}
    return replace(
        data,
        groups=tuple((stall, tuple(replace(entry, **bare) for entry in pile)) for stall, pile in data.groups),  # type: ignore[arg-type]
    )


def _pictures(line: WantLine, graded: Mapping[int, GradedPart], photos: Mapping[int, Photo]) -> tuple[Picture, ...]:
    """The plainest picture of each old part, without words; none of what carries a number, nor one that shows it too.

    That is the photo that shows the fewest things. Where it shows others too, rings point at the part.
    """
    if line.component is None or line.component.part_class in NO_PICTURES_OF:
        return ()
    telling = {one.part.id for one in graded.values() if one.component and one.component.part_class in NO_PICTURES_OF}
    found = []
    for number in line.parts[:PICTURES_OF_ONE]:
        one = graded[number]
        taken = [*one.part.photos, *(photo for finding in one.findings for photo in finding.photos)]
        plain_ones = (
            photos[photo] for photo in taken if photo in photos and not telling.intersection(photos[photo].parts)
        )
        best = min(plain_ones, key=lambda p: len(p.parts), default=None)
        if best is None:
            continue
        rings = tuple(replace(m, finding=None) for m in one.marks if m.photo == best.id and len(best.parts) > 1)
        plain = replace(one, part=replace(one.part, photos=(best.id,)), findings=(), looks=(), marks=rings)
        seen, _ = choose_part_pictures(plain, line.label, (), photos, crop_width_px(1))
        found += [replace(shown, alt=f"The old {line.label}", caption="the old one") for shown in seen[:1]]
    return tuple(found)
