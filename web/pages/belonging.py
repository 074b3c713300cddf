"""Does it belong: what speaks for and against a part, the answers for all of them, and what can be passed on."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.belonging.verbs import (
    add_evidence,
    get_belonging,
    get_belonging_scale,
    keep_as_pattern,
    list_belongings,
    list_parts_to_pass_on,
    remove_evidence,
)
from survey.errors import BadValue, NoSuchThing
from web import forms
from web.current import current_survey
from web.presenters.parts import get_name
from web.responses import redirect_saying

pages = Blueprint("belongs", __name__)


@pages.get("/plan/belongs")
def listed() -> str:
    """The answers, part by part, and the parts of other machines."""
    survey = current_survey()
    everything = list_belongings(survey)
    scale = get_belonging_scale()
    known = [one for one in everything if one.weighed.counted or one.conflicts]
    return render_template(
        "belonging/belongs.html",
        passed_on=list_parts_to_pass_on(survey),
        piles={verdict: [one for one in known if one.weighed.verdict.id == verdict.id and not one.other_machine]
               for verdict in scale.verdicts.values()},
        conflicts=list(dict.fromkeys(told for one in everything for told in one.conflicts)),
        unsaid=len(everything) - len(known),
        name_of=get_name,
    )  # fmt: skip


@pages.post("/parts/<int:part_id>/belongs")
def add(part_id: int) -> Response:
    """Record what speaks for or against a part."""
    form = request.form
    kind = forms.text(form, "evidence")
    if not kind:
        raise BadValue("Nobody said what was seen.", "Go back and choose what speaks for or against it.")
    add_evidence(
        current_survey(), part_id, kind, note=forms.text(form, "note"), who=forms.text(form, "who"),
        photo=forms.maybe_number(form, "photo"),
    )  # fmt: skip
    return redirect_saying("parts.one", "noted", "belongs", part_id=part_id)


@pages.post("/parts/<int:part_id>/belongs/<int:evidence_id>/remove")
def remove(part_id: int, evidence_id: int) -> Response:
    """Put evidence aside that does not hold."""
    survey = current_survey()
    if all(said.id != evidence_id for said in get_belonging(survey, part_id).said):
        raise NoSuchThing(f"Nothing {evidence_id} was said of part {part_id}.", "Go back to the part and look again.")
    remove_evidence(survey, evidence_id)
    return redirect_saying("parts.one", "removed", "belongs", part_id=part_id)


@pages.post("/parts/<int:part_id>/belongs/pattern")
def pattern(part_id: int) -> Response:
    """Keep the part as a pattern for a component, or no longer."""
    component = forms.text(request.form, "component") or None
    keep_as_pattern(current_survey(), part_id, component)
    return redirect_saying("parts.one", "noted", "belongs", part_id=part_id)
