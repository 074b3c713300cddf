"""The condition report: gathered once, written on any paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from survey import __version__, knowledge
from survey.bench.parts import parts
from survey.bench.schedule import gaps, schedule, standings
from survey.bench.survey import Survey, machine
from survey.errors import BadValue
from survey.folder import records
from survey.model import PAPERS

if TYPE_CHECKING:
    from survey.paper.data import CropRequest, ReportData


def report_data(survey: Survey) -> ReportData:
    """Everything the report says, gathered; see ``survey.paper.data``."""
    from survey.paper.gather import ReportSource, gather

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
        )
    )


def report(survey: Survey, to: Path, paper: str = "a4") -> Path:
    """Write the report; the suffix says how: .pdf, .html (one file, nothing outside it), .csv or .json.

    Raises:
        BadValue: another suffix, or no such paper.
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

    data = report_data(survey)
    match suffix:
        case ".pdf":
            write_pdf(data, _cutter(survey), to, paper)
        case ".html":
            write_html(data, _cutter(survey), to)
        case ".csv":
            write_csv(data, to)
        case _:
            write_json(data, to)
    return to


def report_html(survey: Survey, picture_url: Callable[[CropRequest], str], css_url: str = "") -> str:
    """The report as a page for the browser door; pictures come from ``picture_url``."""
    from survey.paper import html_page

    return html_page(report_data(survey), picture_url, css_url)


def crop(survey: Survey, request: CropRequest) -> bytes:
    """The piece of a photo that the report asks for: an upright JPEG without metadata."""
    return _cutter(survey)(request)


def _cutter(survey: Survey) -> Callable[[CropRequest], bytes]:
    photos = {photo.id: photo for photo in records.photos(survey.store)}

    def cut(request: CropRequest) -> bytes:
        from survey.folder import pictures

        photo = photos[request.photo]
        return pictures.crop(survey.folder, survey.folder / photo.path, photo.sha256, request.box, request.width_px)

    return cut
