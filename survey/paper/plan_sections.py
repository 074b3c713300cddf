"""What is planned, as sections of the report: where parts come from, trial fits, outwork. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from survey.paper.outwork_lines import OutworkLine
from survey.paper.sheet import Block, Line, Section, Table
from survey.words import many


def belongs_section(
    answers: Sequence[tuple[str, str, str, str]], unsaid: int, passing: Sequence[tuple[str, str, str]]
) -> Section | None:
    """Which parts belong. None where nobody has recorded any evidence.

    Args:
        answers: part, answer, how the sum was made, what would settle it. unsaid: parts of which nothing is recorded.
        passing: part of another machine, why it is held back or empty, what to tell whoever takes it.
    """
    if not answers:
        return None
    blocks: list[Block] = [
        Line("Points for and against are judgement. The answer says where a part came from, never that it is sound."),
        Table(("Part", "Answer", "Points", "What would settle it"), tuple(answers), (5, 3, 6, 5)),
    ]
    if unsaid:
        blocks.append(Line(f"Of {many(unsaid, 'other part')} nothing is recorded that says where it came from."))
    if passing:
        rows = tuple((label, held or "can be passed on", caution) for label, held, caution in passing)
        blocks.append(Line(head="To pass on", leads=True))
        blocks.append(Table(("Part of another machine", "Stands", "Tell whoever takes it"), rows, (3, 4, 5)))
    return Section("belongs", "Does it belong", tuple(blocks))


def fits_section(
    progress: Sequence[tuple[str, str]], trials: Sequence[tuple[str, str, str]], packings: int
) -> Section | None:
    """How far the loose build has got, and the trial fits that count. None before the first trial.

    Args:
        progress: assembly, and how far it has got in a sentence. trials: the two parts, how they go with what stood
            between them, what was noted. packings: how many of them stand on a packing.
    """
    if not trials:
        return None
    blocks: list[Block] = [
        Table(("Assembly", "How far its loose build has got"), tuple(progress), (2, 7)),
        Line(head="Trial fits", leads=True),
        Table(("Which two", "How", "Noted"), tuple(trials), (4, 6, 4)),
    ]
    if packings:
        stands = "packing stands" if packings == 1 else "packings stand"
        blocks.append(
            Line(
                f"{packings} {stands} there for now. A packing that is forgotten pulls the frame: put a made spacer "
                "in its place.",
                tick=True,
            )
        )
    return Section("fits", "Trial fits", tuple(blocks))


def outwork_section(lines: Iterable[OutworkLine], standing: str) -> Section | None:
    """What is away, made up or came back; None where there is none. ``standing``: all of it in a sentence."""
    blocks: list[Block] = []
    for line in lines:
        blocks.append(Line(line.state + ".", head=f"{line.head}.", aside=line.money, leads=bool(line.items)))
        blocks += [Line(item, tick=True) for item in line.items]
        blocks += [Line(found, head="Found:") for found in line.found]
    if not blocks:
        return None
    return Section("outwork", "Outwork", (*([Line(standing)] if standing else []), *blocks))
