"""Is it worth starting: six gates, by what is recorded and by the owner's word."""

from __future__ import annotations

from typing import cast

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.gates.answers import GATE_OUTCOMES, describe_gates
from survey.gates.verbs import answer_gate, list_gates
from survey.model.gates import GATE_WORDS, GateWord
from web import forms
from web.current import current_survey
from web.responses import redirect_saying

pages = Blueprint("gates", __name__, url_prefix="/plan/gates")

SAYS = (*GATE_WORDS, "nothing")
# Where what would settle a gate is recorded.
PLACES = {
    "papers": (("machine.show", "Numbers"), ("gaps.tree", "Gaps")),
    "examined": (("parts.listed", "Parts"), ("gaps.tree", "Gaps"), ("plan.order", "Dry build")),
    "sound": (("parts.listed", "Parts"),),
    "blockers": (("wants.listed", "Wants"), ("gaps.tree", "Gaps")),
    "cost": (("money.listed", "Money"), ("wants.listed", "Wants")),
    "word": (),
}


@pages.get("/")
def listed() -> str:
    """The six gates: yes, no or not known, why, and what would settle each."""
    found = list_gates(current_survey())
    return render_template(
        "gates/gates.html", gates=found, standing=describe_gates(found), outcomes=GATE_OUTCOMES, places=PLACES
    )


@pages.post("/say")
def say() -> Response:
    """Say one's own word of a gate, with a reason, or take it back."""
    gate, how = forms.text(request.form, "gate"), forms.word(request.form, "says", SAYS)
    if how is None:
        raise BadValue("Nobody said how the gate stands.", "Go back and choose one of the answers.")
    said = None if how == "nothing" else cast("GateWord", how)
    answer_gate(current_survey(), gate, said, forms.text(request.form, "because"))
    return redirect_saying("gates.listed", "noted", f"gate-{gate}")
