"""Plan: where the dry build stands, what goes on before what, and what blocks most."""

from __future__ import annotations

from collections import Counter
from typing import Literal

from flask import Blueprint, render_template, request
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import BadValue
from web import forms
from web.answers import see
from web.desk import the_survey
from web.show.lines import drawn_order
from web.words import PHASES

pages = Blueprint("plan", __name__, url_prefix="/plan")

_MOST_BLOCKS = 12
HOW: tuple[Literal["done", "not-needed", "open"], ...] = (*bench.SAID_OF_STEPS, "open")


@pages.get("/")
def landing() -> str:
    """Where things stand: the next step, and what is the next best thing to get."""
    survey = the_survey()
    found, blocks = bench.plan(survey), bench.blocks(survey)
    known = [one for one in blocks if one.known]
    return render_template(
        "plan.html",
        plan=found,
        ready=[one for one in found.steps if one.state == "ready"],
        counts=Counter(one.state for one in found.steps),
        states=bench.STEP_WORDS,
        blocks=known[:_MOST_BLOCKS],
        gates=bench.gates(survey),
        more=len(known[_MOST_BLOCKS:]),
        unsought=len(blocks) - len(known),
        of_others=len(bench.to_pass_on(survey)),
        joints=[one for one in bench.fits(survey) if one.fails or one.packs],
        joint_name=bench.joint_name,
        fit_in_words=bench.fit_in_words,
        stuck=[(one, bench.stuck_line(one).head) for one in bench.stuck(survey) if not one.said.out],
    )


@pages.get("/order")
def order() -> str:
    """The steps in order: what must be there first, why, and what each waits for."""
    survey = the_survey()
    found, steps = bench.plan(survey), bench.steps(survey)
    components: dict[str, list[object]] = {}
    for one in bench.schedule(survey):
        components.setdefault(one.assembly, []).append(one)
    return render_template(
        "order.html",
        plan=found,
        phases=PHASES,
        states=bench.STEP_WORDS,
        numbered=list(enumerate(found.steps, 1)),
        labels={step.id: step.label for step in steps},
        circles=[
            (bench.circle_words(loop, {step.id: step.label for step in steps}), loop.drop) for loop in found.loops
        ],
        off=bench.pairs_off(survey),
        own=[pair for pair in found.pairs if pair.own is not None],
        loose_build=bench.loose_build(survey),
        progress_in_words=bench.progress_in_words,
        steps=steps,
        components=components,
    )


@pages.get("/order/drawn")
def drawn() -> str:
    """The steps as a drawing, with a line down to each from what goes before it."""
    return render_template(
        "order_drawn.html", drawing=drawn_order(bench.plan(the_survey()), bench.STEP_WORDS), states=bench.STEP_WORDS
    )


@pages.post("/order/step")
def step() -> Response:
    """Say that a step is done or not needed, or open again."""
    name, how = forms.text(request.form, "build_step"), forms.word(request.form, "how", HOW)
    if how is None:
        raise BadValue("Nobody said how the step stands.", "Go back and press one of its buttons.")
    bench.say_of_step(the_survey(), name, None if how == "open" else how)
    return see("plan.order", "noted", f"step-{name}")


@pages.post("/order/pairs")
def create_pair() -> Response:
    """Say that one thing goes on before another."""
    form = request.form
    first, then, because = (forms.text(form, name) for name in ("first", "then", "because"))
    soft = forms.word(form, "hard", ("hard", "soft")) == "soft"
    bench.add_before(the_survey(), first, then, because, hard=not soft)
    return see("plan.order", "noted", "own-pairs")


@pages.post("/order/pairs/<int:pair>/remove")
def delete_pair(pair: int) -> Response:
    """Put a pair of the owner's own aside."""
    bench.remove_before(the_survey(), pair)
    return see("plan.order", "removed", "own-pairs")


@pages.post("/order/pairs/off")
def pair_off() -> Response:
    """Put a pair of the catalogue out of use, because this machine goes together otherwise."""
    bench.put_pair_off(the_survey(), forms.text(request.form, "pair"), forms.text(request.form, "because"))
    return see("plan.order", "noted", "pairs-off")


@pages.post("/order/pairs/on")
def pair_on() -> Response:
    """Take a pair of the catalogue into use again."""
    bench.put_pair_on(the_survey(), forms.text(request.form, "pair"))
    return see("plan.order", "noted", "pairs-off")
