"""Gaps: the schedule as a tree, and an answer for every position."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.model.schedule import POSITION_STATES, PositionState
from survey.parts.verbs import add_part, list_parts
from survey.schedule.gaps import PositionCount
from survey.schedule.verbs import (
    count_completeness,
    get_component,
    list_positions,
    set_position,
    set_quantity,
)
from web import forms
from web.current import current_survey
from web.presenters.parts import get_name
from web.presenters.schedule import REAL, VIEWS, find_position_line, make_branches, make_piles
from web.responses import redirect_saying
from web.words import ANSWERS, MESSAGES

pages = Blueprint("gaps", __name__, url_prefix="/gaps")
SHOWN = tuple(key for key, _ in VIEWS)


@pages.get("/")
def tree() -> str:
    """What is not filled, real gaps first; or the whole schedule as a tree."""
    survey = current_survey()
    show = _view(request.args)
    standings, counts, parts = list_positions(survey), count_completeness(survey), list_parts(survey)
    return render_template(
        "schedule/gaps.html",
        branches=make_branches(standings, parts, counts) if show == "all" else [],
        piles=make_piles(standings, parts) if show == "gaps" else [],
        real=REAL,
        views=VIEWS,
        show=show,
        total=sum(counts.values(), PositionCount()),
        labels={one.component.id: one.component.label for one in standings},
        answers=ANSWERS,
        name_of=get_name,
    )


@pages.post("/answer")
def answer() -> Response | str:
    """Say how a position stands, or that it is here, or take the answer back.

    A press of our script is answered with the position's row alone, a form with the page.
    """
    survey, position = current_survey(), _position()
    answers: tuple[PositionState | Literal["here"], ...] = ("here", *POSITION_STATES)
    said = forms.word(request.form, "state", answers)
    if said == "here":
        stand = next(one for one in list_positions(survey) if one.component.id == position)
        add_part(survey, position, quantity=max(1, stand.component.quantity - stand.found))
    else:
        set_position(survey, position, said, forms.text(request.form, "note"))
    if "HX-Request" in request.headers and "HX-Boosted" not in request.headers:
        return _row(position)
    return redirect_saying("gaps.tree", "answered" if said else "cleared", position, show=_view(request.form))


@pages.post("/here")
def here() -> Response:
    """It is here: record a part that answers to the position."""
    part = add_part(current_survey(), _position(), quantity=forms.quantity(request.form))
    return redirect_saying("parts.one", "added", part_id=part.id)


@pages.post("/quantity")
def quantity() -> Response:
    """How many a complete machine has."""
    position = _position()
    set_quantity(current_survey(), position, forms.quantity(request.form))
    return redirect_saying("gaps.tree", "noted", position, show=_view(request.form))


def _row(position: str) -> str:
    survey = current_survey()
    standings = list_positions(survey)
    return render_template(
        "schedule/_position_answered.html",
        position=find_position_line(standings, list_parts(survey), position),
        assembly="assembly" in request.form,
        show=_view(request.form),
        labels={one.component.id: one.component.label for one in standings},
        answers=ANSWERS,
        name_of=get_name,
        said=MESSAGES["answered"],
    )


def _view(said: Mapping[str, str]) -> str:
    return forms.word(said, "show", SHOWN) or "gaps"


def _position() -> str:
    """The position that a form speaks of; one that the schedule has."""
    said = forms.text(request.form, "component")
    if not said:
        raise BadValue("Nobody said which position is meant.", "Go back and answer at the position itself.")
    return get_component(current_survey(), said).id
