"""The paper that goes with a batch, and what the report says of work that is away."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from survey.bench.cautions import cautions
from survey.bench.cutting import Box, cutter
from survey.bench.outwork import batch, batches, local_day, out_checks, returns, to_examine, trades
from survey.bench.parts import parts
from survey.bench.survey import Survey, machine
from survey.errors import BadValue
from survey.folder import records
from survey.model import PAPERS

if TYPE_CHECKING:
    from survey.paper.docket_data import DocketData
    from survey.paper.outwork_lines import OutworkLine
    from survey.paper.shown import CropRequest


def docket(survey: Survey, batch_id: int, to: Path, paper: str = "a4", *, full_numbers: bool = False) -> Path:
    """Write the docket of a batch: .pdf, or .html as one file.

    Args:
        full_numbers: print stamped numbers whole; else their last three characters are hidden, but not in pictures.

    Raises:
        NoSuchThing: no such batch.
        BadValue: another ending or paper.
        CannotWrite: the place cannot be written.
    """
    data = gathered_docket(survey, batch_id, full_numbers)
    if to.suffix.lower() not in (".pdf", ".html"):
        raise BadValue(
            f"A docket is not written as {to.suffix or 'a file without an ending'}.", "End the name in .pdf or .html."
        )
    if paper not in PAPERS:
        raise BadValue(f"{paper!r} is no paper.", "Say one of: " + ", ".join(PAPERS) + ".")
    from survey.paper.docket_files import write_docket

    write_docket(data, cutter(survey), to, paper)
    return to


def docket_html(
    survey: Survey, batch_id: int, picture_url: Callable[[int, Box, int], str], css_url: str, full_numbers: bool = False
) -> str:  # fmt: skip
    """The docket as a page for the browser door; arguments as for ``report_html`` and ``docket``."""
    from survey.paper.docket_files import docket_page

    def address(piece: CropRequest) -> str:
        return picture_url(piece.photo, piece.box, piece.width_px)

    return docket_page(gathered_docket(survey, batch_id, full_numbers), address, css_url)


def outwork_lines(survey: Survey, today: str = "") -> tuple[OutworkLine, ...]:
    """Every batch in words ready to print, what is out first; then what came back and is still to be examined."""
    from survey.paper.outwork_lines import outwork_lines as in_words

    graded = {one.part.id: one for one in parts(survey)}
    found = {one.id: returns(survey, one.id) for one in batches(survey)}
    return in_words(
        batches(survey), graded, found, to_examine(survey), machine(survey).currency, today or local_day()
    )  # fmt: skip


def gathered_docket(survey: Survey, batch_id: int, full_numbers: bool) -> DocketData:
    """The docket of a batch in words ready to print."""
    from survey.paper.docket_data import DocketSource, gather_docket

    found = batch(survey, batch_id)
    graded = {one.part.id: one for one in parts(survey)}
    known = [one.component for item in found.items if (one := graded.get(item.part)) and one.component]
    return gather_docket(
        DocketSource(
            batch=found,
            machine=machine(survey),
            graded=graded,
            photos={photo.id: photo for photo in records.photos(survey.store)},
            checks=out_checks(survey, batch_id),
            returned={one.item: one.found for one in returns(survey, batch_id)},
            hydrogen=trades().hydrogen,
            cautions=cautions(known),
            made_on=local_day(),
            full_numbers=full_numbers,
        )
    )
