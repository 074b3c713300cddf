"""The copies of the report made for one reader each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from survey.errors import BadValue
from survey.machine.verbs import get_machine
from survey.money.verbs import describe_reckoning
from survey.outwork.docket_verbs import gather_docket_data
from survey.outwork.verbs import list_batches
from survey.store.survey import Survey
from survey.wants.sheet_verbs import gather_wants_data

if TYPE_CHECKING:
    from survey.document.sheet import Sheet
    from survey.report.contents_printed import ReportData
    from survey.report.copies import CopyKind

WHOLE_REPORT = "bench"
"""The copy that is the whole report."""


def list_copies() -> tuple[CopyKind, ...]:
    """Every copy there is: for whom, what it leads with, what it leaves out."""
    from survey.report.copies import COPIES

    return COPIES


def validate_copy(word: str) -> str:
    """The word of a copy.

    Raises:
        BadValue: there is no such copy.
    """
    words = [copy.word for copy in list_copies()]
    if word not in words:
        raise BadValue(f"There is no {word!r} copy of the report.", "Say one of: " + ", ".join(words) + ".")
    return word


def build_copy_sheet(survey: Survey, word: str, data: ReportData) -> Sheet:
    """A copy for one reader as a sheet, of the report gathered.

    Raises:
        BadValue: there is no such copy, or it is the whole report.
    """
    from survey.document.masking import make_masker
    from survey.money.printed import make_spent_section, make_worth_section
    from survey.outwork.docket_sheet_printed import make_outworker_sheet
    from survey.report.valuer_printed import valuer_sheet
    from survey.wants.friend_printed import make_friend_sheet

    match validate_copy(word):
        case "friend":
            return make_friend_sheet(gather_wants_data(survey, for_friend=True))
        case "outworker":
            dockets = [
                gather_docket_data(survey, batch.id, False) for batch in list_batches(survey) if batch.state != "back"
            ]
            mask = make_masker(get_machine(survey).numbers)
            return make_outworker_sheet(dockets, mask(data.identity.name), mask(data.lead), data.record.made_at)
        case "valuer":
            reckoning = describe_reckoning(survey)
            return valuer_sheet(data, (make_worth_section(reckoning),), (make_spent_section(reckoning),))
        case _:
            raise BadValue(f"The {word} copy is the whole report.", "Ask for the report itself.")
