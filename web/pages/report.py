"""The report: to read here, to print, and to take away."""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, Response, render_template, request, url_for

from survey.machine.verbs import get_machine
from survey.model.paper import PAPERS
from survey.report.copy_verbs import list_copies
from survey.report.verbs import get_report_css, render_report, write_report
from survey.settings import load_settings
from web import forms
from web.current import current_survey, make_picture_url

pages = Blueprint("report", __name__, url_prefix="/report")

_TYPES = {"pdf": "application/pdf", "html": "text/html", "csv": "text/csv", "json": "application/json"}


@pages.get("/")
def show() -> str:
    """How to read it and take it away."""
    return render_template("report/report.html", paper=load_settings().paper, copies=list_copies())


@pages.get("/page")
def page() -> str:
    """The report itself, or its copy for one reader."""
    whole = render_report(current_survey(), make_picture_url, url_for("report.style"), _copy())
    # The report is a document of its own, the same on paper; here it only gets the icon and a way back above it.
    icon = f'<link rel="icon" type="image/svg+xml" href="{url_for("static", filename="icon.svg")}">'
    whole = whole.replace("</head>", icon + "\n</head>", 1)
    return whole.replace("<body>", "<body>\n" + render_template("shared/_way_back.html"), 1)


@pages.get("/style.css")
def style() -> Response:
    """The report's own style sheet with the letters it is set in."""
    return Response(render_template("_report_letters.css") + get_report_css(), mimetype="text/css")


@pages.get("/take/<any(pdf, html, csv, json):kind>")
def take(kind: str) -> Response:
    """The report, or its copy for one reader, as a file."""
    copy = _copy()
    paper = forms.word(request.args, "paper", PAPERS) or load_settings().paper
    with TemporaryDirectory(prefix="teachest-") as room:
        written = write_report(current_survey(), Path(room) / f"report.{kind}", paper, copy).read_bytes()
    answer = Response(written, mimetype=_TYPES[kind])
    answer.headers["Content-Disposition"] = f"attachment; filename={_file_name(copy)}.{kind}"
    return answer


def _copy() -> str:
    return forms.word(request.args, "copy", tuple(one.word for one in list_copies())) or "bench"


def _file_name(copy: str) -> str:
    name = re.sub(r"[^a-z0-9]+", "-", get_machine(current_survey()).name.lower()).strip("-")
    return f"{name or 'survey'}"[:70] + ("-report" if copy == "bench" else f"-{copy}")
