"""Several photos at once: saying what they all show, setting them aside, saying where they came from."""

from __future__ import annotations

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from web import forms
from web.back import way_back
from web.desk import the_survey

pages = Blueprint("several", __name__, url_prefix="/photos/several")


@pages.post("/place")
def place() -> Response:
    """All chosen photos show a part that is recorded already."""
    bench.place_photos(the_survey(), _chosen(), forms.number(request.form, "part"))
    return redirect(way_back("several"), 303)


@pages.post("/new-part")
def new_part() -> Response:
    """All chosen photos show one part that is not recorded yet."""
    survey, chosen = the_survey(), _chosen()
    boxes = {bench.photo(survey, number).box for number in chosen}
    bench.add_part(survey, forms.component(request.form), photos=chosen, box=boxes.pop() if len(boxes) == 1 else "")
    return redirect(way_back("several"), 303)


@pages.post("/aside")
def aside() -> Response:
    """Set all chosen photos aside."""
    bench.set_aside(the_survey(), _chosen())
    return redirect(way_back("aside"), 303)


@pages.post("/box")
def box() -> Response:
    """All chosen photos came from one box."""
    bench.put_in_box(the_survey(), forms.text(request.form, "box"), photo_ids=_chosen())
    return redirect(way_back("boxed"), 303)


def _chosen() -> list[int]:
    """The numbers of the chosen photos.

    Raises:
        BadValue: none was chosen.
    """
    chosen = [forms.number({"photo": said}, "photo") for said in request.form.getlist("photo")]
    if not chosen:
        raise BadValue("No photo was chosen.", "Go back and tick the ones that are meant.")
    return chosen
