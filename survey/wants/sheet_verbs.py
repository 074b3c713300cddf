"""The wants on paper: a pocket sheet, a friend's copy, a table."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from survey.errors import BadValue
from survey.machine.verbs import get_machine
from survey.model.paper import PAPERS
from survey.parts.verbs import list_parts
from survey.photos.crop_verbs import make_cropper
from survey.photos.records import fetch_photos
from survey.store.survey import Survey, get_local_day
from survey.wants.data import load_stalls
from survey.wants.verbs import list_wants

if TYPE_CHECKING:
    from survey.wants.printed import WantsData

WANT_COPIES = ("pocket", "friend")


def write_wants_sheet(survey: Survey, to: Path, copy: str = "", paper: str = "a4") -> Path:
    """Write the wants: .pdf as a pocket sheet to fold or as a friend's copy, .csv as a table.

    Args:
        copy: ``pocket`` (the default for a .pdf) or ``friend``; a friend's copy has no prices, notes, names of people
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
    from survey.document.sheet_files import write_sheet
    from survey.wants.friend_printed import make_friend_sheet
    from survey.wants.pocket_files import write_pocket
    from survey.wants.table_files import write_wants_csv

    data = gather_wants_data(survey, for_friend=copy == "friend")
    if to.suffix.lower() == ".csv":
        write_wants_csv(data, to)
    elif copy == "friend":
        write_sheet(make_friend_sheet(data), make_cropper(survey), to, paper)
    else:
        write_pocket(data, to, paper)
    return to


def gather_wants_data(survey: Survey, for_friend: bool) -> WantsData:
    """The wants in words ready to print, for their owner or with nothing private for a friend."""
    from survey.wants.printed import gather_wants

    photos = {photo.id: photo for photo in fetch_photos(survey.store)}
    return gather_wants(
        list_wants(survey), get_machine(survey), load_stalls(), {part.part.id: part for part in list_parts(survey)},
        photos,
        made_on=get_local_day(), for_friend=for_friend,
    )  # fmt: skip
