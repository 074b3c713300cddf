"""Photos: the contact sheet, and one photo with what it shows."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.model.photos import PhotoState
from survey.parts.finding_verbs import list_finding_kinds
from survey.parts.verbs import add_part, list_parts
from survey.photos.runs import split_into_runs
from survey.photos.verbs import (
    change_photo,
    get_photo,
    list_marks,
    list_photos,
    place_photo,
    remove_photo,
    set_photos_aside,
    unplace_photo,
)
from survey.placing.verbs import list_boxes, list_unfilled_components, suggest_parts
from survey.schedule.verbs import list_components
from web import forms
from web.current import current_survey, list_kinds_by_id
from web.presenters.parts import get_name, group_by_assembly, group_components
from web.presenters.parts_palette import make_palette
from web.presenters.photos_marks import marks_json
from web.presenters.photos_sheet import find_place, make_sheet
from web.presenters.photos_shown import describe_photo
from web.presenters.placing_search import parse_search
from web.presenters.schedule_picker import make_picker
from web.responses import redirect_saying

pages = Blueprint("photos", __name__, url_prefix="/photos")

STATES: tuple[tuple[PhotoState | None, str], ...] = (
    (None, "All"),
    ("waiting", "Waiting"),
    ("placed", "Placed"),
    ("aside", "Set aside"),
)


@pages.get("/")
def contact_sheet() -> str:
    """All photos, those of one state, or those that answer to what is looked for, in capture runs."""
    survey, parts, asked = current_survey(), list_parts(current_survey()), parse_search(request.args)
    schedule, found = list_components(survey), asked.photos(survey)
    state = forms.word(request.args, "show", ("waiting", "placed", "aside"))
    shown = [photo for photo in found if state in (None, photo.state)]
    return render_template(
        "photos/photos.html",
        sheet=make_sheet(split_into_runs(shown), forms.maybe_number(request.args, "page") or 1),
        state=state,
        filters=[(key, word, sum(key in (None, photo.state) for photo in found)) for key, word in STATES],
        total=len(list_photos(survey)),
        asked=asked,
        run=forms.maybe_number(request.args, "run"),
        names={one.part.id: get_name(one) for one in parts},
        name_of=get_name,
        kinds=list_finding_kinds(),
        boxes=list_boxes(survey),
        piles=group_components(schedule),
        parts_piles=group_by_assembly(parts, schedule),
    )


@pages.get("/<int:photo_id>")
def one(photo_id: int) -> str:
    """One photo, large, with everything that can be said of it."""
    survey = current_survey()
    photo, parts, schedule = get_photo(survey, photo_id), list_parts(survey), list_components(survey)
    likely = suggest_parts(survey, photo_id)
    drawn = list_marks(survey, photo_id)
    shown, marks, mark_lines = describe_photo(photo, drawn, parts, list_kinds_by_id())
    labels = {line.finding.id: line.label for entry in shown for line in entry.lines}
    return render_template(
        "photos/photo.html",
        photo=photo,
        place=find_place(photo_id, split_into_runs(list_photos(survey))),
        shown=shown,
        marks=marks,
        mark_lines=mark_lines,
        marks_told=marks_json(drawn, labels, {line.mark.id: line.says for line in mark_lines}),
        name_of=get_name,
        others=group_by_assembly((part for part in parts if part.part.id not in photo.parts), schedule),
        picker=make_picker(schedule, parts, forms.text(request.args, "what"), likely.components),
        likely_parts=likely.parts,
        main_pieces=likely.main,
        tray=group_components(list_unfilled_components(survey)),
        palette=make_palette(shown, forms.maybe_number(request.args, "part"), list(list_kinds_by_id().values())),
    )


@pages.post("/<int:photo_id>/place")
def place(photo_id: int) -> Response:
    """The photo shows a part that is recorded already."""
    place_photo(current_survey(), photo_id, forms.number(request.form, "part"))
    return redirect_saying("photos.one", "placed", "shows", photo_id=photo_id)


@pages.post("/<int:photo_id>/new-part")
def new_part(photo_id: int) -> Response:
    """The photo shows a part that is not recorded yet."""
    survey, form = current_survey(), request.form
    add_part(
        survey,
        forms.component(form),
        label=forms.text(form, "label"),
        quantity=forms.quantity(form),
        photos=[photo_id],
        box=get_photo(survey, photo_id).box,
    )
    return redirect_saying("photos.one", "made", "shows", photo_id=photo_id)


@pages.post("/<int:photo_id>/unplace")
def unplace(photo_id: int) -> Response:
    """The photo does not show that part after all."""
    unplace_photo(current_survey(), photo_id, forms.number(request.form, "part"))
    return redirect_saying("photos.one", "unplaced", "shows", photo_id=photo_id)


@pages.post("/<int:photo_id>/note")
def note(photo_id: int) -> Response:
    """A note on the photo, and the box it came from."""
    change_photo(current_survey(), photo_id, note=forms.text(request.form, "note"), box=forms.text(request.form, "box"))
    return redirect_saying("photos.one", "noted", "facts", photo_id=photo_id)


@pages.post("/<int:photo_id>/aside")
def aside(photo_id: int) -> Response:
    """Set the photo aside, or bring it back."""
    away = forms.word(request.form, "aside", ("yes", "no")) != "no"
    set_photos_aside(current_survey(), [photo_id], aside=away)
    return redirect_saying("photos.one", "aside" if away else "back", photo_id=photo_id)


@pages.post("/<int:photo_id>/remove")
def remove(photo_id: int) -> Response:
    """Put the photo in the bin, from where it comes back."""
    remove_photo(current_survey(), photo_id)
    return redirect_saying("photos.contact_sheet", "binned")
