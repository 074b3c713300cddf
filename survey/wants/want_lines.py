"""What is to be got: one line for each component however many reasons it has, with the sizes to take along.

A want follows from the schedule: a position that is missing, here but wrong or short, and a part that is to be
replaced (by its owner's own grade where there is one, by the rules' otherwise). What the owner adds (who was asked,
what it may cost, what would also do) is kept beside it and never makes a position filled: only a part that is
recorded does. A promise is no part (common practice, no source).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from survey.model.parts import GradedPart, Reading
from survey.model.price import Price
from survey.model.schedule import Component, Gap
from survey.model.wants import UNDER_WAY, WANT_STATES, WANT_WORDS, Want, WantState
from survey.schedule.gaps import WRONG_FROM_STEP
from survey.words import GAP_WORDS, format_size_both_ways, reading_in_words


@dataclass(frozen=True, slots=True)
class Stall:
    """A kind of stall at a jumble, and the classes of part one looks for there."""

    id: str
    label: str
    classes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stalls:
    """The kinds of stall in the order of the walk, the last for whatever has no class.

    ``tell_tale``: words by which a fault of the catalogue tells the wrong one.
    """

    stalls: tuple[Stall, ...]
    tell_tale: tuple[str, ...]
    source: str

    def of(self, part_class: str) -> Stall:
        """Where one looks for a part of that class."""
        return next((one for one in self.stalls if part_class in one.classes), self.stalls[-1])


@dataclass(frozen=True, slots=True)
class SizeLine:
    """A size to take along: as written and in the other system; ``worn``: measured on the part to be replaced."""

    name: str
    written: str
    worn: bool = False


@dataclass(frozen=True, slots=True)
class WantLine:
    """One thing to get.

    ``count`` is 0 when it is no longer needed but somebody was asked. ``reasons`` in words. ``unknown``: sizes
    that must be measured before going. ``tell_tales``: faults that tell the wrong one. ``brings``: what should come
    with it. ``parts``: those that it replaces. ``said``: what the owner said of it, if anything.
    """

    component: Component | None
    label: str
    count: int
    reasons: tuple[str, ...]
    stall: Stall
    sizes: tuple[SizeLine, ...]
    unknown: tuple[str, ...]
    tell_tales: tuple[str, ...]
    brings: tuple[str, ...]
    parts: tuple[int, ...]
    said: Want | None = None

    @property
    def state(self) -> WantState:
        """How far it has got."""
        return self.said.state if self.said else "wanted"

    @property
    def price(self) -> Price:
        """What it may cost."""
        return self.said.price if self.said else Price()

    @property
    def assembly(self) -> str:
        """The assembly it belongs to, or none."""
        return self.component.assembly if self.component else ""


def make_want_lines(
    schedule: Sequence[Component],
    gaps: Iterable[Gap],
    graded: Iterable[GradedPart],
    said: Iterable[Want],
    stalls: Stalls,
) -> tuple[WantLine, ...]:
    """Everything to get: the schedule's components in its order, then things of the owner's own.

    Args:
        schedule: the survey's own schedule.
        gaps: every position that is not filled.
        graded: every part with its verdict.
        said: what the owner said, one for a component or a label.
        stalls: which kind of stall has what.
    """
    own = {one.component or "": one for one in said if one.component}
    lacking, brings = _lacking(gaps)
    parts = _by_component(graded)
    found = []
    for component in schedule:
        gap, mine = lacking.get(component.id), parts[component.id]
        line = _line(component, gap, mine, own.get(component.id), brings[component.id], stalls)
        if line is not None:
            found.append(line)
    loose = [_loose(one, stalls) for one in said if one.component is None]
    return (*found, *sorted(loose, key=lambda line: line.label.casefold()))


def select_outstanding(lines: Iterable[WantLine]) -> tuple[WantLine, ...]:
    """What is still to be got or to come: everything that is needed and not here."""
    return tuple(line for line in lines if line.count and line.state != "here")


def describe_wants(lines: Sequence[WantLine]) -> str:
    """How the wants stand, in one sentence: ``12 things to get: 9 wanted, 2 promised, 1 bought, not come.``"""
    still = select_outstanding(lines)
    if not still:
        return ""
    counts = [(sum(line.state == state for line in still), WANT_WORDS[state].lower()) for state in WANT_STATES]
    told = ", ".join(f"{many} {words}" for many, words in counts if many)
    things = "1 thing" if len(still) == 1 else f"{len(still)} things"
    return f"{things} to get: {told}. Nothing of this counts as here."


def is_replaced(one: GradedPart) -> bool:
    """Whether another is needed in its place: the owner's own grade counts where there is one."""
    return (one.own_grade.grade if one.own_grade else one.verdict.grade) == "replace"


