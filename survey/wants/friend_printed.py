"""The friend's copy: what is wanted, each with its picture and the size it must have. Pure: no files, no clock."""

from __future__ import annotations

from collections.abc import Iterator

from survey.document.sheet import Blanks, Block, Entry, Line, Section, Sheet
from survey.wants.printed import WantEntry, WantsData

_CLOSING = (
    "Drawn up by the owner from what was seen and measured. Nothing here passes a part as fit: one that carries, "
    "steers or stops a rider is examined by somebody competent before it is used.",
)


def friend_sheet(data: WantsData, more: tuple[Section, ...] = ()) -> Sheet:
    """The copy as a sheet. ``more``: sections that follow what is wanted.

    Raises:
        ValueError: the data were gathered for their owner, with what is private.
    """
    if not data.for_friend:
        raise ValueError("a friend's copy is made from what was gathered for a friend")
    numbers = "; ".join(f"{place} {text}" for place, text in data.numbers)
    before = [f"Numbers begin: {numbers}."] if numbers else []
    before.append("Do you have any of these, or know who has? Say yes or no to each; the sizes say which will fit.")
    wanted = tuple(
        Section(f"stall-{number}", stall, tuple(_entry(entry) for entry in pile))
        for number, (stall, pile) in enumerate(data.groups, 1)
    )
    nothing: tuple[Block, ...] = (Line("Nothing is wanted just now."),)
    return Sheet(
        copy="friend",
        title=f"Wanted for {data.name}",
        over="What is wanted, the copy for a friend",
        lead=data.machine,
        made_on=data.made_on,
        before=tuple(before),
        sections=(*(wanted or (Section("wanted", "Wanted", nothing),)), *more, _answer()),
        closing=_CLOSING,
    )


def _entry(entry: WantEntry) -> Entry:
    return Entry(
        heading=f"{entry.count} × {entry.label}" if entry.count > 1 else entry.label,
        aside=f"also called {entry.names}" if entry.names else "",
        lines=tuple(_lines(entry)),
        pictures=entry.pictures,
        ticks=("yes", "no", "ask"),
    )


def _lines(entry: WantEntry) -> Iterator[Line]:
    for head, said in (
        ("Must be", entry.sizes),
        ("Would help to know what yours measures:", entry.unknown),
        ("Not this:", entry.tell_tales),
        ("With it, if you have them:", entry.brings),
        ("Would also do:", (entry.also,) if entry.also else ()),
    ):
        if said:
            yield Line("; ".join(said) + ".", head=head)


def _answer() -> Section:
    return Section("answer", "How to answer", (Blanks(("Answer to", "Wanted by", "What I can swap")),))
