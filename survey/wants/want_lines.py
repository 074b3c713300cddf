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
from survey.words import GAP_WORDS, format_reading, format_size_both_ways


@dataclass(frozen=True, slots=True)
class Stall:
    """A kind of stall at a jumble, and the classes of part one looks for there."""

    id: str
    label: str
    classes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stalls:
    """The kinds of stall in the order of the walk, the last for whatever has no class.

    ``tell_tale``: words that mark a fault of the catalogue by which a wrong part is known.
    """

    stalls: tuple[Stall, ...]
    tell_tale: tuple[str, ...]
    source: str

    def of(self, part_class: str) -> Stall:
        """Where one looks for a part of that class."""
        return next((stall for stall in self.stalls if part_class in stall.classes), self.stalls[-1])


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
    with it. ``parts``: those that it replaces. ``said``: the owner's record of it, if there is one.
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
        """Its state, from wanted to here."""
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
    wants: Iterable[Want],
    stalls: Stalls,
) -> tuple[WantLine, ...]:
    """Everything to get: the schedule's components in its order, then things of the owner's own.

    Args:
        schedule: the survey's own schedule.
        gaps: every position that is not filled.
        graded: every part with its verdict.
        wants: the owner's records, one for a component or a label.
        stalls: which kind of stall has what.
    """
    want_of = {want.component or "": want for want in wants if want.component}
    lacking, brings = _split_gaps(gaps)
    parts = _group_by_component(graded)
    lines = []
    for component in schedule:
        gap, component_parts = lacking.get(component.id), parts[component.id]
        line = _make_line(component, gap, component_parts, want_of.get(component.id), brings[component.id], stalls)
        if line is not None:
            lines.append(line)
    loose = [_make_own_line(want, stalls) for want in wants if want.component is None]
    return (*lines, *sorted(loose, key=lambda line: line.label.casefold()))


def select_outstanding(lines: Iterable[WantLine]) -> tuple[WantLine, ...]:
    """What is still to be got or to come: everything that is needed and not here."""
    return tuple(line for line in lines if line.count and line.state != "here")


def describe_wants(lines: Sequence[WantLine]) -> str:
    """The state of the wants, in one sentence: ``12 things to get: 9 wanted, 2 promised, 1 bought, not come.``"""
    outstanding = select_outstanding(lines)
    if not outstanding:
        return ""
    counts = [(sum(line.state == state for line in outstanding), WANT_WORDS[state].lower()) for state in WANT_STATES]
    summary = ", ".join(f"{count} {words}" for count, words in counts if count)
    things = "1 thing" if len(outstanding) == 1 else f"{len(outstanding)} things"
    return f"{things} to get: {summary}. Nothing of this counts as here."


def needs_replacing(graded: GradedPart) -> bool:
    """Whether another is needed in its place: the owner's own grade counts where there is one."""
    return (graded.own_grade.grade if graded.own_grade else graded.verdict.grade) == "replace"


def _split_gaps(gaps: Iterable[Gap]) -> tuple[dict[str, Gap], defaultdict[str, list[str]]]:
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


def _group_by_component(graded: Iterable[GradedPart]) -> defaultdict[str, list[GradedPart]]:
    by_component: defaultdict[str, list[GradedPart]] = defaultdict(list)
    for part in graded:
        if part.component is not None:
            by_component[part.component.id].append(part)
    return by_component


def _is_wrong(graded: GradedPart) -> bool:
    return any(finding.kind == "wrong_part" and finding.step >= WRONG_FROM_STEP for finding in graded.findings)


def _count_needed(component: Component, gap: Gap | None, parts: Sequence[GradedPart]) -> int:
    """How many are lacking: those that are here and right and need no replacing do not have to be got."""
    if gap is not None and gap.state == "wrong":
        return component.quantity
    if gap is not None and gap.state == "missing":
        return component.quantity - gap.found
    right_parts = [graded for graded in parts if not _is_wrong(graded)]
    good = sum(graded.part.quantity for graded in right_parts if not needs_replacing(graded))
    lacking = max(0, component.quantity - good)
    # Where no shortage is recorded, what has not been looked for is not wanted yet.
    return (
        lacking
        if gap is not None
        else min(lacking, sum(graded.part.quantity for graded in right_parts if needs_replacing(graded)))
    )


def _make_line(
    component: Component,
    gap: Gap | None,
    parts: Sequence[GradedPart],
    want: Want | None,
    brings: Sequence[str],
    stalls: Stalls,
) -> WantLine | None:
    needed = _count_needed(component, gap, parts)
    count = want.quantity if want and want.quantity is not None else needed
    if not count and (want is None or want.state not in UNDER_WAY):
        return None
    old_parts = [graded for graded in parts if needs_replacing(graded) or _is_wrong(graded)]
    sizes = _list_sizes(want, old_parts)
    known_sizes = {size.name.casefold() for size in sizes}
    return WantLine(
        component=component,
        label=component.label,
        count=count,
        reasons=_list_reasons(
            component,
            gap if needed else None,
            [graded for graded in old_parts if needs_replacing(graded)] if needed else [],
        ),
        stall=stalls.of(component.part_class),
        sizes=sizes,
        unknown=tuple(name for name in component.sizes if name.casefold() not in known_sizes),
        tell_tales=tuple(fault for fault in component.faults if any(word in fault for word in stalls.tell_tale)),
        brings=tuple(brings),
        parts=tuple(graded.part.id for graded in old_parts),
        said=want,
    )


def _make_own_line(want: Want, stalls: Stalls) -> WantLine:
    count = 1 if want.quantity is None else want.quantity
    return WantLine(None, want.label, count, (), stalls.of(""), _list_sizes(want, []), (), (), (), (), want)


def _list_sizes(want: Want | None, old_parts: Sequence[GradedPart]) -> tuple[SizeLine, ...]:
    """The owner's own sizes first, then what was read on the part to be replaced."""
    own = [SizeLine(name, format_size_both_ways(value)) for name, value in (want.sizes if want else ())]
    return (*own, *(_make_size_line(reading) for graded in old_parts for reading in graded.readings))


def _make_size_line(reading: Reading) -> SizeLine:
    name, is_book, _ = reading.name.partition("-book")
    label = name.replace("-", " ").replace("_", " ")
    return SizeLine(f"{label}, maker's figure" if is_book else label, format_reading(reading), not is_book)


def _list_reasons(component: Component, gap: Gap | None, old_parts: Sequence[GradedPart]) -> tuple[str, ...]:
    reasons = []
    if gap is not None:
        short = f": {gap.found} of {component.quantity}" if gap.state == "short" else ""
        reasons.append(GAP_WORDS[gap.state].lower() + short)
    return (*reasons, *(f"part {graded.part.id} is to be replaced" for graded in old_parts))


def group_by_stall(lines: Iterable[WantLine], stalls: Stalls) -> Mapping[str, tuple[WantLine, ...]]:
    """The lines under the label of their kind of stall, in the order of the walk; stalls with nothing left out."""
    by_stall: defaultdict[str, list[WantLine]] = defaultdict(list)
    for line in lines:
        by_stall[line.stall.id].append(line)
    return {stall.label: tuple(by_stall[stall.id]) for stall in stalls.stalls if stall.id in by_stall}
