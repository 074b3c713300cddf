"""The paper that goes with a batch, and what the report says of work that is away."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from survey.errors import BadValue
from survey.grading.verbs import list_cautions
from survey.machine.verbs import get_machine
from survey.model.paper import PAPERS
from survey.outwork.verbs import (
    get_batch,
    get_trades,
    list_batches,
    list_departure_checks,
    list_parts_to_examine,
    list_returns,
)
from survey.parts.verbs import list_parts
from survey.photos.crop_verbs import Box, make_cropper
from survey.photos.records import fetch_photos
from survey.store.survey import Survey, get_local_day

if TYPE_CHECKING:
    from survey.document.picture import CropRequest
    from survey.outwork.docket_printed import DocketData
    from survey.outwork.printed import OutworkLine


def write_docket(survey: Survey, batch_id: int, to: Path, paper: str = "a4", *, full_numbers: bool = False) -> Path:
    """Write the docket of a batch: .pdf, or .html as one file.

    Args:
        full_numbers: print stamped numbers whole; else their last three characters are hidden, but not in pictures.

    Raises:
        NoSuchThing: no such batch.
        BadValue: another ending or paper.
        CannotWrite: the place cannot be written.
    """
    data = gather_docket_data(survey, batch_id, full_numbers)
    if to.suffix.lower() not in (".pdf", ".html"):
        raise BadValue(
            f"A docket is not written as {to.suffix or 'a file without an ending'}.", "End the name in .pdf or .html."
        )
    if paper not in PAPERS:
        raise BadValue(f"{paper!r} is no paper.", "Say one of: " + ", ".join(PAPERS) + ".")
    from survey.outwork.docket_files import write_docket

    write_docket(data, make_cropper(survey), to, paper)
    return to


def render_docket(
    survey: Survey, batch_id: int, picture_url: Callable[[int, Box, int], str], css_url: str, full_numbers: bool = False
) -> str:  # fmt: skip
    """The docket as a page for the browser door; arguments as for ``render_report`` and ``write_docket``."""
    from survey.outwork.docket_files import render_docket_page

    def address(piece: CropRequest) -> str:
        return picture_url(piece.photo, piece.box, piece.width_px)

    return render_docket_page(gather_docket_data(survey, batch_id, full_numbers), address, css_url)


def list_outwork_lines(survey: Survey, today: str = "") -> tuple[OutworkLine, ...]:
    """Every batch in words ready to print, what is out first; then what came back and is still to be examined."""
    from survey.outwork.printed import make_printed_outwork_lines

    graded = {part.part.id: part for part in list_parts(survey)}
    returns = {batch.id: list_returns(survey, batch.id) for batch in list_batches(survey)}
    return make_printed_outwork_lines(
        list_batches(survey), graded, returns, list_parts_to_examine(survey), get_machine(survey).currency,
        today or get_local_day(),
    )  # fmt: skip


def gather_docket_data(survey: Survey, batch_id: int, full_numbers: bool) -> DocketData:
    """The docket of a batch in words ready to print."""
    from survey.outwork.docket_printed import DocketSource, gather_docket

    batch = get_batch(survey, batch_id)
    graded = {part.part.id: part for part in list_parts(survey)}
    components = [part.component for item in batch.items if (part := graded.get(item.part)) and part.component]
    return gather_docket(
        DocketSource(
            batch=batch,
            machine=get_machine(survey),
            graded=graded,
            photos={photo.id: photo for photo in fetch_photos(survey.store)},
            checks=list_departure_checks(survey, batch_id),
            returned={item_return.item: item_return.found for item_return in list_returns(survey, batch_id)},
            hydrogen=get_trades().hydrogen,
            cautions=list_cautions(components),
            made_on=get_local_day(),
            full_numbers=full_numbers,
        )
    )
