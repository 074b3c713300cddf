"""Whether parts belong to the machine, as a section of the report. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from survey.document.sheet import Block, Line, Section, Table
from survey.words import format_count


def make_belonging_section(
    answers: Sequence[tuple[str, str, str, str]], unsaid: int, passing: Sequence[tuple[str, str, str]]
) -> Section | None:
    """Which parts belong. None while no evidence is recorded.

    Args:
        answers: part, answer, the sum with its terms, what would settle it.
        unsaid: how many other parts have no evidence.
        passing: part of another machine, why it is held back or empty, the caution for whoever takes it.
    """
    if not answers:
        return None
    blocks: list[Block] = [
        Line("Points for and against are judgement. The answer says where a part came from, never that it is sound."),
        Table(("Part", "Answer", "Points", "What would settle it"), tuple(answers), (5, 3, 6, 5)),
    ]
    if unsaid:
        blocks.append(
            Line(f"Of {format_count(unsaid, 'other part')} nothing is recorded that says where it came from.")
        )
    if passing:
        rows = tuple((label, held or "can be passed on", caution) for label, held, caution in passing)
        blocks.append(Line(head="To pass on", leads=True))
        blocks.append(Table(("Part of another machine", "Stands", "Tell whoever takes it"), rows, (3, 4, 5)))
    return Section("belongs", "Does it belong", tuple(blocks))
