"""From the facts of a survey to the whole report, ready to print. Pure: no files, no clock."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from survey.build_order.printed import OrderLines
from survey.document.crops import FindingLine, choose_part_pictures, crop_width_px
from survey.document.printable import shorten
from survey.document.sheet import Section
from survey.grading.cautions import select_cautions
from survey.grading.reasons import group_rulings, number_findings
from survey.model.grading import Ruling
from survey.model.machine import Machine
from survey.model.parts import Finding, FindingKind, GradedPart, Look, Reading
from survey.model.photos import Photo
from survey.model.schedule import Component, Gap
from survey.report.contents_printed import (
    Assembly,
    GapLine,
    Identity,
    LookLine,
    OwnGradeLine,
    PartEntry,
    ReadingLine,
    Record,
    ReportData,
    RulingLine,
    Stamp,
)
from survey.report.summary_printed import list_not_looked, summarise
from survey.report.words_printed import DISCLAIMER, describe_count, describe_inside, describe_source
from survey.schedule.gaps import PositionCount, count_state
from survey.stuck.printed import StuckLine
from survey.today.next_things import NextThing
from survey.today.printed import make_next_lines
from survey.words import GAP_WORDS, OUTCOME_WORDS, SEEN_WORDS, capitalize, format_reading

UNKNOWN = "Not yet known what they are"
"""The heading of the parts that answer to no position yet."""


@dataclass(frozen=True, slots=True)
class ReportSource:
    """What a report is made from. ``made_at``: local time in words; ``kinds`` by id, ``photos`` by id.

    ``not_fitted``: positions the owner says this machine never had; their absence is no gap.
    ``wants``: the state of what is to be got, in a sentence.
    ``stuck``: by part number, what is seized or snapped in it.
    ``back``: by part number, safety parts back from a trade and not looked over since.
    ``next_things``: the most useful ones first. ``plan``: sections of what is planned, ready to print.
    """

    machine: Machine
    schedule: tuple[Component, ...]
    graded: tuple[GradedPart, ...]
    gaps: tuple[Gap, ...]
    photos: Mapping[int, Photo]
    kinds: Mapping[str, FindingKind]
    rules_version: str
    product_version: str
    made_at: str
    not_fitted: tuple[Component, ...] = ()
    order: OrderLines = field(default_factory=OrderLines)
    wants: str = ""
    stuck: Mapping[int, tuple[StuckLine, ...]] = field(default_factory=dict)
    next_things: tuple[NextThing, ...] = ()
    back: Mapping[int, str] = field(default_factory=dict)
    plan: tuple[Section, ...] = ()


def gather_report(source: ReportSource) -> ReportData:
    """The whole report. The same facts always give the same report."""
    gaps = _make_gap_lines(source)
    parts = _make_entries(source, gaps)
    assemblies = _make_assemblies(source, parts, gaps)
    concerned = [*source.schedule, *(g.component for g in source.graded if g.component is not None)]
    return ReportData(
        identity=_make_identity(source.machine),
        record=_make_record(source),
        summary=summarise(parts, gaps, sum((assembly.tally for assembly in assemblies), PositionCount())),
        assemblies=assemblies,
        not_looked=list_not_looked(parts, gaps, source.not_fitted, source.photos.values()),
        cautions=select_cautions(concerned),
        disclaimer=DISCLAIMER,
        photos=len(source.photos),
        order=source.order,
        wants=source.wants,
        next=make_next_lines(source.order.ready, source.next_things),
        plan=source.plan,
    )


def _make_identity(machine: Machine) -> Identity:
    return Identity(
        machine.name,
        machine.kind,
        machine.maker,
        machine.model,
        machine.year,
        machine.engine,
        machine.bought,
        machine.note,
        tuple(Stamp(number.place, number.text, number.note) for number in machine.numbers),
    )


def _make_record(source: ReportSource) -> Record:
    seen = [
        (record.by, record.at) for graded in source.graded for records in _list_records(graded) for record in records
    ]
    days = sorted(at[:10] for _, at in seen if at)
    taken = sorted(photo.taken[:10] for photo in source.photos.values() if photo.taken)
    photographed = "" if not taken else taken[0] if taken[0] == taken[-1] else f"{taken[0]} to {taken[-1]}"
    return Record(
        looked_by=tuple(sorted({by for by, _ in seen if by})),
        surveyor=source.machine.surveyor,
        first=days[0] if days else "",
        last=days[-1] if days else "",
        photographed=photographed,
        made_at=source.made_at,
        rules_version=source.rules_version,
        product_version=source.product_version,
    )


def _list_records(graded: GradedPart) -> tuple[tuple[Finding | Look | Reading, ...], ...]:
    return (graded.findings, graded.looks, graded.readings)


def _make_gap_lines(source: ReportSource) -> tuple[GapLine, ...]:
    labels = {component.id: component.label for component in source.schedule}
    return tuple(_make_gap_line(gap, labels) for gap in source.gaps)


def _make_gap_line(gap: Gap, labels: Mapping[str, str]) -> GapLine:
    component = gap.component
    return GapLine(
        component=component.id,
        label=component.label,
        assembly=component.assembly,
        duty=component.duty,
        state=gap.state,
        word=GAP_WORDS[gap.state],
        inside=labels.get(component.inside, component.inside) if component.inside else "",
        inside_present=gap.inside_present,
        through=labels.get(gap.through, gap.through) if gap.through else "",
        quantity=component.quantity,
        found=gap.found,
        note=gap.note,
    )


def _group_gaps_by_holder(source: ReportSource, gaps: Iterable[GapLine]) -> dict[str, list[GapLine]]:
    """By component id of a part that is here: what is gone from it, at any depth."""
    holder = {component.id: component.inside for component in source.schedule}
    here = {part.component.id for part in source.graded if part.component is not None}
    by_holder: dict[str, list[GapLine]] = {}
    for gap in gaps:
        holder_id = holder.get(gap.component)
        while holder_id is not None and holder_id not in here:
            holder_id = holder.get(holder_id)
        if holder_id is not None:
            by_holder.setdefault(holder_id, []).append(gap)
    return by_holder


def _make_entries(source: ReportSource, gaps: Iterable[GapLine]) -> tuple[PartEntry, ...]:
    inside = _group_gaps_by_holder(source, gaps)
    names = {graded.part.id: _make_label(graded) for graded in source.graded}
    pictures = sum(max(1, len({*part.part.photos, *(m.photo for m in part.marks)})) for part in source.graded)
    width_px = crop_width_px(pictures)
    order = {component.id: place for place, component in enumerate(source.schedule)}
    graded = sorted(source.graded, key=lambda part: (order.get(part.part.component or "", len(order)), part.part.id))
    return tuple(_make_entry(part, source, inside, names, width_px) for part in graded)


def _make_label(graded: GradedPart) -> str:
    """The catalogue's name with the owner's beside it, unless one of them contains the other."""
    own = graded.part.label.strip()
    catalogue = graded.component.label if graded.component is not None else ""
    if own.casefold() in catalogue.casefold():
        whole = catalogue
    elif own.casefold().startswith(catalogue.casefold()):
        whole = own
    else:
        whole = f"{catalogue} ({own})"
    return shorten(whole) or f"Part {graded.part.id}, not named yet"


def _make_entry(
    graded: GradedPart,
    source: ReportSource,
    inside: Mapping[str, list[GapLine]],
    names: Mapping[int, str],
    width_px: int,
) -> PartEntry:
    part, component = graded.part, graded.component
    label = names[part.id]
    numbers = number_findings(graded.findings)
    findings = tuple(_make_finding_line(numbers[finding.id], finding, source.kinds) for finding in graded.findings)
    pictures, unprinted = choose_part_pictures(graded, label, findings, source.photos, width_px)
    outcome = graded.verdict.outcome
    gone = tuple(inside.get(part.component or "", ()))
    material = part.material or (component.material if component else "")
    return PartEntry(
        id=part.id,
        component=part.component,
        label=label,
        called=part.label if label.endswith("…") else "",
        assembly=component.assembly if component else UNKNOWN,
        # Until it is known, a part is treated as one that can hurt somebody.
        duty=component.duty if component else "safety",
        part_class=component.part_class if component else "",
        material=material,
        made_of=material.replace("-", " "),
        box=part.box,
        note=part.note,
        inside=names.get(part.inside, "") if part.inside is not None else "",
        quantity=part.quantity,
        wanted=component.quantity if component else 0,
        grade=graded.verdict.grade,
        waiting=graded.verdict.waiting,
        outcome=outcome,
        word=OUTCOME_WORDS[outcome],
        findings=findings,
        looks=_make_look_lines(graded),
        rulings=_make_ruling_lines(graded),
        readings=_make_reading_lines(graded),
        own_grade=_make_own_grade_line(graded),
        gaps_inside=gone,
        inside_it=describe_inside(gone),
        pictures=pictures,
        unprinted=unprinted,
        stuck=source.stuck.get(part.id, ()),
        back=capitalize(source.back.get(part.id, "")),
    )


def _make_finding_line(number: int, finding: Finding, kinds: Mapping[str, FindingKind]) -> FindingLine:
    kind = kinds.get(finding.kind)
    step = kind.steps[finding.step - 1] if kind else None
    return FindingLine(
        number=number,
        kind=finding.kind,
        step=finding.step,
        seen=finding.seen,
        label=kind.label if kind else finding.kind,
        step_name=step.name if step else f"step {finding.step}",
        looks_like=step.looks_like if step else "",
        how_seen=SEEN_WORDS[finding.seen],
        note=finding.note,
        by=finding.by,
        on=finding.at[:10],
    )


def _make_look_lines(graded: GradedPart) -> tuple[LookLine, ...]:
    return tuple(LookLine(look.seen, SEEN_WORDS[look.seen], look.note, look.by, look.at[:10]) for look in graded.looks)


def _make_ruling_lines(graded: GradedPart) -> tuple[RulingLine, ...]:
    return tuple(_make_ruling_line(reason.ruling, reason.answers) for reason in group_rulings(graded))


def _make_ruling_line(ruling: Ruling, answers: tuple[int, ...]) -> RulingLine:
    return RulingLine(
        rule=ruling.rule,
        outcome=ruling.outcome,
        word=OUTCOME_WORDS[ruling.outcome],
        because=ruling.because,
        remedy=ruling.remedy,
        trade=ruling.trade,
        caution=ruling.caution,
        source=ruling.source,
        sure=ruling.sure,
        disputed=ruling.disputed,
        argument=ruling.argument,
        says_who=describe_source(ruling.sure, ruling.source),
        answers=answers,
    )


def _make_reading_lines(graded: GradedPart) -> tuple[ReadingLine, ...]:
    lines = []
    for reading in graded.readings:
        spread = f" ± {reading.uncertainty:g} {reading.unit}" if reading.uncertainty else ""
        written = format_reading(reading)
        name = reading.name.replace("_", " ").replace("-", " ")
        lines.append(ReadingLine(name, written + spread, reading.tool, reading.by, reading.at[:10]))
    return tuple(lines)


def _make_own_grade_line(graded: GradedPart) -> OwnGradeLine | None:
    own = graded.own_grade
    if own is None:
        return None
    return OwnGradeLine(own.grade, OUTCOME_WORDS[own.grade], own.reason, own.by, own.at[:10])


def _make_assemblies(source: ReportSource, parts: Iterable[PartEntry], gaps: Iterable[GapLine]) -> tuple[Assembly, ...]:
    parts, gaps = tuple(parts), tuple(gaps)
    names = dict.fromkeys([*(component.assembly for component in source.schedule), *(part.assembly for part in parts)])
    tallies = _count_by_assembly(source, gaps)
    assemblies = []
    for name in names:
        assembly_parts = tuple(part for part in parts if part.assembly == name)
        assembly_gaps = tuple(gap for gap in gaps if gap.assembly == name)
        if assembly_parts or assembly_gaps or tallies.get(name):
            tally = tallies.get(name, PositionCount())
            assemblies.append(Assembly(name, tally, describe_count(tally), assembly_parts, assembly_gaps))
    return tuple(assemblies)


def _count_by_assembly(source: ReportSource, gaps: Iterable[GapLine]) -> dict[str, PositionCount]:
    state = {gap.component: gap.state for gap in gaps}
    absent = {component.id for component in source.not_fitted}
    tallies: dict[str, PositionCount] = {}
    for component in source.schedule:
        if component.id not in absent:
            count = count_state(state.get(component.id, "here"))
            tallies[component.assembly] = tallies.get(component.assembly, PositionCount()) + count
    return tallies
