"""The wants on paper: a pocket sheet, a friend's copy, a table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from survey import knowledge
from survey.bench.cutting import cutter
from survey.bench.outwork import local_day
from survey.bench.parts import parts
from survey.bench.survey import Survey, machine
from survey.bench.wants import wants
from survey.errors import BadValue
from survey.folder import records
from survey.model import PAPERS

if TYPE_CHECKING:
    from survey.paper.wants_data import WantsData

WANT_COPIES = ("pocket", "friend")


def wants_paper(survey: Survey, to: Path, copy: str = "", paper: str = "a4") -> Path:
    """Write the wants: .pdf as a pocket sheet to fold or as a friend's copy, .csv as a table.

    Args:
        copy: ``pocket`` (for a .pdf unless said) or ``friend``; a friend's copy has no prices, notes, names of people
            or full serial numbers. Empty: of a .csv the owner's own with everything.

    Raises:
        BadValue: another ending, copy or paper.
        CannotWrite: the place cannot be written.
    """
    if copy and copy not in WANT_COPIES:
        raise BadValue(f"There is no {copy!r} copy of the wants.", "Say pocket or friend.")
    if to.suffix.lower() not in (".pdf", ".csv"):
        raise BadValue(
            f"Wants are not written as {to.suffix or 'a file without an ending'}.", "End the name in .pdf or .csv."
        )
    if paper not in PAPERS:
        raise BadValue(f"{paper!r} is no paper.", "Say one of: " + ", ".join(PAPERS) + ".")
    from survey.paper.friend_sheet import friend_sheet
    from survey.paper.sheet_files import write_sheet
    from survey.paper.wants_pdf import write_pocket
    from survey.paper.wants_table import write_wants_csv

    data = wants_for_paper(survey, for_friend=copy == "friend")
    if to.suffix.lower() == ".csv":
        write_wants_csv(data, to)
    elif copy == "friend":
        write_sheet(friend_sheet(data), cutter(survey), to, paper)
    else:
        write_pocket(data, to, paper)
    return to


def wants_for_paper(survey: Survey, for_friend: bool) -> WantsData:
    """The wants in words ready to print, for their owner or with nothing private for a friend."""
    from survey.paper.wants_data import gather_wants

    photos = {photo.id: photo for photo in records.photos(survey.store)}
    return gather_wants(
        wants(survey), machine(survey), knowledge.stalls(), {one.part.id: one for one in parts(survey)}, photos,
        made_on=local_day(), for_friend=for_friend,
    )  # fmt: skip
