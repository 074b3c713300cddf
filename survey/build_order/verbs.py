"""The order of the build: steps, what goes before what, what the owner says of either, and what blocks what."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from survey.build_order.blocks import Block
from survey.build_order.blocks import rank_blocks as work_out_blocks
from survey.build_order.data import load_build_order
from survey.build_order.lacks import Lack, find_lacks
from survey.build_order.plan import BuildFacts, Plan, describe_loop, find_loops
from survey.build_order.plan import make_plan as put_in_order
from survey.build_order.records import fetch_disabled_pairs, fetch_own_pairs, fetch_step_states
from survey.errors import BadValue, LoopInOrder, NextStep, NoSuchThing
from survey.machine.verbs import get_machine
from survey.model.build_order import STEP_ANSWERS, BeforePair, BuildStep, StepAnswer
from survey.model.verb import Verb
from survey.outwork.verbs import list_away, list_parts_to_examine
from survey.parts.verbs import list_parts
from survey.schedule.verbs import list_components, list_positions
from survey.store.row_words import describe_position_id
from survey.store.survey import Survey, in_one_transaction
from survey.validation import validate_text
from survey.wants.records import fetch_wants

_OF_PLAN = (
    "machine", "component", "position", "part", "finding", "look", "reading", "own_grade", "want",
    "before_pair", "pair_off", "step_said", "batch", "batch_item",
)  # fmt: skip

ADD_BEFORE = Verb("add before", "Goes on before")
REMOVE_BEFORE = Verb("remove before", "Own pair put aside")
PUT_PAIR_OFF = Verb("pair out of use", "Pair out of use")
PUT_PAIR_ON = Verb("pair in use", "Pair in use again")
SAY_OF_STEP: Mapping[StepAnswer | None, Verb] = {
    "done": Verb("step done", "Step done"),
    "not-needed": Verb("step not needed", "Step not needed"),
    None: Verb("step open", "Step open again"),
}
ORDER_VERBS = (ADD_BEFORE, REMOVE_BEFORE, PUT_PAIR_OFF, PUT_PAIR_ON, *SAY_OF_STEP.values())


def get_plan(survey: Survey) -> Plan:
    """The steps of the dry build in order, over what is here, missing, wrong or away."""
    return survey.kept("plan", _OF_PLAN, lambda: _plan(survey))


def list_blocks(survey: Survey) -> tuple[Block, ...]:
    """What holds steps up and how many wait for each; the next best thing to get comes first."""
    scarce = {one.component: one.scarcity for one in fetch_wants(survey.store) if one.component and one.scarcity}
    return work_out_blocks(get_plan(survey), scarce)


def list_lacks(survey: Survey) -> dict[str, Lack]:
    """By component, what is not in hand for a dry build."""
    return find_lacks(
        list_positions(survey),
        list_parts(survey),
        fetch_wants(survey.store),
        list_away(survey),
        list_parts_to_examine(survey),
    )


def list_steps(survey: Survey) -> tuple[BuildStep, ...]:
    """Every step: those of the survey's kind, then one for each component that a pair of the owner's names."""
    known = load_build_order(get_machine(survey).kind).steps
    named = {name for pair in fetch_own_pairs(survey.store) for name in (pair.first, pair.then)}
    taken = {step.id for step in known}
    own = (_step_of(one.id, one.label) for one in list_components(survey) if one.id in named - taken)
    return (*known, *own)


def list_disabled_pairs(survey: Survey) -> tuple[tuple[BeforePair, str], ...]:
    """The catalogue's pairs that the owner put out of use, each with why."""
    off = fetch_disabled_pairs(survey.store)
    return tuple((pair, off[pair.id]) for pair in _catalogue_pairs(survey) if pair.id in off)


