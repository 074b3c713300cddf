"""The bin: what was put aside, and putting it back."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.history.bin_verbs import BIN_DAYS, BIN_WORDS, list_bin, put_back
from web import forms
from web.current import current_survey
from web.responses import redirect_saying

pages = Blueprint("binned", __name__, url_prefix="/bin")


@pages.get("")
def listed() -> str:
    """What was put aside, the latest first."""
    return render_template("history/bin.html", entries=list_bin(current_survey()), kinds=BIN_WORDS, days=BIN_DAYS)


@pages.post("/put-back")
def restore_entry() -> Response:
    """Put a thing back, with the marks and links that went with it."""
    put_back(current_survey(), forms.text(request.form, "binned"), forms.text(request.form, "number"))
    return redirect_saying("binned.listed", "put-back")
