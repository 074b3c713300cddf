"""Photos: the contact sheet, and one photo with what it shows."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.model import PhotoState
from web import forms
from web.answers import see
from web.desk import kinds_by_id, the_survey
from web.show.asked import asked_for
from web.show.named import by_assembly, components_by_assembly, name_of
from web.show.onphoto import on_photo
from web.show.palette import palette
from web.show.picker import picker
from web.show.sheet import place_of, sheet
from web.show.told import marks_json

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
    survey, parts, asked = the_survey(), bench.parts(the_survey()), asked_for(request.args)
    schedule, found = bench.schedule(survey), asked.photos(survey)
    state = forms.word(request.args, "show", ("waiting", "placed", "aside"))
    shown = [photo for photo in found if state in (None, photo.state)]
    return render_template(
        "photos.html",
        sheet=sheet(bench.capture_runs(shown), forms.maybe_number(request.args, "page") or 1),
        state=state,
        filters=[(key, word, sum(key in (None, photo.state) for photo in found)) for key, word in STATES],
        total=len(bench.photos(survey)),
        asked=asked,
        run=forms.maybe_number(request.args, "run"),
        names={one.part.id: name_of(one) for one in parts},
        name_of=name_of,
        kinds=bench.finding_kinds(),
        boxes=bench.boxes(survey),
        piles=components_by_assembly(schedule),
        parts_piles=by_assembly(parts, schedule),
    )


@pages.get("/<int:photo_id>")
def one(photo_id: int) -> str:
    """One photo, large, with everything that can be said of it."""
    survey = the_survey()
    photo, parts, schedule = bench.photo(survey, photo_id), bench.parts(survey), bench.schedule(survey)
    likely = bench.suggest(survey, photo_id)
    drawn = bench.marks(survey, photo_id)
    shown, marks, mark_lines = on_photo(photo, drawn, parts, kinds_by_id())
    labels = {line.finding.id: line.label for entry in shown for line in entry.lines}
    return render_template(
        "photo.html",
        photo=photo,
        place=place_of(photo_id, bench.capture_runs(bench.photos(survey))),
        shown=shown,
        marks=marks,
        mark_lines=mark_lines,
        marks_told=marks_json(drawn, labels, {line.mark.id: line.says for line in mark_lines}),
        name_of=name_of,
        others=by_assembly((part for part in parts if part.part.id not in photo.parts), schedule),
        picker=picker(schedule, parts, forms.text(request.args, "what"), likely.components),
        likely_parts=likely.parts,
        main_pieces=likely.main,
        tray=components_by_assembly(bench.still_wanted(survey)),
        palette=palette(shown, forms.maybe_number(request.args, "part"), list(kinds_by_id().values())),
    )


@pages.post("/<int:photo_id>/place")
def place(photo_id: int) -> Response:
    """The photo shows a part that is recorded already."""
    bench.place_photo(the_survey(), photo_id, forms.number(request.form, "part"))
    return see("photos.one", "placed", "shows", photo_id=photo_id)


@pages.post("/<int:photo_id>/new-part")
def new_part(photo_id: int) -> Response:
    """The photo shows a part that is not recorded yet."""
    survey, form = the_survey(), request.form
    bench.add_part(
        survey,
        forms.component(form),
        label=forms.text(form, "label"),
        quantity=forms.quantity(form),
        photos=[photo_id],
        box=bench.photo(survey, photo_id).box,
    )
    return see("photos.one", "made", "shows", photo_id=photo_id)


@pages.post("/<int:photo_id>/unplace")
def unplace(photo_id: int) -> Response:
    """The photo does not show that part after all."""
    bench.unplace_photo(the_survey(), photo_id, forms.number(request.form, "part"))
    return see("photos.one", "unplaced", "shows", photo_id=photo_id)


@pages.post("/<int:photo_id>/note")
def note(photo_id: int) -> Response:
    """A note on the photo, and the box it came from."""
    bench.note_photo(the_survey(), photo_id, note=forms.text(request.form, "note"), box=forms.text(request.form, "box"))
    return see("photos.one", "noted", "facts", photo_id=photo_id)


@pages.post("/<int:photo_id>/aside")
def aside(photo_id: int) -> Response:
    """Set the photo aside, or bring it back."""
    away = forms.word(request.form, "aside", ("yes", "no")) != "no"
    bench.set_aside(the_survey(), [photo_id], aside=away)
    return see("photos.one", "aside" if away else "back", photo_id=photo_id)


@pages.post("/<int:photo_id>/remove")
def remove(photo_id: int) -> Response:
    """Put the photo in the bin, from where it comes back."""
    bench.remove_photo(the_survey(), photo_id)
    return see("photos.contact_sheet", "binned")
