"""The condition report: gathered once, written on any paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from survey import __version__
from survey.build_order.verbs import get_plan, list_blocks
from survey.errors import BadValue
from survey.finding_kinds import load_finding_kinds
from survey.grading.data import load_rulebook
from survey.machine.verbs import get_machine
from survey.model.paper import PAPERS
from survey.outwork.verbs import list_parts_to_examine
from survey.parts.verbs import list_parts
from survey.photos.crop_verbs import Box, make_cropper
from survey.photos.records import fetch_photos
from survey.report.copy_verbs import WHOLE_REPORT, build_copy_sheet, validate_copy
from survey.report.plan_verbs import gather_plan_sections
from survey.schedule.verbs import list_components, list_gaps, list_positions
from survey.store.survey import Survey
from survey.stuck.verbs import list_stuck, make_stuck_line
from survey.today.verbs import list_next_things
from survey.wants.verbs import list_wants
from survey.wants.want_lines import describe_wants

if TYPE_CHECKING:
    from survey.document.picture import CropRequest
    from survey.report.contents_printed import ReportData
    from survey.stuck.printed import StuckLine

_NEXT_AT_MOST = 20
"""Next things gathered: some of them are elsewhere in the report."""


def gather_report_data(survey: Survey) -> ReportData:
    """Everything the report prints, gathered; see ``survey.report.contents_printed``."""
    from survey.build_order.printed import make_order_lines
    from survey.report.gather_printed import ReportSource, gather_report

    positions = list_positions(survey)
    return gather_report(
        ReportSource(
            machine=get_machine(survey),
            schedule=tuple(list_components(survey)),
            graded=tuple(list_parts(survey)),
            gaps=list_gaps(survey),
            photos={photo.id: photo for photo in fetch_photos(survey.store)},
            kinds={kind.id: kind for kind in load_finding_kinds()},
            rules_version=load_rulebook().version,
            product_version=__version__,
            made_at=datetime.now().astimezone().strftime("%Y-%m-%d %H:%M"),
            not_fitted=tuple(position.component for position in positions if position.state == "not-fitted"),
            wants=describe_wants(list_wants(survey)),
            stuck=_make_stuck_lines(survey),
            order=make_order_lines(get_plan(survey), list_blocks(survey)),
            back=list_parts_to_examine(survey),
            next_things=tuple(list_next_things(survey, most=_NEXT_AT_MOST)),
            plan=gather_plan_sections(survey),
        )
    )


def _make_stuck_lines(survey: Survey) -> dict[int, tuple[StuckLine, ...]]:
    """By part number, what is stuck in it, in words."""
    lines: dict[int, tuple[StuckLine, ...]] = {}
    for stuck in list_stuck(survey):
        lines[stuck.said.part] = (*lines.get(stuck.said.part, ()), make_stuck_line(stuck))
    return lines


def write_report(survey: Survey, to: Path, paper: str = "a4", copy: str = WHOLE_REPORT) -> Path:
    """Write the report; the suffix says how: .pdf, .html (one file, nothing outside it), .csv or .json.

    Args:
        copy: for which reader, see ``survey.report.copies``; the bench copy is the whole of it.

    Raises:
        BadValue: another suffix, or no such paper or copy.
        CannotWrite: the place cannot be written.
    """
    suffix = to.suffix.lower()
    if suffix not in (".pdf", ".html", ".csv", ".json"):
        raise BadValue(
            f"A report is not written as {suffix or 'a file without an ending'}.",
            "End the name in .pdf, .html, .csv or .json.",
        )
    if paper not in PAPERS:
        raise BadValue(f"{paper!r} is no paper.", "Say one of: " + ", ".join(PAPERS) + ".")
    from survey.report.files import write_html, write_json, write_pdf
    from survey.report.table_files import write_csv

    if validate_copy(copy) != WHOLE_REPORT:
        from survey.document.sheet_files import write_sheet

        write_sheet(build_copy_sheet(survey, copy, gather_report_data(survey)), make_cropper(survey), to, paper)
        return to
    data = gather_report_data(survey)
    match suffix:
        case ".pdf":
            write_pdf(data, make_cropper(survey), to, paper)
        case ".html":
            write_html(data, make_cropper(survey), to)
        case ".csv":
            write_csv(data, to)
        case _:
            write_json(data, to)
    return to


def render_report(
    survey: Survey, picture_url: Callable[[int, Box, int], str], css_url: str = "", copy: str = WHOLE_REPORT
) -> str:
    """The report as a page for the browser door.

    Args:
        picture_url: where a piece of a photo is to be had: of the photo's id, the piece as fractions of the upright
            photo (left, top, right, bottom), and its width in pixels; ``make_cropper`` cuts it.
        css_url: where ``get_report_css()`` is served; empty puts it into the page.
        copy: for which reader.

    Raises:
        BadValue: there is no such copy.
    """
    from survey.document.sheet_files import render_sheet_page
    from survey.report.files import render_report_page

    def address(crop: CropRequest) -> str:
        return picture_url(crop.photo, crop.box, crop.width_px)

    if validate_copy(copy) != WHOLE_REPORT:
        return render_sheet_page(build_copy_sheet(survey, copy, gather_report_data(survey)), address, css_url)
    return render_report_page(gather_report_data(survey), address, css_url)


def list_copy_contents(survey: Survey, copy: str) -> tuple[str, ...]:
    """The headings of a copy as it would be made now, in their order.

    Raises:
        BadValue: there is no such copy.
    """
    data = gather_report_data(survey)
    if validate_copy(copy) != WHOLE_REPORT:
        return tuple(section.heading for section in build_copy_sheet(survey, copy, data).sections)
    return data.headings


def get_report_css() -> str:
    """The style sheet of the report as a page."""
    from survey.document.page import page_css

    return page_css()
