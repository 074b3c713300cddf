"""The friend's copy: what is wanted, each with its picture and the size it must have. Pure: no files, no clock."""

from __future__ import annotations

from collections.abc import Iterator

from survey.document.sheet import Blanks, Block, Entry, Line, Section, Sheet
from survey.wants.printed import WantEntry, WantsData

_CLOSING = (
    "Drawn up by the owner from what was seen and measured. Nothing here passes a part as fit: one that carries, "
    "steers or stops a rider is examined by somebody competent before it is used.",
)


def make_friend_sheet(data: WantsData, more: tuple[Section, ...] = ()) -> Sheet:
    """The copy as a sheet. ``more``: sections to print after the wants.

    Raises:
        ValueError: the data were gathered for their owner, with what is private.
    """
    if not data.for_friend:
        raise ValueError("a friend's copy is made from what was gathered for a friend")
    numbers = "; ".join(f"{place} {text}" for place, text in data.numbers)
    before = [f"Numbers begin: {numbers}."] if numbers else []
    before.append("Do you have any of these, or know who has? Say yes or no to each; the sizes say which will fit.")
    wanted = tuple(
        Section(f"stall-{number}", stall, tuple(_make_entry(entry) for entry in entries))
        for number, (stall, entries) in enumerate(data.groups, 1)
    )
    nothing: tuple[Block, ...] = (Line("Nothing is wanted just now."),)
    return Sheet(
        copy="friend",
        title=f"Wanted for {data.name}",
        over="What is wanted, the copy for a friend",
        lead=data.machine,
        made_on=data.made_on,
        before=tuple(before),
        sections=(*(wanted or (Section("wanted", "Wanted", nothing),)), *more, _make_answer_section()),
        closing=_CLOSING,
    )


def _make_entry(entry: WantEntry) -> Entry:
    return Entry(
        heading=f"{entry.count} × {entry.label}" if entry.count > 1 else entry.label,
        aside=f"also called {entry.names}" if entry.names else "",
        lines=tuple(_make_lines(entry)),
        pictures=entry.pictures,
        ticks=("yes", "no", "ask"),
    )


def _make_lines(entry: WantEntry) -> Iterator[Line]:
    for head, texts in (
        ("Must be", entry.sizes),
        ("Would help to know what yours measures:", entry.unknown),
        ("Not this:", entry.tell_tales),
        ("With it, if you have them:", entry.brings),
        ("Would also do:", (entry.also,) if entry.also else ()),
    ):
        if texts:
            yield Line("; ".join(texts) + ".", head=head)


def _make_answer_section() -> Section:
    return Section("answer", "How to answer", (Blanks(("Answer to", "Wanted by", "What I can swap")),))
