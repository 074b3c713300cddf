"""Several photos at once: saying what they all show, setting them aside, saying where they came from."""

from __future__ import annotations

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.parts.verbs import add_part
from survey.photos.verbs import get_photo, set_photos_aside
from survey.placing.verbs import place_photos, set_box
from web import forms
from web.current import current_survey
from web.return_to import get_return_address

pages = Blueprint("several", __name__, url_prefix="/photos/several")


@pages.post("/place")
def place() -> Response:
    """All chosen photos show a part that is recorded already."""
    place_photos(current_survey(), _chosen(), forms.number(request.form, "part"))
    return redirect(get_return_address("several"), 303)


@pages.post("/new-part")
def new_part() -> Response:
    """All chosen photos show one part that is not recorded yet."""
    survey, chosen = current_survey(), _chosen()
    boxes = {get_photo(survey, number).box for number in chosen}
    add_part(survey, forms.component(request.form), photos=chosen, box=boxes.pop() if len(boxes) == 1 else "")
    return redirect(get_return_address("several"), 303)


@pages.post("/aside")
def aside() -> Response:
    """Set all chosen photos aside."""
    set_photos_aside(current_survey(), _chosen())
    return redirect(get_return_address("aside"), 303)


@pages.post("/box")
def box() -> Response:
    """All chosen photos came from one box."""
    set_box(current_survey(), forms.text(request.form, "box"), photo_ids=_chosen())
    return redirect(get_return_address("boxed"), 303)


def _chosen() -> list[int]:
    """The numbers of the chosen photos.

    Raises:
        BadValue: none was chosen.
    """
    chosen = [forms.number({"photo": said}, "photo") for said in request.form.getlist("photo")]
    if not chosen:
        raise BadValue("No photo was chosen.", "Go back and tick the ones that are meant.")
    return chosen
