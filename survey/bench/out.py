"""The condition report: gathered once, written on any paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from survey import __version__, knowledge
from survey.bench.copies import WHOLE, copy_sheet, prove_copy
from survey.bench.cutting import Box, cutter
from survey.bench.order import blocks, plan
from survey.bench.outwork import to_examine
from survey.bench.parts import parts
from survey.bench.placing import next_things
from survey.bench.planned import planned
from survey.bench.schedule import gaps, schedule, standings
from survey.bench.stuck import stuck, stuck_line
from survey.bench.survey import Survey, machine
from survey.bench.wants import wants
from survey.errors import BadValue
from survey.folder import records
from survey.model import PAPERS
from survey.planning.wants import wants_in_words

if TYPE_CHECKING:
    from survey.paper.data import ReportData
    from survey.paper.shown import CropRequest
    from survey.paper.stuck_lines import StuckLine

_ASKED = 20
"""Next things asked for: some of them stand elsewhere in the report."""


def report_data(survey: Survey) -> ReportData:
    """Everything the report says, gathered; see ``survey.paper.data``."""
    from survey.paper.gather import ReportSource, gather
    from survey.paper.order_data import order_lines

    found = standings(survey)
    return gather(
        ReportSource(
            machine=machine(survey),
            schedule=tuple(schedule(survey)),
            graded=tuple(parts(survey)),
            gaps=gaps(survey),
            photos={photo.id: photo for photo in records.photos(survey.store)},
            kinds={kind.id: kind for kind in knowledge.finding_kinds()},
            rules_version=knowledge.rulebook().version,
            product_version=__version__,
            made_at=datetime.now().astimezone().strftime("%Y-%m-%d %H:%M"),
            not_fitted=tuple(one.component for one in found if one.state == "not-fitted"),
            wants=wants_in_words(wants(survey)),
            stuck=_stuck_lines(survey),
            order=order_lines(plan(survey), blocks(survey)),
            back=to_examine(survey),
            next_things=tuple(next_things(survey, most=_ASKED)),
            plan=planned(survey),
        )
    )


def _stuck_lines(survey: Survey) -> dict[int, tuple[StuckLine, ...]]:
    """By part number, what is stuck in it, in words."""
    lines: dict[int, tuple[StuckLine, ...]] = {}
    for one in stuck(survey):
        lines[one.said.part] = (*lines.get(one.said.part, ()), stuck_line(one))
    return lines


def report(survey: Survey, to: Path, paper: str = "a4", copy: str = WHOLE) -> Path:
    """Write the report; the suffix says how: .pdf, .html (one file, nothing outside it), .csv or .json.

    Args:
        copy: for which reader, see ``copies``; the bench copy is the whole of it.

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
    from survey.paper import write_csv, write_html, write_json, write_pdf

    if prove_copy(copy) != WHOLE:
        from survey.paper.sheet_files import write_sheet

        write_sheet(copy_sheet(survey, copy, report_data(survey)), cutter(survey), to, paper)
        return to
    data = report_data(survey)
    match suffix:
        case ".pdf":
            write_pdf(data, cutter(survey), to, paper)
        case ".html":
            write_html(data, cutter(survey), to)
        case ".csv":
            write_csv(data, to)
        case _:
            write_json(data, to)
    return to


def report_html(
    survey: Survey, picture_url: Callable[[int, Box, int], str], css_url: str = "", copy: str = WHOLE
) -> str:
    """The report as a page for the browser door.

    Args:
        picture_url: where a piece of a photo is to be had: of the photo's id, the piece as fractions of the upright
            photo (left, top, right, bottom), and its width in pixels; ``crop`` cuts it.
        css_url: where ``report_style()`` is served; empty puts it into the page.
        copy: for which reader.

    Raises:
        BadValue: there is no such copy.
    """
    from survey.paper import html_page
    from survey.paper.sheet_files import sheet_page

    def address(piece: CropRequest) -> str:
        return picture_url(piece.photo, piece.box, piece.width_px)

    if prove_copy(copy) != WHOLE:
        return sheet_page(copy_sheet(survey, copy, report_data(survey)), address, css_url)
    return html_page(report_data(survey), address, css_url)


def copy_contents(survey: Survey, copy: str) -> tuple[str, ...]:
    """The headings of a copy as it would be made now, in their order.

    Raises:
        BadValue: there is no such copy.
    """
    data = report_data(survey)
    if prove_copy(copy) != WHOLE:
        return tuple(section.heading for section in copy_sheet(survey, copy, data).sections)
    return data.headings


def report_style() -> str:
    """The style sheet of the report as a page."""
    from survey.paper import page_css

    return page_css()
