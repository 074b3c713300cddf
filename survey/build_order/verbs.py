"""The order of the build: steps, what goes before what, the owner's own pairs and step states, and what blocks what."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from survey.build_order.blocks import Block, rank_blocks
from survey.build_order.data import load_build_order
from survey.build_order.lacks import Lack, find_lacks
from survey.build_order.plan import BuildFacts, Plan, describe_loop, find_loops, make_plan
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

_PLAN_TABLES = (
    "machine", "component", "position", "part", "finding", "look", "reading", "own_grade", "want",
    "before_pair", "pair_off", "step_said", "batch", "batch_item",
)  # fmt: skip

_NEWEST = 2**62
"""Number for an own pair that has none yet: it counts as the newest."""

ADD_BEFORE = Verb("add before", "Goes on before")
REMOVE_BEFORE = Verb("remove before", "Own pair put aside")
DISABLE_PAIR = Verb("pair out of use", "Pair out of use")
ENABLE_PAIR = Verb("pair in use", "Pair in use again")
STEP_VERBS: Mapping[StepAnswer | None, Verb] = {
    "done": Verb("step done", "Step done"),
    "not-needed": Verb("step not needed", "Step not needed"),
    None: Verb("step open", "Step open again"),
}
ORDER_VERBS = (ADD_BEFORE, REMOVE_BEFORE, DISABLE_PAIR, ENABLE_PAIR, *STEP_VERBS.values())


def get_plan(survey: Survey) -> Plan:
    """The plan of the dry build: its steps in order, with what each waits for."""
    return survey.kept("plan", _PLAN_TABLES, lambda: _make_plan(survey))


def list_blocks(survey: Survey) -> tuple[Block, ...]:
    """What blocks steps and how many wait for each; the best thing to get comes first."""
    scarce = {want.component: want.scarcity for want in fetch_wants(survey.store) if want.component and want.scarcity}
    return rank_blocks(get_plan(survey), scarce)


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
    """Every step: those of the survey's kind, then one for each component in the owner's own pairs."""
    steps = load_build_order(get_machine(survey).kind).steps
    in_own_pairs = {name for pair in fetch_own_pairs(survey.store) for name in (pair.first, pair.then)}
    step_ids = {step.id for step in steps}
    own = (
        _make_component_step(component.id, component.label)
        for component in list_components(survey)
        if component.id in in_own_pairs - step_ids
    )
    return (*steps, *own)


def list_disabled_pairs(survey: Survey) -> tuple[tuple[BeforePair, str], ...]:
    """The catalogue's pairs that the owner put out of use, each with why."""
    off = fetch_disabled_pairs(survey.store)
    return tuple((pair, off[pair.id]) for pair in _load_catalogue_pairs(survey) if pair.id in off)


