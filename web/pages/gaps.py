"""Gaps: the schedule as a tree, and an answer for every position."""

from __future__ import annotations

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.model import POSITION_STATES
from web import forms
from web.answers import see
from web.desk import the_survey
from web.show.named import name_of
from web.show.tree import FILTERS, branches, tallies
from web.words import ANSWERS

pages = Blueprint("gaps", __name__, url_prefix="/gaps")
SHOWN = tuple(key for key, _ in FILTERS)


@pages.get("/")
def tree() -> str:
    """The schedule, or what of it is not filled."""
    survey = the_survey()
    show = forms.word(request.args, "show", SHOWN) or "all"
    standings, counts = bench.standings(survey), bench.completeness(survey)
    tally = tallies(standings)
    return render_template(
        "gaps.html",
        branches=branches(standings, bench.parts(survey), counts, show),
        filters=[(key, words, tally[key]) for key, words in FILTERS],
        show=show,
        total=sum(counts.values(), bench.Count()),
        labels={one.component.id: one.component.label for one in standings},
        answers=ANSWERS,
        name_of=name_of,
    )


@pages.post("/<component_id>")
def answer(component_id: str) -> Response:
    """Say how a position stands, or take it back."""
    state = forms.word(request.form, "state", POSITION_STATES)
    show = forms.word(request.form, "show", SHOWN) or "all"
    bench.set_position(the_survey(), component_id, state, forms.text(request.form, "note"))
    return see("gaps.tree", "answered" if state else "cleared", component_id, show=show)


@pages.post("/<component_id>/here")
def here(component_id: str) -> Response:
    """It is here: record a part that answers to the position."""
    part = bench.add_part(the_survey(), component_id, quantity=forms.quantity(request.form))
    return see("parts.one", "added", part_id=part.id)


@pages.post("/<component_id>/quantity")
def quantity(component_id: str) -> Response:
    """How many a complete machine has."""
    bench.set_quantity(the_survey(), component_id, forms.quantity(request.form))
    return see("gaps.tree", "noted", component_id, show=forms.word(request.form, "show", SHOWN) or "all")
