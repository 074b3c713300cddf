"""Trial fits as a section of the report. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from survey.document.sheet import Block, Line, Section, Table


def make_fits_section(
    progress: Sequence[tuple[str, str]], trials: Sequence[tuple[str, str, str]], packings: int
) -> Section | None:
    """How far the loose build has got, and the trial fits that count. None before the first trial.

    Args:
        progress: assembly, how far it has got in a sentence.
        trials: the two parts, how they go together and with what packing, the note.
        packings: how many of the trials have a packing.
    """
    if not trials:
        return None
    blocks: list[Block] = [
        Table(("Assembly", "How far its loose build has got"), tuple(progress), (2, 7)),
        Line(head="Trial fits", leads=True),
        Table(("Which two", "How", "Noted"), tuple(trials), (4, 6, 4)),
    ]
    if packings:
        wording = "packing stands" if packings == 1 else "packings stand"
        blocks.append(
            Line(
                f"{packings} {wording} there for now. A packing that is forgotten pulls the frame: put a made spacer "
                "in its place.",
                tick=True,
            )
        )
    return Section("fits", "Trial fits", tuple(blocks))
