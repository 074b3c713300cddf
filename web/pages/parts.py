"""Parts: the list by assembly, and one part with its whole story."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from survey.model import GRADES, WAITINGS, Gap
from web import forms
from web.answers import see
from web.desk import kinds_by_id, the_survey
from web.show.drawing import drawn
from web.show.named import (
    arranged,
    assembly_of,
    by_assembly,
    chosen,
    components_by_assembly,
    finding_lines,
    first_reason,
    in_pages,
    name_of,
    telling_photos,
)
from web.show.picker import picker

pages = Blueprint("parts", __name__, url_prefix="/parts")
OUTCOMES = (*GRADES, *WAITINGS)


@pages.get("/")
def listed() -> str:
    """Every part, or those of one grade, or those whose words hold what is searched for."""
    survey = the_survey()
    everything = bench.parts(survey)
    outcome = forms.word(request.args, "grade", OUTCOMES)
    by = forms.word(request.args, "by", ("assembly", "grade", "box")) or "assembly"
    wanted = forms.text(request.args, "q")
    found = chosen(everything, outcome, wanted)
    piles = arranged(found, by, bench.schedule(survey))
    pages_of, page = in_pages(piles), forms.maybe_number(request.args, "page") or 1
    return render_template(
        "parts.html",
        piles=pages_of[min(max(page, 1), len(pages_of)) - 1],
        page=min(max(page, 1), len(pages_of)),
        last_page=len(pages_of),
        photos={photo.id: photo for photo in bench.photos(survey)},
        filters=[(key, sum(one.verdict.outcome == key for one in everything)) for key in OUTCOMES],
        outcome=outcome,
        by=by,
        wanted=wanted,
        found=len(found),
        total=len(everything),
        name_of=name_of,
        first_reason=first_reason,
        telling_photos=telling_photos,
    )


@pages.get("/new")
def new() -> str:
    """The form for a part that is not recorded yet, with the photo that shows it if there is one."""
    survey, number = the_survey(), forms.maybe_number(request.args, "photo")
    photo = None if number is None else bench.photo(survey, number)
    likely = bench.suggest(survey, photo.id).components if photo else ()
    choice = picker(bench.schedule(survey), bench.parts(survey), forms.text(request.args, "what"), likely)
    return render_template("part_new.html", photo=photo, picker=choice)


@pages.post("/new")
def add() -> Response:
    """Record a part."""
    form = request.form
    photo = forms.maybe_number(form, "photo")
    part = bench.add_part(
        the_survey(),
        forms.component(form),
        photos=[] if photo is None else [photo],
        label=forms.text(form, "label"),
        quantity=forms.quantity(form),
        box=forms.text(form, "box"),
        note=forms.text(form, "note"),
    )
    return see("parts.one", "added", part_id=part.id)


@pages.get("/<int:part_id>")
def one(part_id: int) -> str:
    """One part: photos, findings, rulings, readings, where it is."""
    survey = the_survey()
    part, schedule, everything = bench.part(survey, part_id), bench.schedule(survey), bench.parts(survey)
    lines = finding_lines(part, kinds_by_id())
    labels = {line.finding.id: line.label for line in lines}
    photos = {photo.id: photo for photo in bench.photos(survey)}
    return render_template(
        "part.html",
        part=part,
        name=name_of(part),
        assembly=assembly_of(part),
        lines=lines,
        reasons=bench.reasons(part),
        pictures=[
            (photos[number], drawn([mark for mark in part.marks if mark.photo == number], labels))
            for number in telling_photos(part)
        ],
        reading_kinds={kind.id: kind for kind in bench.reading_kinds(survey, part_id)},
        components=components_by_assembly(schedule),
        materials=bench.vocabulary().material,
        holders=by_assembly((other for other in everything if other.part.id != part_id), schedule),
        holder=next((name_of(other) for other in everything if other.part.id == part.part.inside), ""),
        inside=[other for other in everything if other.part.inside == part_id],
        gaps_inside=_gaps_inside(part.part.component),
        cautions=bench.cautions([part.component]) if part.component else (),
        sent=[(batch, item) for batch in bench.batches(survey) for item in batch.items if item.part == part_id],
        away=bench.away(survey).get(part_id),
        owed=bench.to_examine(survey).get(part_id, ""),
        stuck=bench.stuck(survey, part_id),
        belongs=bench.belonging_of(survey, part_id),
        belonging=bench.belonging(),
        fits=bench.fits(survey, part_id),
        fit_in_words=bench.fit_in_words,
        removal=bench.removal(),
        stuck_line=bench.stuck_line,
        name_of=name_of,
    )


@pages.post("/<int:part_id>/change")
def change(part_id: int) -> Response:
    """Change what is written of the part."""
    form = request.form
    bench.change_part(
        the_survey(),
        part_id,
        component=forms.component(form),
        label=forms.text(form, "label"),
        quantity=forms.quantity(form),
        box=forms.text(form, "box"),
        note=forms.text(form, "note"),
        material=forms.text(form, "material") or None,
        inside=forms.maybe_number(form, "inside"),
    )
    return see("parts.one", "noted", "particulars", part_id=part_id)


@pages.post("/<int:part_id>/grade")
def own_grade(part_id: int) -> Response:
    """Set the owner's own grade, or take it back."""
    grade = forms.word(request.form, "grade", GRADES)
    bench.override(the_survey(), part_id, grade, forms.text(request.form, "reason"))
    return see("parts.one", "graded" if grade else "ungraded", "own-grade", part_id=part_id)


@pages.post("/<int:part_id>/readings")
def create_reading(part_id: int) -> Response:
    """Record a reading."""
    form = request.form
    if not forms.text(form, "name"):
        raise BadValue("No reading was chosen.", "Go back and say what was measured.")
    bench.add_reading(
        the_survey(), part_id, forms.text(form, "name"), forms.text(form, "written"), forms.text(form, "tool")
    )
    return see("parts.one", "reading", "readings", part_id=part_id)


@pages.post("/<int:part_id>/readings/<int:reading_id>/remove")
def delete_reading(part_id: int, reading_id: int) -> Response:
    """Take a reading back."""
    bench.remove_reading(the_survey(), reading_id)
    return see("parts.one", "removed", "readings", part_id=part_id)


@pages.post("/<int:part_id>/remove")
def remove(part_id: int) -> Response:
    """Remove a part that was recorded by mistake."""
    bench.remove_part(the_survey(), part_id)
    return see("parts.listed", "gone")


def _gaps_inside(component: str | None) -> list[Gap]:
    return [gap for gap in bench.gaps(the_survey()) if component and gap.component.inside == component]
