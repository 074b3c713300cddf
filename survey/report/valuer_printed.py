"""The valuer's copy: what the machine is, what it is worth and on what date, then what there is. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from survey.document.sheet import Blanks, Block, Facts, Line, Section, Sheet, Table
from survey.report.contents_printed import Assembly, PartEntry, ReportData
from survey.words import format_count

_VIEWS = ("from the front", "from the back", "from the near side", "from the off side", "a detail", "another detail")
"""Common practice, no source: the six views that go with a machine's papers."""

_CLOSING = (
    "This copy shows stamped numbers in full: give it only to whom they concern.",
    "No valuation is made here. Every figure is the owner's own, with where and when it was had; what it is worth is "
    "for the valuer to say.",
)


def valuer_sheet(data: ReportData, value: Sequence[Section] = (), spent: Sequence[Section] = ()) -> Sheet:
    """The copy as a sheet. ``value``: sections on what it is worth; ``spent``: on what has been spent."""
    return Sheet(
        copy="valuer",
        title=data.identity.name,
        over="Condition report, the copy for a valuer or an insurer",
        lead=data.lead,
        made_on=data.record.made_at,
        sections=(
            Section("identity", "What it is", tuple(_make_identity(data))),
            *value,
            Section("papers", "Papers", tuple(_make_papers(data))),
            Section("condition", "What there is, and its condition", tuple(_make_condition(data))),
            *spent,
            Section("views", "Photographs to go with it", _list_views()),
            Section("kept", "Where it is kept", (Blanks(("Kept at", "Locked by", "Others who have a key")),)),
            Section("unseen", "What was not looked at", (Line(_describe_unseen(data)),)),
            Section("signed", "Signed", (Blanks(("Owner", "Date", "Read by", "Date")),)),
        ),
        closing=(*data.disclaimer, *_CLOSING),
    )


def _make_identity(data: ReportData) -> Iterator[Block]:
    machine, record = data.identity, data.record
    facts = (
        ("Make", machine.maker), ("Model", machine.model), ("Year", machine.year), ("Engine", machine.engine),
        ("How it came", machine.bought), ("Remarks", machine.note),
        ("Looked at by", ", ".join(record.looked_by) or record.surveyor),
        ("From, to", f"{record.first} to {record.last}" if record.first != record.last else record.first),
        ("Photographed", record.photographed), ("This copy made", record.made_at),
    )  # fmt: skip
    yield Facts(facts)
    if machine.numbers:
        rows = tuple((stamp.place, stamp.text, stamp.note) for stamp in machine.numbers)
        yield Table(("Number on", "As stamped", "Remarks"), rows, (2, 2, 3))
    else:
        yield Line("No number has been recorded.")


def _make_papers(data: ReportData) -> Iterator[Block]:
    here = [(part.label, "here", part.note) for part in data.parts if part.duty == "paperwork"]
    absent = [(gap.label, gap.word.lower(), gap.note) for gap in data.gaps if gap.duty == "paperwork"]
    if here or absent:
        yield Table(("Paper or plate", "Stands", "Remarks"), (*here, *absent), (3, 2, 3))
    else:
        yield Line("Nothing is recorded of papers.")


def _make_condition(data: ReportData) -> Iterator[Block]:
    tally = data.summary.tally
    yield Line(
        f"{format_count(data.summary.parts, 'part is', 'parts are')} recorded; of {tally.asked} positions of a "
        f"complete machine {tally.here} are filled. A grade is what the rules say of what was seen, never a valuation."
    )
    for assembly in data.assemblies:
        if assembly.parts:
            yield Line(head=f"{assembly.name}.", text=_describe_positions(assembly), leads=True)
            rows = tuple(_make_part_row(part) for part in assembly.parts)
            yield Table(("No.", "Part", "Grade", "Found"), rows, (1, 5, 3, 7))


def _describe_positions(assembly: Assembly) -> str:
    return f"{assembly.standing}." if assembly.standing else ""


def _make_part_row(part: PartEntry) -> tuple[str, ...]:
    own = f" (the owner: {part.own_grade.word.lower()})" if part.own_grade else ""
    found = "; ".join(f"{line.label}, {line.step_name.lower()}" for line in part.findings)
    looked = "; ".join(f"nothing wrong seen, {look.how_seen}" for look in part.looks)
    return str(part.id), part.label, part.word + own, "; ".join(filter(None, (found, looked))) or "not looked over"


def _list_views() -> tuple[Block, ...]:
    instruction = Line("Taken of the machine put loosely together, in even light, the whole of it in the picture:")
    return instruction, *(Line(view.capitalize(), tick=True) for view in _VIEWS)


def _describe_unseen(data: ReportData) -> str:
    not_looked = data.not_looked
    return (
        f"{format_count(len(not_looked.positions), 'position')} not looked for, "
        f"{format_count(len(not_looked.unseen), 'position')} inside something and not seen, "
        f"{format_count(len(not_looked.parts), 'part')} not looked over, "
        f"{format_count(len(data.summary.owed), 'safety part')} not yet examined."
    )
