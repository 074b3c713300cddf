"""Parts: the list by assembly, and one part with its whole story."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.belonging.verbs import get_belonging, get_belonging_scale
from survey.errors import BadValue
from survey.fits.verbs import describe_trial, list_fits
from survey.grading.reasons import group_rulings
from survey.grading.verbs import get_vocabulary, list_cautions
from survey.model.grading import GRADES, WAITINGS
from survey.model.schedule import Gap
from survey.outwork.verbs import list_away, list_batches, list_parts_to_examine
from survey.parts.finding_verbs import add_reading, list_reading_kinds, remove_reading
from survey.parts.verbs import add_part, change_part, get_part, list_parts, remove_part, set_own_grade
from survey.photos.verbs import get_photo, list_photos
from survey.placing.verbs import suggest_parts
from survey.schedule.verbs import list_components, list_gaps
from survey.stuck.verbs import get_removal_scale, list_stuck, make_stuck_line
from web import forms
from web.current import current_survey, list_kinds_by_id
from web.presenters.parts import (
    arrange_parts,
    filter_parts,
    get_assembly,
    get_first_reason,
    get_name,
    group_by_assembly,
    group_components,
    list_telling_photos,
    make_finding_lines,
    split_into_pages,
)
from web.presenters.photos_drawing import place_marks
from web.presenters.schedule_picker import make_picker
from web.responses import redirect_saying

pages = Blueprint("parts", __name__, url_prefix="/parts")
OUTCOMES = (*GRADES, *WAITINGS)


@pages.get("/")
def listed() -> str:
    """Every part, or those of one grade, or those whose words hold what is searched for."""
    survey = current_survey()
    everything = list_parts(survey)
    outcome = forms.word(request.args, "grade", OUTCOMES)
    by = forms.word(request.args, "by", ("assembly", "grade", "box")) or "assembly"
    wanted = forms.text(request.args, "q")
    found = filter_parts(everything, outcome, wanted)
    piles = arrange_parts(found, by, list_components(survey))
    pages_of, page = split_into_pages(piles), forms.maybe_number(request.args, "page") or 1
    return render_template(
        "parts/parts.html",
        piles=pages_of[min(max(page, 1), len(pages_of)) - 1],
        page=min(max(page, 1), len(pages_of)),
        last_page=len(pages_of),
        photos={photo.id: photo for photo in list_photos(survey)},
        filters=[(key, sum(one.verdict.outcome == key for one in everything)) for key in OUTCOMES],
        outcome=outcome,
        by=by,
        wanted=wanted,
        found=len(found),
        total=len(everything),
        name_of=get_name,
        first_reason=get_first_reason,
        telling_photos=list_telling_photos,
    )


@pages.get("/new")
def new() -> str:
    """The form for a part that is not recorded yet, with the photo that shows it if there is one."""
    survey, number = current_survey(), forms.maybe_number(request.args, "photo")
    photo = None if number is None else get_photo(survey, number)
    likely = suggest_parts(survey, photo.id).components if photo else ()
    choice = make_picker(list_components(survey), list_parts(survey), forms.text(request.args, "what"), likely)
    return render_template("parts/part_new.html", photo=photo, picker=choice)


@pages.post("/new")
def add() -> Response:
    """Record a part."""
    form = request.form
    photo = forms.maybe_number(form, "photo")
    part = add_part(
        current_survey(),
        forms.component(form),
        photos=[] if photo is None else [photo],
        label=forms.text(form, "label"),
        quantity=forms.quantity(form),
        box=forms.text(form, "box"),
        note=forms.text(form, "note"),
    )
    return redirect_saying("parts.one", "added", part_id=part.id)


@pages.get("/<int:part_id>")
def one(part_id: int) -> str:
    """One part: photos, findings, rulings, readings, where it is."""
    survey = current_survey()
    part, schedule, everything = get_part(survey, part_id), list_components(survey), list_parts(survey)
    lines = make_finding_lines(part, list_kinds_by_id())
    labels = {line.finding.id: line.label for line in lines}
    photos = {photo.id: photo for photo in list_photos(survey)}
    return render_template(
        "parts/part.html",
        part=part,
        name=get_name(part),
        assembly=get_assembly(part),
        lines=lines,
        reasons=group_rulings(part),
        pictures=[
            (photos[number], place_marks([mark for mark in part.marks if mark.photo == number], labels))
            for number in list_telling_photos(part)
        ],
        reading_kinds={kind.id: kind for kind in list_reading_kinds(survey, part_id)},
        components=group_components(schedule),
        materials=get_vocabulary().material,
        holders=group_by_assembly((other for other in everything if other.part.id != part_id), schedule),
        holder=next((get_name(other) for other in everything if other.part.id == part.part.inside), ""),
        inside=[other for other in everything if other.part.inside == part_id],
        gaps_inside=_gaps_inside(part.part.component),
        cautions=list_cautions([part.component]) if part.component else (),
        sent=[(batch, item) for batch in list_batches(survey) for item in batch.items if item.part == part_id],
        away=list_away(survey).get(part_id),
        owed=list_parts_to_examine(survey).get(part_id, ""),
        stuck=list_stuck(survey, part_id),
        belongs=get_belonging(survey, part_id),
        belonging=get_belonging_scale(),
        fits=list_fits(survey, part_id),
        fit_in_words=describe_trial,
        removal=get_removal_scale(),
        stuck_line=make_stuck_line,
        name_of=get_name,
    )


@pages.post("/<int:part_id>/change")
def change(part_id: int) -> Response:
    """Change what is written of the part."""
    form = request.form
    change_part(
        current_survey(),
        part_id,
        component=forms.component(form),
        label=forms.text(form, "label"),
        quantity=forms.quantity(form),
        box=forms.text(form, "box"),
        note=forms.text(form, "note"),
        material=forms.text(form, "material") or None,
        inside=forms.maybe_number(form, "inside"),
    )
    return redirect_saying("parts.one", "noted", "particulars", part_id=part_id)


@pages.post("/<int:part_id>/grade")
def own_grade(part_id: int) -> Response:
    """Set the owner's own grade, or take it back."""
    grade = forms.word(request.form, "grade", GRADES)
    set_own_grade(current_survey(), part_id, grade, forms.text(request.form, "reason"))
    return redirect_saying("parts.one", "graded" if grade else "ungraded", "own-grade", part_id=part_id)


@pages.post("/<int:part_id>/readings")
def create_reading(part_id: int) -> Response:
    """Record a reading."""
    form = request.form
    if not forms.text(form, "name"):
        raise BadValue("No reading was chosen.", "Go back and say what was measured.")
    add_reading(
        current_survey(), part_id, forms.text(form, "name"), forms.text(form, "written"), forms.text(form, "tool")
    )
    return redirect_saying("parts.one", "reading", "readings", part_id=part_id)


@pages.post("/<int:part_id>/readings/<int:reading_id>/remove")
def delete_reading(part_id: int, reading_id: int) -> Response:
    """Take a reading back."""
    remove_reading(current_survey(), reading_id)
    return redirect_saying("parts.one", "removed", "readings", part_id=part_id)


@pages.post("/<int:part_id>/remove")
def remove(part_id: int) -> Response:
    """Remove a part that was recorded by mistake."""
    remove_part(current_survey(), part_id)
    return redirect_saying("parts.listed", "gone")


def _gaps_inside(component: str | None) -> list[Gap]:
    return [gap for gap in list_gaps(current_survey()) if component and gap.component.inside == component]
