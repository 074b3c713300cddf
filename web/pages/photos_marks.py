"""Drawing a mark on a photo without a finding, moving marks, and taking them off.

A form is sent on to the photo's page; the script of ``<photo-marks>`` asks for JSON and is told the mark itself.
"""

from __future__ import annotations

from flask import Blueprint, jsonify, render_template, request, url_for
from werkzeug.wrappers import Response

from survey.model.photos import Mark, Photo
from survey.parts.verbs import get_part
from survey.photos.verbs import add_mark, get_photo, list_marks, move_mark, remove_mark
from web import forms, words
from web.current import current_survey
from web.mark_picking import CORNERS, PICKED_SHAPES, as_drawn, gathered, proposed
from web.presenters.parts import get_name
from web.presenters.photos_drawing import LONGEST_PX, WIDEST_CROP_PX
from web.presenters.photos_marks import mark_as_data, marks_json
from web.responses import accepts_json, redirect_saying

pages = Blueprint("marking", __name__)


@pages.get("/photos/<int:photo_id>/mark")
def choose(photo_id: int) -> Response | str:
    """Choose where the mark goes: one tap for a pin, two for a box."""
    survey = current_survey()
    photo = get_photo(survey, photo_id)
    part = get_part(survey, forms.number(request.args, "part"))
    shape = forms.word(request.args, "shape", PICKED_SHAPES) or "pin"
    places, given = gathered(request.args, photo, shape)
    at = forms.written_points(places)
    if given:
        return redirect_saying(
            "marking.choose", "", "picture", photo_id=photo_id, part=part.part.id, shape=shape, at=at
        )
    return render_template(
        "photos/mark.html",
        photo=photo,
        part=part,
        marks=marks_json(list_marks(survey, photo_id)),
        name=get_name(part),
        shape=shape,
        at=at,
        proposed=proposed(shape, places),
        left=CORNERS[shape] - len(places),
    )


@pages.post("/photos/<int:photo_id>/marks")
def draw(photo_id: int) -> Response:
    """Draw the mark."""
    shape, places = as_drawn(request.form)
    mark = add_mark(current_survey(), photo_id, shape, places, part=forms.maybe_number(request.form, "part"))
    return _answer(mark, "marked")


@pages.post("/marks/<int:mark_id>/move")
def move(mark_id: int) -> Response:
    """Move a mark, or draw it anew in its own shape."""
    return _answer(move_mark(current_survey(), mark_id, as_drawn(request.form)[1]), "moved")


@pages.post("/marks/<int:mark_id>/remove")
def remove(mark_id: int) -> Response:
    """Take a mark off its photo."""
    photo_id = forms.number(request.form, "photo")
    remove_mark(current_survey(), mark_id)
    if accepts_json():
        return jsonify(says=words.MESSAGES["unmarked"])
    return redirect_saying("photos.one", "unmarked", "shows", photo_id=photo_id)


def _answer(mark: Mark, said: str) -> Response:
    if accepts_json():
        return jsonify(says=words.MESSAGES[said], mark=mark_as_data(mark))
    return redirect_saying("photos.one", said, photo_id=mark.photo)


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