def _lacking(gaps: Iterable[Gap]) -> tuple[dict[str, Gap], defaultdict[str, list[str]]]:
    """The gaps that are wants of their own, and by holder what should come with it."""
    lacking: dict[str, Gap] = {}
    brings: defaultdict[str, list[str]] = defaultdict(list)
    for gap in gaps:
        if gap.state not in ("missing", "wrong", "short"):
            continue
        if gap.through is None:
            lacking[gap.component.id] = gap
        else:
            brings[gap.through].append(gap.component.label)
    return lacking, brings


def _by_component(graded: Iterable[GradedPart]) -> defaultdict[str, list[GradedPart]]:
    piles: defaultdict[str, list[GradedPart]] = defaultdict(list)
    for one in graded:
        if one.component is not None:
            piles[one.component.id].append(one)
    return piles


def _is_wrong(one: GradedPart) -> bool:
    return any(f.kind == "wrong_part" and f.step >= WRONG_FROM_STEP for f in one.findings)


def _needed(component: Component, gap: Gap | None, parts: Sequence[GradedPart]) -> int:
    """How many are lacking: those that are here and right and need no replacing do not have to be got."""
    if gap is not None and gap.state == "wrong":
        return component.quantity
    if gap is not None and gap.state == "missing":
        return component.quantity - gap.found
    right = [one for one in parts if not _is_wrong(one)]
    good = sum(one.part.quantity for one in right if not is_replaced(one))
    lacking = max(0, component.quantity - good)
    # Where nobody said that some are short, what has not been looked for is not wanted yet.
    return lacking if gap is not None else min(lacking, sum(one.part.quantity for one in right if is_replaced(one)))


def _line(
    component: Component,
    gap: Gap | None,
    parts: Sequence[GradedPart],
    said: Want | None,
    brings: Sequence[str],
    stalls: Stalls,
) -> WantLine | None:
    needed = _needed(component, gap, parts)
    count = said.quantity if said and said.quantity is not None else needed
    if not count and (said is None or said.state not in UNDER_WAY):
        return None
    old = [one for one in parts if is_replaced(one) or _is_wrong(one)]
    sizes = _sizes(said, old)
    named = {size.name.casefold() for size in sizes}
    return WantLine(
        component=component,
        label=component.label,
        count=count,
        reasons=_reasons(
            component, gap if needed else None, [one for one in old if is_replaced(one)] if needed else []
        ),
        stall=stalls.of(component.part_class),
        sizes=sizes,
        unknown=tuple(name for name in component.sizes if name.casefold() not in named),
        tell_tales=tuple(fault for fault in component.faults if any(word in fault for word in stalls.tell_tale)),
        brings=tuple(brings),
        parts=tuple(one.part.id for one in old),
        said=said,
    )


def _loose(said: Want, stalls: Stalls) -> WantLine:
    count = 1 if said.quantity is None else said.quantity
    return WantLine(None, said.label, count, (), stalls.of(""), _sizes(said, []), (), (), (), (), said)


def _sizes(said: Want | None, old: Sequence[GradedPart]) -> tuple[SizeLine, ...]:
    """The owner's own sizes first, then what was read on the part to be replaced."""
    own = [SizeLine(name, format_size_both_ways(value)) for name, value in (said.sizes if said else ())]
    return (*own, *(_read(reading) for one in old for reading in one.readings))


def _read(reading: Reading) -> SizeLine:
    name, book, _ = reading.name.partition("-book")
    words = name.replace("-", " ").replace("_", " ")
    return SizeLine(f"{words}, maker's figure" if book else words, reading_in_words(reading), not book)


def _reasons(component: Component, gap: Gap | None, old: Sequence[GradedPart]) -> tuple[str, ...]:
    told = []
    if gap is not None:
        short = f": {gap.found} of {component.quantity}" if gap.state == "short" else ""
        told.append(GAP_WORDS[gap.state].lower() + short)
    return (*told, *(f"part {one.part.id} is to be replaced" for one in old))


def group_by_stall(lines: Iterable[WantLine], stalls: Stalls) -> Mapping[str, tuple[WantLine, ...]]:
    """The lines under the label of their kind of stall, in the order of the walk; stalls with nothing left out."""
    piles: defaultdict[str, list[WantLine]] = defaultdict(list)
    for line in lines:
        piles[line.stall.id].append(line)
    return {one.label: tuple(piles[one.id]) for one in stalls.stalls if one.id in piles}
