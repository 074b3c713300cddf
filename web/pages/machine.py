"""What the survey is of: the machine's description and its numbers as stamped."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from web import forms
from web.answers import see
from web.desk import the_survey

pages = Blueprint("machine", __name__, url_prefix="/machine")

FIELDS = (
    ("name", "What you call it"),
    ("maker", "Maker"),
    ("model", "Model"),
    ("year", "Year"),
    ("engine", "Engine"),
    ("bought", "How it came here"),
    ("surveyor", "Who looks"),
)


@pages.get("")
def show() -> str:
    """The description and the numbers."""
    return render_template("machine.html", fields=FIELDS, catalogues={one.kind: one.title for one in bench.kinds()})


@pages.post("")
def describe() -> Response:
    """Change the description."""
    said = {name: forms.text(request.form, name) for name, _ in (*FIELDS, ("note", ""))}
    bench.describe(the_survey(), **said)
    return see("machine.show", "noted")


@pages.post("/numbers")
def create_number() -> Response:
    """Write a number down exactly as it stands."""
    form = request.form
    stamped = forms.as_written(form, "text", 200)
    bench.add_number(the_survey(), forms.text(form, "place"), stamped, forms.text(form, "note"))
    return see("machine.show", "noted", "numbers")


@pages.post("/numbers/<int:number_id>/remove")
def delete_number(number_id: int) -> Response:
    """Put aside a number that was written wrongly."""
    bench.remove_number(the_survey(), number_id)
    return see("machine.show", "removed", "numbers")
