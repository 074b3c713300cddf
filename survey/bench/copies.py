"""The copies of the report made for one reader each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from survey.bench.money import reckoning_words
from survey.bench.outwork import batches
from survey.bench.outwork_paper import gathered_docket
from survey.bench.survey import Survey, machine
from survey.bench.wants_paper import wants_for_paper
from survey.errors import BadValue

if TYPE_CHECKING:
    from survey.paper.copies import CopyKind
    from survey.paper.data import ReportData
    from survey.paper.sheet import Sheet

WHOLE = "bench"
"""The copy that is the whole report."""


def copies() -> tuple[CopyKind, ...]:
    """Every copy there is: for whom, what it leads with, what it leaves out."""
    from survey.paper.copies import COPIES

    return COPIES


def prove_copy(word: str) -> str:
    """The word of a copy.

    Raises:
        BadValue: there is no such copy.
    """
    words = [one.word for one in copies()]
    if word not in words:
        raise BadValue(f"There is no {word!r} copy of the report.", "Say one of: " + ", ".join(words) + ".")
    return word


def copy_sheet(survey: Survey, word: str, data: ReportData) -> Sheet:
    """A copy for one reader as a sheet, of the report gathered.

    Raises:
        BadValue: there is no such copy, or it is the whole report.
    """
    from survey.paper.docket_sheet import outworker_sheet
    from survey.paper.friend_sheet import friend_sheet
    from survey.paper.hiding import hider
    from survey.paper.money_sections import spent_section, worth_section
    from survey.paper.valuer_sheet import valuer_sheet

    match prove_copy(word):
        case "friend":
            return friend_sheet(wants_for_paper(survey, for_friend=True))
        case "outworker":
            dockets = [gathered_docket(survey, one.id, False) for one in batches(survey) if one.state != "back"]
            hide = hider(machine(survey).numbers)
            return outworker_sheet(dockets, hide(data.identity.name), hide(data.lead), data.record.made_at)
        case "valuer":
            told = reckoning_words(survey)
            return valuer_sheet(data, (worth_section(told),), (spent_section(told),))
        case _:
            raise BadValue(f"The {word} copy is the whole report.", "Ask for the report itself.")
