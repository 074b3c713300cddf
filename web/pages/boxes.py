"""Where things are: boxes, shelves, with a friend, in the post."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from web import forms
from web.answers import see
from web.desk import the_survey
from web.show.named import name_of

pages = Blueprint("boxes", __name__, url_prefix="/boxes")


@pages.get("/")
def listed() -> str:
    """Every place that was named, with what lies there, and the parts that have none."""
    survey = the_survey()
    parts = bench.parts(survey)
    lying = {box.name: [one for one in parts if one.part.box == box.name] for box in bench.boxes(survey)}
    return render_template(
        "boxes.html",
        boxes=bench.boxes(survey),
        lying=lying,
        nowhere=[one for one in parts if not one.part.box],
        name_of=name_of,
    )


@pages.post("/put")
def put() -> Response:
    """Say where the chosen parts lie now."""
    chosen = [forms.number({"part": said}, "part") for said in request.form.getlist("part")]
    if not chosen:
        raise BadValue("No part was chosen.", "Go back and tick the ones that are meant.")
    bench.put_in_box(the_survey(), forms.text(request.form, "box"), part_ids=chosen)
    return see("boxes.listed", "boxed")