@in_one_transaction
def add_pair(survey: Survey, first: str, then: str, reason: str, *, hard: bool = True) -> BeforePair:
    """Say that one thing goes on before another, as found on the bench.

    Args:
        first, then: ids of steps, or of components of the schedule; a component becomes a step of its own.
        reason: why; it stands with the step.
        hard: whether the later is not to be begun without the earlier.

    Raises:
        NoSuchThing: no such step or component.
        BadValue: no reason, or a thing before itself.
        LoopInOrder: it would go round in a circle with pairs that hold; the sentence names it.
    """
    why, earlier, later = validate_text("reason", reason), _named(survey, first), _named(survey, then)
    if not why:
        raise BadValue(
            "A pair needs its reason: it stands beside the step.", "Say why the one goes on before the other."
        )
    if earlier.id == later.id:
        raise BadValue(f"{earlier.label} cannot go before itself.", "Name two different steps or components.")
    new = BeforePair("new", earlier.id, later.id, why, hard, own=_NEWEST)
    _prove_no_circle(survey, new, (earlier, later))
    with survey.store.change(ADD_BEFORE, survey.by) as change:
        row = change.insert("before_pair", {
            "first": earlier.id, "after": later.id, "hard": int(hard), "reason": why, "by": survey.by, "at": change.at,
        })  # fmt: skip
    return next(pair for pair in fetch_own_pairs(survey.store) if pair.own == row["id"])


def remove_pair(survey: Survey, pair: int) -> None:
    """Put one of the owner's own pairs aside; the history keeps it.

    Raises:
        NoSuchThing: there is no such pair.
    """
    if all(own.own != pair for own in fetch_own_pairs(survey.store)):
        raise NoSuchThing(f"There is no own pair {pair}.", NextStep.SEE_PAIRS)
    with survey.store.change(REMOVE_BEFORE, survey.by) as change:
        change.update("before_pair", [pair], {"gone_at": change.at})


def validate_pair(survey: Survey, first: str, then: str) -> None:
    """Refuse an own pair that cannot come back: a circle with what holds now, or an end that is no more.

    Raises:
        NoSuchThing, LoopInOrder: as for ``add_before``.
    """
    earlier, later = _named(survey, first), _named(survey, then)
    _prove_no_circle(survey, BeforePair("new", first, then, "", own=_NEWEST), (earlier, later))


def disable_pair(survey: Survey, pair_id: str, reason: str) -> None:
    """Put a pair of the catalogue out of use, because this machine goes together otherwise.

    Raises:
        NoSuchThing: the catalogue has no such pair for this kind.
        BadValue: no reason, or the pair keeps somebody from harm.
    """
    pair, why = _catalogue_pair(survey, pair_id), validate_text("reason", reason)
    if pair.keeps:
        raise BadValue(f"This pair stays in use. {pair.because}", "Keep to it; it holds on every machine.")
    if not why:
        raise BadValue("Putting a pair out of use needs its reason.", "Say how this machine goes together instead.")
    with survey.store.change(PUT_PAIR_OFF, survey.by) as change:
        said = {"reason": why, "by": survey.by, "at": change.at}
        if change.update("pair_off", [pair.id], said) is None:
            change.insert("pair_off", {"pair": pair.id, **said})


@in_one_transaction
def enable_pair(survey: Survey, pair_id: str) -> None:
    """Take a pair of the catalogue into use again.

    Raises:
        NoSuchThing: it is not out of use.
        LoopInOrder: it would go round in a circle with pairs of the owner's.
    """
    pair = _catalogue_pair(survey, pair_id)
    if pair.id not in fetch_disabled_pairs(survey.store):
        raise NoSuchThing(f"The pair {pair_id!r} is in use.", NextStep.SEE_PAIRS)
    _prove_no_circle(survey, pair, ())
    with survey.store.change(PUT_PAIR_ON, survey.by) as change:
        change.remove("pair_off", [pair.id])


@in_one_transaction
def set_step_state(survey: Survey, step_id: str, said: StepAnswer | None, note: str = "") -> None:
    """Say that a step is done, or that this machine does not need it; ``None`` takes back what was said.

    Raises:
        NoSuchThing: no such step.
        BadValue: no such word, or a step that every machine needs.
    """
    step, text = _named(survey, step_id), validate_text("note", note)
    if said is not None and said not in STEP_ANSWERS:
        raise BadValue(f"{said!r} is nothing to say of a step.", "Say one of: " + ", ".join(STEP_ANSWERS) + ".")
    if said == "not-needed" and not step.skip:
        raise BadValue(f"Every machine needs this step: {step.label}.", "Leave it open, or say that it is done.")
    with survey.store.change(SAY_OF_STEP[said], survey.by) as change:
        if said is None:
            change.remove("step_said", [step.id])
            return
        row = {"state": said, "note": text, "by": survey.by, "at": change.at}
        if change.update("step_said", [step.id], row) is None:
            change.insert("step_said", {"step": step.id, **row})


