"""What was done: the history in words, taking the latest act back, doing it again."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request
from werkzeug.wrappers import Response

from survey.history.verbs import list_acts, redo_act, undo_act
from survey.parts.verbs import get_part
from web import forms
from web.current import current_survey
from web.return_to import get_return_address

pages = Blueprint("acts", __name__)

SHOWN = 100


@pages.get("/history")
def history() -> str:
    """What was done, the latest first; of the whole survey, or of one part."""
    survey, part = current_survey(), forms.maybe_number(request.args, "part")
    return render_template(
        "history/history.html",
        acts=list_acts(survey, part=part, last=SHOWN),
        part=None if part is None else get_part(survey, part),
        shown=SHOWN,
    )


@pages.post("/undo")
def undo() -> Response:
    """Take back the latest act, if it is still the one the page told of."""
    undo_act(current_survey(), forms.text(request.form, "batch") or None)
    return redirect(get_return_address("undone"), 303)


@pages.post("/redo")
def redo() -> Response:
    """Do again what was taken back last."""
    redo_act(current_survey(), forms.text(request.form, "batch") or None)
    return redirect(get_return_address("redone"), 303)
