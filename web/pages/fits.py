"""Fits: how parts went together dry, the spacers they ask for, and how far each assembly has got."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from web import forms
from web.answers import see
from web.desk import the_survey
from web.show.named import by_assembly, name_of

pages = Blueprint("fits", __name__, url_prefix="/plan/fits")

_TEXTS = ("packed", "gap", "width", "note")
_MOST_PHOTOS = 20


@pages.get("/")
def listed() -> str:
    """What does not go, what is only packed, what was never tried, and the form that records a trial."""
    survey, args = the_survey(), request.args
    everything = bench.fits(survey)
    parts = bench.parts(survey)
    answering: defaultdict[str | None, list[int]] = defaultdict(list)
    for one in parts:
        answering[one.part.component].append(one.part.id)
    return render_template(
        "fits.html",
        fails=[one for one in everything if one.fails],
        packed=[one for one in everything if one.packs],
        rest=[one for one in everything if not (one.fails or one.packs)],
        build=bench.loose_build(survey),
        answering=answering,
        piles=by_assembly(parts, bench.schedule(survey)),
        chosen=(forms.maybe_number(args, "part"), forms.maybe_number(args, "other")),
        spacer=_spacer(forms.text(args, "gap"), forms.text(args, "width"), args.get("sides") == "2"),
        asked=args,
        results=bench.FIT_WORDS,
        sides=bench.SIDE_WORDS,
        joint_words=bench.JOINT_WORDS,
        progress_in_words=bench.progress_in_words,
        fit_in_words=bench.fit_in_words,
        joint_name=bench.joint_name,
        name_of=name_of,
    )  # fmt: skip


@pages.post("/")
def add() -> Response:
    """Record how one part went to another."""
    form = request.form
    part, other = forms.number(form, "part"), forms.number(form, "other")
    said = bench.add_fit(the_survey(), part, other, **_said())
    return see("fits.listed", "noted", f"fit-{said.id}")


@pages.post("/<int:fit_id>")
def change(fit_id: int) -> Response:
    """Say something else of a trial fit."""
    bench.change_fit(the_survey(), fit_id, **_said())
    return see("fits.listed", "noted", f"fit-{fit_id}")


@pages.post("/<int:fit_id>/remove")
def remove(fit_id: int) -> Response:
    """Put a trial fit aside that was recorded by mistake."""
    bench.remove_fit(the_survey(), fit_id)
    return see("fits.listed", "removed")


def _said() -> dict[str, Any]:
    form = request.form
    result = forms.word(form, "result", bench.FIT_RESULTS)
    if result is None:
        raise BadValue("Nobody said how the two went together.", "Go back and choose one of the four.")
    photos = forms.text(form, "photos").replace(",", " ").split()
    if len(photos) > _MOST_PHOTOS:
        raise BadValue(
            f"{len(photos)} photos are too many for one trial.", f"Name the {_MOST_PHOTOS} that show it best."
        )
    return {
        "result": result,
        "side": forms.word(form, "side", bench.FIT_SIDES) or "",
        "photos": [forms.number({"photo": word}, "photo") for word in photos],
        **{name: forms.text(form, name) for name in _TEXTS},
    }


def _spacer(gap: str, width: str, both: bool) -> str:
    """What two lengths leave, in words; empty where they are not both written."""
    return bench.spacer_in_words(bench.spacer_for(gap, width, 2 if both else 1)) if gap and width else ""
