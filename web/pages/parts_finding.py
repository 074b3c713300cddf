"""Recording a finding: its kind, then its step in words, and where on the photo. Also: nothing wrong seen."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.model.grading import SEEN
from survey.model.photos import SHAPES, Photo, Shape
from survey.parts.finding_verbs import add_finding, add_look, get_default_seen, remove_finding, remove_look
from survey.parts.verbs import get_part
from survey.photos.verbs import get_photo
from web import forms
from web.current import current_survey, get_finding_kind, list_kinds_by_id
from web.mark_picking import CORNERS, LONGEST_OUTLINE, PICKED_SHAPES, gathered, proposed
from web.presenters.parts import get_name
from web.presenters.parts_kinds import sort_likely_first
from web.responses import redirect_saying

_LEAST_POINTS = {"pin": 1, "box": 2, "outline": 3}

pages = Blueprint("finding", __name__, url_prefix="/parts/<int:part_id>")


@pages.get("/find")
def choose(part_id: int) -> Response | str:
    """Choose the kind; once it is chosen, its step; and mark the place if a photo shows it."""
    survey, args = current_survey(), request.args
    part, photo = get_part(survey, part_id), _photo()
    kind = forms.text(args, "kind")
    shape = forms.word(args, "shape", PICKED_SHAPES) or "pin"
    places, given = gathered(args, photo, shape) if photo else ((), False)
    so_far: dict[str, str | int | None] = {
        "kind": kind,
        "shape": shape,
        "at": forms.written_points(places),
        "photo": photo.id if photo else None,
    }
    if given:
        return redirect_saying("finding.choose", "", "picture", part_id=part_id, **so_far)
    return render_template(
        "parts/find_step.html" if kind else "parts/find_kind.html",
        part=part,
        name=get_name(part),
        photo=photo,
        so_far={key: value for key, value in so_far.items() if value},
        kind=get_finding_kind(kind) if kind else None,
        likely_first=sort_likely_first(part.component, list(list_kinds_by_id().values())),
        shape=shape,
        proposed=proposed(shape, places),
        left=CORNERS[shape] - len(places),
        seen=get_default_seen(part.component),
    )


@pages.post("/findings")
def record(part_id: int) -> Response:
    """Record the finding."""
    form = request.form
    photo = forms.maybe_number(form, "photo")
    shape: Shape = forms.word(form, "shape", SHAPES) or "pin"
    places = forms.points(forms.as_written(form, "points", LONGEST_OUTLINE) or forms.text(form, "at"))
    kind, _, step = forms.text(form, "found").partition(":")  # one press of the palette says both
    if not (step or "step" in form):
        raise BadValue("No step was chosen.", "Go back and choose the sentence that comes nearest to what you see.")
    add_finding(
        current_survey(),
        part_id,
        kind or forms.text(form, "kind"),
        forms.number({"step": step} if step else form, "step"),
        seen=forms.word(form, "seen", SEEN),
        note=forms.text(form, "note"),
        photo=photo,
        shape=shape,
        # A box with one corner is no mark yet; the finding is worth more than the corner.
        points=places if photo is not None and len(places) >= _LEAST_POINTS[shape] else (),
    )
    return _back(part_id, photo, "found")


@pages.get("/look")
def look(part_id: int) -> str:
    """Say that nothing wrong was seen, and how it was looked at."""
    part = get_part(current_survey(), part_id)
    return render_template(
        "parts/look.html",
        part=part,
        name=get_name(part),
        photo=_photo(),
        seen=get_default_seen(part.component),
    )


@pages.post("/looks")
def nothing_wrong(part_id: int) -> Response:
    """Record that nothing wrong was seen."""
    form = request.form
    photo = forms.maybe_number(form, "photo")
    add_look(current_survey(), part_id, seen=forms.word(form, "seen", SEEN), note=forms.text(form, "note"), photo=photo)
    return _back(part_id, photo, "nothing")


@pages.post("/findings/<int:finding_id>/remove")
def remove(part_id: int, finding_id: int) -> Response:
    """Take a finding back, with its marks."""
    remove_finding(current_survey(), finding_id)
    return redirect_saying("parts.one", "removed", "findings", part_id=part_id)


@pages.post("/looks/<int:look_id>/remove")
def delete_look(part_id: int, look_id: int) -> Response:
    """Take back that nothing wrong was seen."""
    remove_look(current_survey(), look_id)
    return redirect_saying("parts.one", "removed", "findings", part_id=part_id)


def _photo() -> Photo | None:
    number = forms.maybe_number(request.args, "photo")
    return None if number is None else get_photo(current_survey(), number)


def _back(part_id: int, photo: int | None, said: str) -> Response:
    if photo is not None:
        return redirect_saying("photos.one", said, "shows", photo_id=photo)
    return redirect_saying("parts.one", said, "findings", part_id=part_id)
