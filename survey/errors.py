"""One family of errors: every refusal a person can meet is a Refusal.

A refusal carries a stable ``slug`` (documented in docs/reference/messages.md), one sentence that says
what happened, and a next step. Each door catches the family once and shows both.
"""

from __future__ import annotations

from enum import Enum
from typing import ClassVar

LONGEST = 1500
"""Characters of a sentence that are shown; what people wrote may stand in it."""


class NextStep(Enum):
    """What to do next where that is a command at the one door and a page at the other.

    Each door has its own words for every one: ``survey/cli/next_steps.py`` and ``web/next_steps.py``.
    """

    SEE_PARTS = "see-parts"
    SEE_PHOTOS = "see-photos"
    SEE_SCHEDULE = "see-schedule"
    SEE_STEPS = "see-steps"
    SEE_PAIRS = "see-pairs"
    SEE_WANTS = "see-wants"
    SEE_MONEY = "see-money"
    SEE_BATCHES = "see-batches"
    SEE_ITEMS = "see-items"
    SEE_BIN = "see-bin"
    SEE_HISTORY = "see-history"
    SEE_FINDINGS = "see-findings"
    SEE_KINDS = "see-kinds"
    LOOK_AGAIN = "look-again"
    CALL_IT_WRONG = "call-it-wrong"
    GIVE_ALL_THREE = "give-all-three"
    CHOOSE_PHOTO = "choose-photo"
    NAME_SURVEY = "name-survey"
    MAKE_SURVEY = "make-survey"
    MAKE_AGAIN = "make-again"
    MAKE_OR_PUT_BACK = "make-or-put-back"
    NAME_SURVEY_FOLDER = "name-survey-folder"
    NAME_FOLDER_OR_REPLACE = "name-folder-or-replace"
    CHECK_SURVEY = "check-survey"
    TAKE_IN_AGAIN = "take-in-again"
    TAKE_IN_COPY = "take-in-copy"


class Refusal(Exception):
    """Something was asked that cannot be done; nothing was changed.

    Attributes:
        slug: stable name of the kind of refusal, lower case with hyphens.
        sentence: what happened, one sentence, ending with a full stop.
        next_step: what the person can do about it: one sentence where it is the same at both doors, else a key.
        about: what the key's words speak of, as an id; empty where they need none.
    """

    slug: ClassVar[str] = "refused"

    def __init__(self, sentence: str, next_step: str | NextStep = "", about: str = "") -> None:
        super().__init__(sentence)
        self.sentence = _readable(sentence)
        self.next_step = next_step if isinstance(next_step, NextStep) else _readable(next_step)
        self.about = _readable(about)

    def __str__(self) -> str:
        return f"{self.sentence} {self.next_step}".strip() if isinstance(self.next_step, str) else self.sentence


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
