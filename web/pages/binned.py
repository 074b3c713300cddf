"""The bin: what was put aside, and putting it back."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from web import forms
from web.answers import see
from web.desk import the_survey

pages = Blueprint("binned", __name__, url_prefix="/bin")


@pages.get("")
def listed() -> str:
    """What was put aside, the latest first."""
    return render_template("bin.html", entries=bench.binned(the_survey()), kinds=bench.BIN_WORDS, days=bench.BIN_DAYS)


@pages.post("/put-back")
def restore_entry() -> Response:
    """Put a thing back, with the marks and links that went with it."""
    bench.put_back(the_survey(), forms.text(request.form, "binned"), forms.text(request.form, "number"))
    return see("binned.listed", "put-back")
