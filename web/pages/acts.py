"""What was done: the history in words, taking the latest act back, doing it again."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from web import forms
from web.back import way_back
from web.desk import the_survey

pages = Blueprint("acts", __name__)

SHOWN = 100


@pages.get("/history")
def history() -> str:
    """What was done, the latest first; of the whole survey, or of one part."""
    survey, part = the_survey(), forms.maybe_number(request.args, "part")
    return render_template(
        "history.html",
        acts=bench.acts(survey, part=part, last=SHOWN),
        part=None if part is None else bench.part(survey, part),
        shown=SHOWN,
    )


@pages.post("/undo")
def undo() -> Response:
    """Take back the latest act, if it is still the one the page told of."""
    bench.undo(the_survey(), forms.text(request.form, "batch") or None)
    return redirect(way_back("undone"), 303)


@pages.post("/redo")
def redo() -> Response:
    """Do again what was taken back last."""
    bench.redo(the_survey(), forms.text(request.form, "batch") or None)
    return redirect(way_back("redone"), 303)
