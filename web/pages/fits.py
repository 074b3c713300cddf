"""Fits: how parts went together dry, the spacers they ask for, and how far each assembly has got."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.fits.joints import JOINT_WORDS, describe_progress
from survey.fits.spacers import describe_spacer
from survey.fits.verbs import (
    add_fit,
    change_fit,
    compute_spacer,
    describe_joint,
    describe_trial,
    list_fits,
    list_progress,
    remove_fit,
)
from survey.model.fits import FIT_RESULTS, FIT_SIDES, FIT_WORDS, SIDE_WORDS
from survey.parts.verbs import list_parts
from survey.schedule.verbs import list_components
from web import forms
from web.current import current_survey
from web.presenters.parts import get_name, group_by_assembly
from web.responses import redirect_saying

pages = Blueprint("fits", __name__, url_prefix="/plan/fits")

_TEXTS = ("packed", "gap", "width", "note")
_MOST_PHOTOS = 20


@pages.get("/")
def listed() -> str:
    """What does not go, what is only packed, what was never tried, and the form that records a trial."""
    survey, args = current_survey(), request.args
    everything = list_fits(survey)
    parts = list_parts(survey)
    answering: defaultdict[str | None, list[int]] = defaultdict(list)
    for one in parts:
        answering[one.part.component].append(one.part.id)
    return render_template(
        "fits/fits.html",
        fails=[one for one in everything if one.fails],
        packed=[one for one in everything if one.packs],
        rest=[one for one in everything if not (one.fails or one.packs)],
        build=list_progress(survey),
        answering=answering,
        piles=group_by_assembly(parts, list_components(survey)),
        chosen=(forms.maybe_number(args, "part"), forms.maybe_number(args, "other")),
        spacer=_spacer(forms.text(args, "gap"), forms.text(args, "width"), args.get("sides") == "2"),
        asked=args,
        results=FIT_WORDS,
        sides=SIDE_WORDS,
        joint_words=JOINT_WORDS,
        progress_in_words=describe_progress,
        fit_in_words=describe_trial,
        joint_name=describe_joint,
        name_of=get_name,
    )  # fmt: skip


@pages.post("/")
def add() -> Response:
    """Record how one part went to another."""
    form = request.form
    part, other = forms.number(form, "part"), forms.number(form, "other")
    said = add_fit(current_survey(), part, other, **_said())
    return redirect_saying("fits.listed", "noted", f"fit-{said.id}")


@pages.post("/<int:fit_id>")
def change(fit_id: int) -> Response:
    """Say something else of a trial fit."""
    change_fit(current_survey(), fit_id, **_said())
    return redirect_saying("fits.listed", "noted", f"fit-{fit_id}")


@pages.post("/<int:fit_id>/remove")
def remove(fit_id: int) -> Response:
    """Put a trial fit aside that was recorded by mistake."""
    remove_fit(current_survey(), fit_id)
    return redirect_saying("fits.listed", "removed")


def _said() -> dict[str, Any]:
    form = request.form
    result = forms.word(form, "result", FIT_RESULTS)
    if result is None:
        raise BadValue("Nobody said how the two went together.", "Go back and choose one of the four.")
    photos = forms.text(form, "photos").replace(",", " ").split()
    if len(photos) > _MOST_PHOTOS:
        raise BadValue(
            f"{len(photos)} photos are too many for one trial.", f"Name the {_MOST_PHOTOS} that show it best."
        )
    return {
        "result": result,
        "side": forms.word(form, "side", FIT_SIDES) or "",
        "photos": [forms.number({"photo": word}, "photo") for word in photos],
        **{name: forms.text(form, name) for name in _TEXTS},
    }


def _spacer(gap: str, width: str, both: bool) -> str:
    """What two lengths leave, in words; empty where they are not both written."""
    return describe_spacer(compute_spacer(gap, width, 2 if both else 1)) if gap and width else ""
