"""Gaps: the schedule as a tree, and an answer for every position."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from survey.model import POSITION_STATES, PositionState
from web import forms
from web.answers import see
from web.desk import the_survey
from web.show.named import name_of
from web.show.tree import REAL, VIEWS, branches, piles, position_of
from web.words import ANSWERS, SAID

pages = Blueprint("gaps", __name__, url_prefix="/gaps")
SHOWN = tuple(key for key, _ in VIEWS)


@pages.get("/")
def tree() -> str:
    """What is not filled, real gaps first; or the whole schedule as a tree."""
    survey = the_survey()
    show = _view(request.args)
    standings, counts, parts = bench.standings(survey), bench.completeness(survey), bench.parts(survey)
    return render_template(
        "gaps.html",
        branches=branches(standings, parts, counts) if show == "all" else [],
        piles=piles(standings, parts) if show == "gaps" else [],
        real=REAL,
        views=VIEWS,
        show=show,
        total=sum(counts.values(), bench.Count()),
        labels={one.component.id: one.component.label for one in standings},
        answers=ANSWERS,
        name_of=name_of,
    )


@pages.post("/answer")
def answer() -> Response | str:
    """Say how a position stands, or that it is here, or take the answer back.

    A press of our script is answered with the position's row alone, a form with the page.
    """
    survey, position = the_survey(), _position()
    answers: tuple[PositionState | Literal["here"], ...] = ("here", *POSITION_STATES)
    said = forms.word(request.form, "state", answers)
    if said == "here":
        stand = next(one for one in bench.standings(survey) if one.component.id == position)
        bench.add_part(survey, position, quantity=max(1, stand.component.quantity - stand.found))
    else:
        bench.set_position(survey, position, said, forms.text(request.form, "note"))
    if "HX-Request" in request.headers and "HX-Boosted" not in request.headers:
        return _row(position)
    return see("gaps.tree", "answered" if said else "cleared", position, show=_view(request.form))


@pages.post("/here")
def here() -> Response:
    """It is here: record a part that answers to the position."""
    part = bench.add_part(the_survey(), _position(), quantity=forms.quantity(request.form))
    return see("parts.one", "added", part_id=part.id)


@pages.post("/quantity")
def quantity() -> Response:
    """How many a complete machine has."""
    position = _position()
    bench.set_quantity(the_survey(), position, forms.quantity(request.form))
    return see("gaps.tree", "noted", position, show=_view(request.form))


def _row(position: str) -> str:
    survey = the_survey()
    standings = bench.standings(survey)
    return render_template(
        "_position_answered.html",
        position=position_of(standings, bench.parts(survey), position),
        assembly="assembly" in request.form,
        show=_view(request.form),
        labels={one.component.id: one.component.label for one in standings},
        answers=ANSWERS,
        name_of=name_of,
        said=SAID["answered"],
    )


def _view(said: Mapping[str, str]) -> str:
    return forms.word(said, "show", SHOWN) or "gaps"


def _position() -> str:
    """The position that a form speaks of; one that the schedule has."""
    said = forms.text(request.form, "component")
    if not said:
        raise BadValue("Nobody said which position is meant.", "Go back and answer at the position itself.")
    return bench.component(the_survey(), said).id
