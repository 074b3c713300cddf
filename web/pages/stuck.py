"""What is stuck, seized or snapped in a part: recorded, scored, and taken off the list once it is out."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, request
from werkzeug.wrappers import Response

from survey.errors import NoSuchThing
from survey.stuck.removal import EXCLUSIVE_GROUPS
from survey.stuck.verbs import add_stuck, change_stuck, list_stuck, remove_stuck
from web import forms
from web.current import current_survey
from web.responses import redirect_saying

pages = Blueprint("stuck", __name__, url_prefix="/parts/<int:part_id>/stuck")


@pages.post("")
def add(part_id: int) -> Response:
    """Record a stuck thing on the part."""
    said = _said()
    add_stuck(current_survey(), part_id, said.pop("what"), **said)
    return redirect_saying("parts.one", "noted", "stuck", part_id=part_id)


@pages.post("/<int:stuck_id>")
def change(part_id: int, stuck_id: int) -> Response:
    """Say something else of a stuck thing."""
    change_stuck(current_survey(), _on(part_id, stuck_id), **_said())
    return redirect_saying("parts.one", "noted", "stuck", part_id=part_id)


@pages.post("/<int:stuck_id>/out")
def out(part_id: int, stuck_id: int) -> Response:
    """It is out, or it is stuck after all."""
    is_out = forms.word(request.form, "out", ("yes", "no")) != "no"
    change_stuck(current_survey(), _on(part_id, stuck_id), out=is_out)
    return redirect_saying("parts.one", "noted", "stuck", part_id=part_id)


@pages.post("/<int:stuck_id>/remove")
def remove(part_id: int, stuck_id: int) -> Response:
    """Put aside a stuck thing that was recorded by mistake."""
    remove_stuck(current_survey(), _on(part_id, stuck_id))
    return redirect_saying("parts.one", "removed", "stuck", part_id=part_id)


def _said() -> dict[str, Any]:
    form = request.form
    one_of = [forms.text(form, group) for group in EXCLUSIVE_GROUPS]
    return {
        "what": forms.text(form, "what"),
        "thing": forms.text(form, "thing") or "fastener",
        "conditions": [word for word in (*one_of, *form.getlist("flag")) if word],
        "tried": form.getlist("tried"),
        "holds": forms.text(form, "holds"),
        "note": forms.text(form, "note"),
    }


def _on(part_id: int, stuck_id: int) -> int:
    if all(one.said.id != stuck_id for one in list_stuck(current_survey(), part_id)):
        raise NoSuchThing(f"Part {part_id} has no stuck thing {stuck_id}.", "Go back to the part and look again.")
    return stuck_id
