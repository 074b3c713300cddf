"""Plan: where the dry build stands, what goes on before what, and what blocks most."""

from __future__ import annotations

from collections import Counter
from typing import Literal

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey.belonging.verbs import list_parts_to_pass_on
from survey.build_order.plan import describe_loop
from survey.build_order.verbs import (
    add_pair,
    disable_pair,
    enable_pair,
    get_plan,
    list_blocks,
    list_disabled_pairs,
    list_steps,
    remove_pair,
    set_step_state,
)
from survey.errors import BadValue
from survey.fits.joints import describe_progress
from survey.fits.verbs import describe_joint, describe_trial, list_fits, list_progress
from survey.gates.verbs import list_gates
from survey.model.build_order import STEP_ANSWERS, STEP_WORDS
from survey.schedule.verbs import list_components
from survey.stuck.verbs import list_stuck, make_stuck_line
from web import forms
from web.current import current_survey
from web.presenters.build_order import draw_order
from web.responses import redirect_saying
from web.words import PHASES

pages = Blueprint("plan", __name__, url_prefix="/plan")

_MOST_BLOCKS = 12
HOW: tuple[Literal["done", "not-needed", "open"], ...] = (*STEP_ANSWERS, "open")


@pages.get("/")
def landing() -> str:
    """Where things stand: the next step, and what is the next best thing to get."""
    survey = current_survey()
    found, blocks = get_plan(survey), list_blocks(survey)
    known = [one for one in blocks if one.known]
    return render_template(
        "build_order/plan.html",
        plan=found,
        ready=[one for one in found.steps if one.state == "ready"],
        counts=Counter(one.state for one in found.steps),
        states=STEP_WORDS,
        blocks=known[:_MOST_BLOCKS],
        gates=list_gates(survey),
        more=len(known[_MOST_BLOCKS:]),
        unsought=len(blocks) - len(known),
        of_others=len(list_parts_to_pass_on(survey)),
        joints=[one for one in list_fits(survey) if one.fails or one.packs],
        joint_name=describe_joint,
        fit_in_words=describe_trial,
        stuck=[(one, make_stuck_line(one).head) for one in list_stuck(survey) if not one.said.out],
    )


@pages.get("/order")
def order() -> str:
    """The steps in order: what must be there first, why, and what each waits for."""
    survey = current_survey()
    found, steps = get_plan(survey), list_steps(survey)
    components: dict[str, list[object]] = {}
    for one in list_components(survey):
        components.setdefault(one.assembly, []).append(one)
    return render_template(
        "build_order/order.html",
        plan=found,
        phases=PHASES,
        states=STEP_WORDS,
        numbered=list(enumerate(found.steps, 1)),
        labels={step.id: step.label for step in steps},
        circles=[(describe_loop(loop, {step.id: step.label for step in steps}), loop.drop) for loop in found.loops],
        off=list_disabled_pairs(survey),
        own=[pair for pair in found.pairs if pair.own is not None],
        loose_build=list_progress(survey),
        progress_in_words=describe_progress,
        steps=steps,
        components=components,
    )


@pages.get("/order/drawn")
def drawn() -> str:
    """The steps as a drawing, with a line down to each from what goes before it."""
    return render_template(
        "build_order/order_drawn.html", drawing=draw_order(get_plan(current_survey()), STEP_WORDS), states=STEP_WORDS
    )


@pages.post("/order/step")
def step() -> Response:
    """Say that a step is done or not needed, or open again."""
    name, how = forms.text(request.form, "build_step"), forms.word(request.form, "how", HOW)
    if how is None:
        raise BadValue("Nobody said how the step stands.", "Go back and press one of its buttons.")
    set_step_state(current_survey(), name, None if how == "open" else how)
    return redirect_saying("plan.order", "noted", f"step-{name}")


@pages.post("/order/pairs")
def create_pair() -> Response:
    """Say that one thing goes on before another."""
    form = request.form
    first, then, because = (forms.text(form, name) for name in ("first", "then", "because"))
    soft = forms.word(form, "hard", ("hard", "soft")) == "soft"
    add_pair(current_survey(), first, then, because, hard=not soft)
    return redirect_saying("plan.order", "noted", "own-pairs")


@pages.post("/order/pairs/<int:pair>/remove")
def delete_pair(pair: int) -> Response:
    """Put a pair of the owner's own aside."""
    remove_pair(current_survey(), pair)
    return redirect_saying("plan.order", "removed", "own-pairs")


@pages.post("/order/pairs/off")
def pair_off() -> Response:
    """Put a pair of the catalogue out of use, because this machine goes together otherwise."""
    disable_pair(current_survey(), forms.text(request.form, "pair"), forms.text(request.form, "because"))
    return redirect_saying("plan.order", "noted", "pairs-off")


@pages.post("/order/pairs/on")
def pair_on() -> Response:
    """Take a pair of the catalogue into use again."""
    enable_pair(current_survey(), forms.text(request.form, "pair"))
    return redirect_saying("plan.order", "noted", "pairs-off")
