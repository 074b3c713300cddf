"""Recording a finding: its kind, then its step in words, and where on the photo. Also: nothing wrong seen."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from survey.model import SEEN, SHAPES, Photo, Shape
from web import forms, picking
from web.answers import see
from web.desk import kinds_by_id, the_kind, the_survey
from web.show.kinds import likely_first
from web.show.named import name_of

_LEAST_POINTS = {"pin": 1, "box": 2, "outline": 3}

pages = Blueprint("finding", __name__, url_prefix="/parts/<int:part_id>")


@pages.get("/find")
def choose(part_id: int) -> Response | str:
    """Choose the kind; once it is chosen, its step; and mark the place if a photo shows it."""
    survey, args = the_survey(), request.args
    part, photo = bench.part(survey, part_id), _photo()
    kind = forms.text(args, "kind")
    shape = forms.word(args, "shape", picking.SHAPES) or "pin"
    places, given = picking.gathered(args, photo, shape) if photo else ((), False)
    so_far: dict[str, str | int | None] = {
        "kind": kind,
        "shape": shape,
        "at": forms.written_points(places),
        "photo": photo.id if photo else None,
    }
    if given:
        return see("finding.choose", "", "picture", part_id=part_id, **so_far)
    return render_template(
        "find_step.html" if kind else "find_kind.html",
        part=part,
        name=name_of(part),
        photo=photo,
        so_far={key: value for key, value in so_far.items() if value},
        kind=the_kind(kind) if kind else None,
        likely_first=likely_first(part.component, list(kinds_by_id().values())),
        shape=shape,
        proposed=picking.proposed(shape, places),
        left=picking.CORNERS[shape] - len(places),
        seen=bench.seen_unless_said(part.component),
    )


@pages.post("/findings")
def record(part_id: int) -> Response:
    """Record the finding."""
    form = request.form
    photo = forms.maybe_number(form, "photo")
    shape: Shape = forms.word(form, "shape", SHAPES) or "pin"
    places = forms.points(forms.as_written(form, "points", picking.LONGEST_OUTLINE) or forms.text(form, "at"))
    kind, _, step = forms.text(form, "found").partition(":")  # one press of the palette says both
    if not (step or "step" in form):
        raise BadValue("No step was chosen.", "Go back and choose the sentence that comes nearest to what you see.")
    bench.add_finding(
        the_survey(),
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
    part = bench.part(the_survey(), part_id)
    return render_template(
        "look.html",
        part=part,
        name=name_of(part),
        photo=_photo(),
        seen=bench.seen_unless_said(part.component),
    )


@pages.post("/looks")
def nothing_wrong(part_id: int) -> Response:
    """Record that nothing wrong was seen."""
    form = request.form
    photo = forms.maybe_number(form, "photo")
    bench.nothing_wrong(
        the_survey(), part_id, seen=forms.word(form, "seen", SEEN), note=forms.text(form, "note"), photo=photo
    )
    return _back(part_id, photo, "nothing")


@pages.post("/findings/<int:finding_id>/remove")
def remove(part_id: int, finding_id: int) -> Response:
    """Take a finding back, with its marks."""
    bench.remove_finding(the_survey(), finding_id)
    return see("parts.one", "removed", "findings", part_id=part_id)


@pages.post("/looks/<int:look_id>/remove")
def delete_look(part_id: int, look_id: int) -> Response:
    """Take back that nothing wrong was seen."""
    bench.remove_look(the_survey(), look_id)
    return see("parts.one", "removed", "findings", part_id=part_id)


def _photo() -> Photo | None:
    number = forms.maybe_number(request.args, "photo")
    return None if number is None else bench.photo(the_survey(), number)


def _back(part_id: int, photo: int | None, said: str) -> Response:
    if photo is not None:
        return see("photos.one", said, "shows", photo_id=photo)
    return see("parts.one", said, "findings", part_id=part_id)
