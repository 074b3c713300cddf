"""The copies of the report: for whom each is, what it leads with, what it leaves out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

CopyWord = Literal["bench", "friend", "outworker", "valuer"]


@dataclass(frozen=True, slots=True)
class CopyKind:
    """A copy: the word that selects it, its reader, and in words what leads and what is left out."""

    word: CopyWord
    reader: str
    leads_with: str
    leaves_out: str


COPIES: tuple[CopyKind, ...] = (
    CopyKind("bench", "for the one at the bench", "what stops you today, then everything", "nothing"),
    CopyKind(
        "friend", "for a friend who may have the part", "the picture and the size of each thing wanted",
        "prices, people, notes, and of stamped numbers the last three characters",
    ),
    CopyKind(
        "outworker", "for the trade that gets the batch", "how many there are and what finish is wanted",
        "what is not in a batch, every price and telephone number, and of stamped numbers the last three characters",
    ),
    CopyKind(
        "valuer", "for a valuer or an insurer", "what the machine is and what it is worth, and on what date",
        "wants, the order of the build, and how each thing is to be mended",
    ),
)  # fmt: skip
"""Common practice, no source: what each reader looks at first."""