_NEWEST = 2**62
"""Stands for the number of an own pair that has none yet: of several it is the newest."""


def _plan(survey: Survey) -> Plan:
    standing = list_positions(survey)
    fitted = {one.component.id for one in standing if one.state != "not-fitted"}
    ground = BuildFacts(fitted, list_lacks(survey), fetch_step_states(survey.store))
    return put_in_order(list_steps(survey), _pairs(survey), ground)


def _catalogue_pairs(survey: Survey) -> tuple[BeforePair, ...]:
    return load_build_order(get_machine(survey).kind).pairs


def _catalogue_pair(survey: Survey, pair_id: str) -> BeforePair:
    known = {pair.id: pair for pair in _catalogue_pairs(survey)}
    if pair_id not in known:
        near = difflib.get_close_matches(pair_id, known, n=3)
        hint = f"Did you mean {', '.join(near)}?" if near else NextStep.SEE_PAIRS
        raise NoSuchThing(f"The catalogue has no pair {pair_id!r} for this kind.", hint)
    return known[pair_id]


def _pairs(survey: Survey) -> list[BeforePair]:
    """The pairs in use, the catalogue's and the owner's."""
    off = fetch_disabled_pairs(survey.store)
    return [pair for pair in _catalogue_pairs(survey) if pair.id not in off] + fetch_own_pairs(survey.store)


def _named(survey: Survey, name: str) -> BuildStep:
    """The step of that id, or the putting on of the component of that id."""
    known = {step.id: step for step in list_steps(survey)}
    components = {one.id: one for one in list_components(survey)}
    if name in known:
        return known[name]
    if name in components:
        return _step_of(name, components[name].label)
    near = difflib.get_close_matches(name, [*known, *components], n=3)
    near += [step.id for step in known.values() if name and name.casefold() in step.label.casefold()][:3]
    hint = f"Did you mean {', '.join(dict.fromkeys(near))}?" if near else NextStep.SEE_STEPS
    raise NoSuchThing(f"There is no step and no component {name!r}.", hint)


def _step_of(component_id: str, label: str) -> BuildStep:
    return BuildStep(component_id, f"Put on: {label}", "build", (component_id,))


def _prove_no_circle(survey: Survey, new: BeforePair, ends: tuple[BuildStep, ...]) -> None:
    _, sound = find_loops(_pairs(survey))
    loops, _ = find_loops([*sound, new])
    if not loops:
        return
    labels = {step.id: step.label for step in (*list_steps(survey), *ends)}
    others = [pair for pair in loops[0].pairs if pair.id != new.id]
    theirs = next((pair for pair in others if not pair.keeps), None)
    otherwise = "" if theirs is None else f"; if this machine goes together otherwise, first put {theirs.id} out of use"
    raise LoopInOrder(
        f"That goes round in a circle: {describe_loop(loops[0], labels)}.",
        f"The pair to drop is {labels[new.first]!r} before {labels[new.then]!r}{otherwise}."
        + "".join(f" {pair.id}: {pair.because}" for pair in others),
    )


def describe_pair(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What an own pair's row is, in words."""
    return f"{_step_words(survey, rows[0]['first'])} before {_step_words(survey, rows[0]['after'])}"


def describe_pair_off(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of a pair out of use is, in words."""
    return str(rows[0]["pair"])


def describe_step(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of a step's state is, in words."""
    return _step_words(survey, rows[0]["step"])


def _step_words(survey: Survey, step: str) -> str:
    labels = {one.id: one.label for one in load_build_order(get_machine(survey).kind).steps}
    return labels.get(step) or describe_position_id(survey, step)
