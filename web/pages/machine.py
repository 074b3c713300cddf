"""What the survey is of: the machine's description and its numbers as stamped."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.machine.verbs import add_number, change_machine, remove_number
from survey.schedule.verbs import list_kinds
from web import forms
from web.current import current_survey
from web.responses import redirect_saying

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
    return render_template(
        "machine/machine.html", fields=FIELDS, catalogues={one.kind: one.title for one in list_kinds()}
    )


@pages.post("")
def describe() -> Response:
    """Change the description."""
    said = {name: forms.text(request.form, name) for name, _ in (*FIELDS, ("note", ""))}
    change_machine(current_survey(), **said)
    return redirect_saying("machine.show", "noted")


@pages.post("/numbers")
def create_number() -> Response:
    """Write a number down exactly as it stands."""
    form = request.form
    stamped = forms.as_written(form, "text", 200)
    add_number(current_survey(), forms.text(form, "place"), stamped, forms.text(form, "note"))
    return redirect_saying("machine.show", "noted", "numbers")


@pages.post("/numbers/<int:number_id>/remove")
def delete_number(number_id: int) -> Response:
    """Put aside a number that was written wrongly."""
    remove_number(current_survey(), number_id)
    return redirect_saying("machine.show", "removed", "numbers")
