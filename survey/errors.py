"""One family of errors: every refusal a person can meet is a Refusal.

A refusal carries a stable ``slug`` (documented in docs/reference/messages.md), one sentence that says
what happened, and a next step. Each door catches the family once and shows both.
"""

from __future__ import annotations

from typing import ClassVar

LONGEST = 1500
"""Characters of a sentence that are shown; what people wrote may stand in it."""


class Refusal(Exception):
    """Something was asked that cannot be done; nothing was changed.

    Attributes:
        slug: stable name of the kind of refusal, lower case with hyphens.
        sentence: what happened, one sentence, ending with a full stop.
        next_step: what the person can do about it, one sentence.
    """

    slug: ClassVar[str] = "refused"

    def __init__(self, sentence: str, next_step: str = "") -> None:
        super().__init__(sentence)
        self.sentence = _readable(sentence)
        self.next_step = _readable(next_step)

    def __str__(self) -> str:
        return f"{self.sentence} {self.next_step}".strip()


def _readable(text: str) -> str:
    """The text with its middle left out where somebody's words made it too long, and safe to print anywhere."""
    plain = text.encode("utf-8", "backslashreplace").decode("utf-8")
    return plain if len(plain) <= LONGEST else f"{plain[: LONGEST * 2 // 3]} … {plain[-LONGEST // 3 :]}"


class NotASurvey(Refusal):
    """The folder holds no survey."""

    slug = "not-a-survey"


class AlreadyASurvey(Refusal):
    """The folder to be made a survey is in use already."""

    slug = "already-a-survey"


class ForeignDatabase(Refusal):
    """survey.db is there but is not one of ours, or is damaged."""

    slug = "foreign-database"


class NewerSurvey(Refusal):
    """The survey was written by a later version of Teachest."""

    slug = "newer-survey"


class CannotWrite(Refusal):
    """The folder or file cannot be written (read-only, no room, no permission)."""

    slug = "cannot-write"


class SurveyBusy(Refusal):
    """Another Teachest has this survey open for writing."""

    slug = "survey-busy"


class NoSuchThing(Refusal):
    """A part, photo, component, kind, finding or rule of that name is not there."""

    slug = "no-such-thing"


class BadValue(Refusal):
    """A value cannot be read or is outside what is allowed."""

    slug = "bad-value"


class LoopInOrder(BadValue):
    """What goes on before what would go round in a circle; the sentence names it, the next step the pair to drop."""

    slug = "loop-in-order"


class BadSize(BadValue):
    """A size or thread cannot be read."""

    slug = "bad-size"


class BrokenKnowledge(Refusal):
    """A product data file (catalogue, findings, rules) does not prove itself.

    The sentence names file, line, row and cell, and what was allowed.
    """

    slug = "broken-knowledge"


class DamagedBackup(Refusal):
    """The file is no backup of Teachest's, is not whole, or holds what no survey can; nothing was changed."""

    slug = "damaged-backup"


class DamagedPhoto(Refusal):
    """An original is gone or does not decode any more, so it cannot be shown."""

    slug = "damaged-photo"


class ToolMissing(Refusal):
    """A library or program needed for this one thing is not installed."""

    slug = "tool-missing"


class CannotPrint(Refusal):
    """The typesetter could not set the report as PDF; nothing was written."""

    slug = "cannot-print"


class PortBusy(Refusal):
    """Something else listens on the port that was asked for, or nobody may use it."""

    slug = "port-busy"


class NothingToTurn(Refusal):
    """There is nothing to take back or to do again, or another act comes first."""

    slug = "nothing-to-turn"
