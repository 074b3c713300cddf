"""Where things are: boxes, shelves, with a friend, in the post."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.parts.verbs import list_parts
from survey.placing.verbs import list_boxes, set_box
from web import forms
from web.current import current_survey
from web.presenters.parts import get_name
from web.responses import redirect_saying

pages = Blueprint("boxes", __name__, url_prefix="/boxes")


@pages.get("/")
def listed() -> str:
    """Every place that was named, with what lies there, and the parts that have none."""
    survey = current_survey()
    parts = list_parts(survey)
    lying = {box.name: [one for one in parts if one.part.box == box.name] for box in list_boxes(survey)}
    return render_template(
        "placing/boxes.html",
        boxes=list_boxes(survey),
        lying=lying,
        nowhere=[one for one in parts if not one.part.box],
        name_of=get_name,
    )


@pages.post("/put")
def put() -> Response:
    """Say where the chosen parts lie now."""
    chosen = [forms.number({"part": said}, "part") for said in request.form.getlist("part")]
    if not chosen:
        raise BadValue("No part was chosen.", "Go back and tick the ones that are meant.")
    set_box(current_survey(), forms.text(request.form, "box"), part_ids=chosen)
    return redirect_saying("boxes.listed", "boxed")
