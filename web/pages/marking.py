"""Drawing a mark on a photo without a finding, moving marks, and taking them off.

A form is sent on to the photo's page; the script of ``<photo-marks>`` asks for JSON and is told the mark itself.
"""

from __future__ import annotations

from flask import Blueprint, jsonify, render_template, request, url_for
from werkzeug.wrappers import Response

from survey import bench
from survey.model import Mark, Photo
from web import forms, picking, words
from web.answers import see, wants_json
from web.desk import the_survey
from web.show.drawing import LONGEST_PX, WIDEST_CROP_PX
from web.show.named import name_of
from web.show.told import marks_json, told

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
        marks=marks_json(bench.marks(survey, photo_id)),
        name=name_of(part),
        shape=shape,
        at=at,
        proposed=picking.proposed(shape, places),
        left=picking.CORNERS[shape] - len(places),
    )


@pages.post("/photos/<int:photo_id>/marks")
def draw(photo_id: int) -> Response:
    """Draw the mark."""
    shape, places = picking.as_drawn(request.form)
    mark = bench.add_mark(the_survey(), photo_id, shape, places, part=forms.maybe_number(request.form, "part"))
    return _answer(mark, "marked")


@pages.post("/marks/<int:mark_id>/move")
def move(mark_id: int) -> Response:
    """Move a mark, or draw it anew in its own shape."""
    return _answer(bench.move_mark(the_survey(), mark_id, picking.as_drawn(request.form)[1]), "moved")


@pages.post("/marks/<int:mark_id>/remove")
def remove(mark_id: int) -> Response:
    """Take a mark off its photo."""
    photo_id = forms.number(request.form, "photo")
    bench.remove_mark(the_survey(), mark_id)
    if wants_json():
        return jsonify(says=words.SAID["unmarked"])
    return see("photos.one", "unmarked", "shows", photo_id=photo_id)


def _answer(mark: Mark, said: str) -> Response:
    if wants_json():
        return jsonify(says=words.SAID[said], mark=told(mark))
    return see("photos.one", said, photo_id=mark.photo)


@pages.app_template_filter("large")
def large_picture(photo: Photo) -> str:
    """The address of a larger picture than the page shows, for looking closer; empty where there is none."""
    version = photo.sha256[:12]
    if max(photo.width, photo.height) <= LONGEST_PX["view"]:
        return ""
    if photo.format.lower() == "jpeg":  # any browser shows it, and the right way up
        return url_for("pictures.original", photo_id=photo.id, v=version)
    wide = min(photo.width, WIDEST_CROP_PX)
    return url_for("pictures.cropped", photo_id=photo.id, box="0,0,1,1", wide=wide, v=version)