@in_one_transaction
def add_pair(survey: Survey, first: str, then: str, reason: str, *, hard: bool = True) -> BeforePair:
    """Record that one thing goes on before another, as found on the bench.

    Args:
        first, then: ids of steps, or of components of the schedule; a component becomes a step of its own.
        reason: why; it is shown with the step.
        hard: whether the later must not begin without the earlier.

    Raises:
        NoSuchThing: no such step or component.
        BadValue: no reason, or a thing before itself.
        LoopInOrder: it would form a circle with pairs in use; the sentence names it.
    """
    because, earlier, later = validate_text("reason", reason), _require_step(survey, first), _require_step(survey, then)
    if not because:
        raise BadValue(
            "A pair needs its reason: it stands beside the step.", "Say why the one goes on before the other."
        )
    if earlier.id == later.id:
        raise BadValue(f"{earlier.label} cannot go before itself.", "Name two different steps or components.")
    new = BeforePair("new", earlier.id, later.id, because, hard, own=_NEWEST)
    _require_no_circle(survey, new, (earlier, later))
    with survey.store.change(ADD_BEFORE, survey.by) as change:
        row = change.insert("before_pair", {
            "first": earlier.id, "after": later.id, "hard": int(hard), "reason": because,
            "by": survey.by, "at": change.at,
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
    """Refuse an own pair that cannot be restored: it would form a circle, or one of its steps no longer exists.

    Raises:
        NoSuchThing, LoopInOrder: as for ``add_pair``.
    """
    earlier, later = _require_step(survey, first), _require_step(survey, then)
    _require_no_circle(survey, BeforePair("new", first, then, "", own=_NEWEST), (earlier, later))


def disable_pair(survey: Survey, pair_id: str, reason: str) -> None:
    """Put a pair of the catalogue out of use, because this machine goes together in another way.

    Raises:
        NoSuchThing: the catalogue has no such pair for this kind.
        BadValue: no reason, or the pair keeps somebody from harm.
    """
    pair, reason_text = _require_catalogue_pair(survey, pair_id), validate_text("reason", reason)
    if pair.keeps:
        raise BadValue(f"This pair stays in use. {pair.because}", "Keep to it; it holds on every machine.")
    if not reason_text:
        raise BadValue("Putting a pair out of use needs its reason.", "Say how this machine goes together instead.")
    with survey.store.change(DISABLE_PAIR, survey.by) as change:
        row = {"reason": reason_text, "by": survey.by, "at": change.at}
        if change.update("pair_off", [pair.id], row) is None:
            change.insert("pair_off", {"pair": pair.id, **row})


@in_one_transaction
def enable_pair(survey: Survey, pair_id: str) -> None:
    """Take a pair of the catalogue into use again.

    Raises:
        NoSuchThing: it is not out of use.
        LoopInOrder: it would form a circle with the owner's own pairs.
    """
    pair = _require_catalogue_pair(survey, pair_id)
    if pair.id not in fetch_disabled_pairs(survey.store):
        raise NoSuchThing(f"The pair {pair_id!r} is in use.", NextStep.SEE_PAIRS)
    _require_no_circle(survey, pair, ())
    with survey.store.change(ENABLE_PAIR, survey.by) as change:
        change.remove("pair_off", [pair.id])


@in_one_transaction
def set_step_state(survey: Survey, step_id: str, state: StepAnswer | None, note: str = "") -> None:
    """Record that a step is done or that this machine does not need it; ``None`` removes the record.

    Raises:
        NoSuchThing: no such step.
        BadValue: no such word, or a step that every machine needs.
    """
    step, note_text = _require_step(survey, step_id), validate_text("note", note)
    if state is not None and state not in STEP_ANSWERS:
        raise BadValue(f"{state!r} is nothing to say of a step.", "Say one of: " + ", ".join(STEP_ANSWERS) + ".")
    if state == "not-needed" and not step.skip:
        raise BadValue(f"Every machine needs this step: {step.label}.", "Leave it open, or say that it is done.")
    with survey.store.change(STEP_VERBS[state], survey.by) as change:
        if state is None:
            change.remove("step_said", [step.id])
            return
        row = {"state": state, "note": note_text, "by": survey.by, "at": change.at}
        if change.update("step_said", [step.id], row) is None:
            change.insert("step_said", {"step": step.id, **row})


def _make_plan(survey: Survey) -> Plan:
    positions = list_positions(survey)
    fitted = {position.component.id for position in positions if position.state != "not-fitted"}
    facts = BuildFacts(fitted, list_lacks(survey), fetch_step_states(survey.store))
    return make_plan(list_steps(survey), _list_pairs_in_use(survey), facts)


def _load_catalogue_pairs(survey: Survey) -> tuple[BeforePair, ...]:
    return load_build_order(get_machine(survey).kind).pairs


def _require_catalogue_pair(survey: Survey, pair_id: str) -> BeforePair:
    pairs = {pair.id: pair for pair in _load_catalogue_pairs(survey)}
    if pair_id not in pairs:
        near = difflib.get_close_matches(pair_id, pairs, n=3)
        hint = f"Did you mean {', '.join(near)}?" if near else NextStep.SEE_PAIRS
        raise NoSuchThing(f"The catalogue has no pair {pair_id!r} for this kind.", hint)
    return pairs[pair_id]


def _list_pairs_in_use(survey: Survey) -> list[BeforePair]:
    """The pairs in use: the catalogue's and the owner's."""
    off = fetch_disabled_pairs(survey.store)
    return [pair for pair in _load_catalogue_pairs(survey) if pair.id not in off] + fetch_own_pairs(survey.store)


def _require_step(survey: Survey, name: str) -> BuildStep:
    """The step with that id, or a step that puts on the component with that id."""
    steps = {step.id: step for step in list_steps(survey)}
    components = {component.id: component for component in list_components(survey)}
    if name in steps:
        return steps[name]
    if name in components:
        return _make_component_step(name, components[name].label)
    near = difflib.get_close_matches(name, [*steps, *components], n=3)
    near += [step.id for step in steps.values() if name and name.casefold() in step.label.casefold()][:3]
    hint = f"Did you mean {', '.join(dict.fromkeys(near))}?" if near else NextStep.SEE_STEPS
    raise NoSuchThing(f"There is no step and no component {name!r}.", hint)


def _make_component_step(component_id: str, label: str) -> BuildStep:
    return BuildStep(component_id, f"Put on: {label}", "build", (component_id,))


def _require_no_circle(survey: Survey, new: BeforePair, ends: tuple[BuildStep, ...]) -> None:
    _, consistent = find_loops(_list_pairs_in_use(survey))
    loops, _ = find_loops([*consistent, new])
    if not loops:
        return
    labels = {step.id: step.label for step in (*list_steps(survey), *ends)}
    others = [pair for pair in loops[0].pairs if pair.id != new.id]
    droppable = next((pair for pair in others if not pair.keeps), None)
    advice = (
        "" if droppable is None else f"; if this machine goes together otherwise, first put {droppable.id} out of use"
    )
    raise LoopInOrder(
        f"That goes round in a circle: {describe_loop(loops[0], labels)}.",
        f"The pair to drop is {labels[new.first]!r} before {labels[new.then]!r}{advice}."
        + "".join(f" {pair.id}: {pair.because}" for pair in others),
    )


def describe_pair(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What an own pair's row is, in words."""
    return f"{_describe_step_id(survey, rows[0]['first'])} before {_describe_step_id(survey, rows[0]['after'])}"


def describe_pair_off(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of a pair out of use is, in words."""
    return str(rows[0]["pair"])


def describe_step(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of a step's state is, in words."""
    return _describe_step_id(survey, rows[0]["step"])


def _describe_step_id(survey: Survey, step: str) -> str:
    labels = {known_step.id: known_step.label for known_step in load_build_order(get_machine(survey).kind).steps}
    return labels.get(step) or describe_position_id(survey, step)
