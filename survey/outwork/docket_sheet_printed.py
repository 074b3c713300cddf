"""All dockets that are not back yet as one sheet for the trades. Pure.

What is between the owner and one of them (a price, an insured value, a telephone number) stands on that one's own
docket, never here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from survey.document.sheet import Blanks, Block, Entry, Facts, Line, Section, Sheet, Table
from survey.outwork.docket_printed import DocketData, DocketEntry

_CLOSING = (
    "Drawn up by the owner. Nothing here passes a part as fit: what carries, steers or stops a rider is looked over "
    "again when it comes back, by somebody competent. Local codes and licensed practice come first.",
)

_FOR_ALL = ("From", "State", "Promised for", "Carriage")
"""Terms of a docket that whoever holds the others may read."""


def make_outworker_sheet(dockets: Sequence[DocketData], name: str, lead: str, made_on: str) -> Sheet:
    """Every docket that is not back yet, each on a page of its own, with a list of them in front.

    Args:
        name: of the machine. lead: what it is, in a line. made_on: a date.
    """
    return Sheet(
        copy="outworker",
        title=f"Work for the trades: {name}",
        over="What goes out, the copy for the trades",
        lead=lead,
        made_on=made_on,
        sections=(_make_list_section(dockets), *(_make_docket_section(docket) for docket in dockets)),
        closing=_CLOSING,
    )


def _make_list_section(dockets: Sequence[DocketData]) -> Section:
    if not dockets:
        nothing = Line("No batch is being made up, and none is out.")
        return Section("dockets", "How many, and what finish", (nothing,))
    rows = tuple(
        (docket.title, docket.lead, docket.who, dict(docket.terms).get("Promised for", "")) for docket in dockets
    )
    heads = ("Docket", "Count and finish", "To", "Promised for")
    return Section("dockets", "How many, and what finish", (Table(heads, rows, (3, 6, 4, 2)),))


def _make_docket_section(docket: DocketData) -> Section:
    return Section(f"docket-{docket.number}", docket.title, tuple(_make_blocks(docket)), new_page=True)


def _make_blocks(docket: DocketData) -> Iterator[Block]:
    yield Line(head=docket.lead)
    yield Facts((("To", docket.who), *(fact for fact in docket.terms if fact[0] in _FOR_ALL)))
    if docket.note:
        yield Line(docket.note)
    yield from (Line(text, head=f"{label}:") for label, text in docket.told)
    yield from (Line(head=f"{label}:", blank=True) for label in docket.untold)
    if docket.numbers:
        numbers = "; ".join(f"{place} {number}" for place, number in docket.numbers)
        yield Line(numbers, head="Stamped numbers stay readable:")
    yield from (_make_entry(entry) for entry in docket.entries)
    yield Blanks(tuple(_list_signatures(docket)))
    yield from (
        Line(caution.text, head=f"{caution.title}.", aside=f"({caution.source})") for caution in docket.cautions
    )


def _make_entry(entry: DocketEntry) -> Entry:
    tag = f"Tag {entry.tag} · " if entry.tag else ""
    return Entry(
        heading=f"{tag}{entry.count} × {entry.label}",
        aside=f"part {entry.part} of the record",
        lines=tuple(_make_lines(entry)),
        pictures=tuple(side.picture for side in entry.sides if side.picture is not None),
    )


def _make_lines(entry: DocketEntry) -> Iterator[Line]:
    yield Line(entry.finish, head="To be done:", blank=not entry.finish)
    yield from (Line(text, head=f"{head}:", blank=not text) for head, text in entry.orders)
    yield from (Line(f"{label}:", aside=answer) for label, answer in entry.dangers)
    yield from (Line(size, head=f"{name} before:") for name, size in entry.before)
    yield from (Line(f"No photo of {side.label}.", tick=True) for side in entry.sides if side.picture is None)
    if entry.note:
        yield Line(entry.note)
    if entry.came_back:
        threads = f"; threads {entry.threads}" if entry.threads else ""
        yield Line(f"{entry.came_back}{threads}.", head="Back:")
        yield from (Line(size, head=f"{name} after:") for name, size in entry.after)
        yield from (Line(fault, head="Found:") for fault in entry.found)
    else:
        yield Line(f"of {entry.count}, threads run, nothing damaged:", head="Back:", blank=True)
        yield Line(head="Sizes after:", blank=True)


def _list_signatures(docket: DocketData) -> Iterator[str]:
    given = f", given by {docket.out_by}" if docket.out_by else ""
    taken = f", taken by {docket.in_by}" if docket.in_by else ""
    yield f"Out{f' on {docket.out_at}' if docket.out_at else ', day'}{given or ', given by'}, taken by"
    yield f"In{f' on {docket.back_at}' if docket.back_at else ', day'}{taken or ', given by, taken by'}"
