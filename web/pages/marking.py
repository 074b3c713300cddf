"""Drawing a mark on a photo without a finding, and taking marks off."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from web import forms, picking
from web.answers import see
from web.desk import the_survey
from web.show.named import name_of

pages = Blueprint("marking", __name__)


@pages.get("/photos/<int:photo_id>/mark")
def choose(photo_id: int) -> Response | str:
    """Choose where the mark goes: one tap for a pin, two for a box."""
    survey = the_survey()
    photo = bench.photo(survey, photo_id)
    part = bench.part(survey, forms.number(request.args, "part"))
    shape = forms.word(request.args, "shape", picking.SHAPES) or "pin"
    places, given = picking.gathered(request.args, photo, shape)
    at = forms.written_points(places)
    if given:
        return see("marking.choose", "", "picture", photo_id=photo_id, part=part.part.id, shape=shape, at=at)
    return render_template(
        "mark.html",
        photo=photo,
        part=part,
        name=name_of(part),
        shape=shape,
        at=at,
        proposed=picking.proposed(shape, places),
        left=picking.CORNERS[shape] - len(places),
    )


@pages.post("/photos/<int:photo_id>/marks")
def draw(photo_id: int) -> Response:
    """Draw the mark."""
    shape = forms.word(request.form, "shape", picking.SHAPES) or "pin"
    places = forms.points(forms.text(request.form, "at"))
    bench.add_mark(the_survey(), photo_id, shape, places, part=forms.maybe_number(request.form, "part"))
    return see("photos.one", "marked", photo_id=photo_id)


@pages.post("/marks/<int:mark_id>/remove")
def remove(mark_id: int) -> Response:
    """Take a mark off its photo."""
    photo_id = forms.number(request.form, "photo")
    bench.remove_mark(the_survey(), mark_id)
    return see("photos.one", "unmarked", "shows", photo_id=photo_id)
