"""The schedule: the components of a complete machine, the owner's notes on positions, and what is missing."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from typing import Any

from survey.build_order.records import fetch_own_pairs
from survey.errors import BadValue, NextStep, NoSuchThing
from survey.machine.records import fetch_machine
from survey.model.schedule import DUTIES, POSITION_STATES, Catalogue, Component, Duty, Gap, PositionState
from survey.model.verb import Verb
from survey.parts.records import fetch_parts
from survey.schedule.data import load_catalogue, load_catalogues, load_default_duty
from survey.schedule.gaps import (
    InHand,
    Position,
    PositionCount,
    compute_positions,
    count_by_assembly,
    find_gaps,
)
from survey.schedule.records import fetch_components, fetch_position_notes, make_component_row
from survey.store.bin import remove_links
from survey.store.references import row_key_in
from survey.store.row_words import describe_position_id
from survey.store.survey import Survey
from survey.validation import validate_count, validate_text
from survey.vocabulary import load_vocabulary

_REMOVED_WITH_IT = ("position", "want")
"""Tables whose rows are put aside together with their component."""

ADD_COMPONENT = Verb("add component", "Component added")
REMOVE_COMPONENT = Verb("remove component", "Component put aside")
SET_QUANTITY = Verb("set quantity", "Quantity changed")
POSITION_VERBS: Mapping[PositionState | None, Verb] = {
    "missing": Verb("say missing", "Missing"),
    "wrong": Verb("say wrong", "Here but wrong"),
    "unseen": Verb("say unseen", "Inside and unseen"),
    "not-fitted": Verb("say not-fitted", "Not fitted to this machine"),
    "not-looked": Verb("say not-looked", "Not looked for"),
    None: Verb("say nothing", "No answer any more"),
}
SCHEDULE_VERBS = (ADD_COMPONENT, REMOVE_COMPONENT, SET_QUANTITY, *POSITION_VERBS.values())


def list_kinds() -> tuple[Catalogue, ...]:
    """The catalogues a survey can start from."""
    return load_catalogues()


def list_components(survey: Survey) -> list[Component]:
    """The survey's own schedule, in order."""
    return list(survey.kept("schedule", ("component",), lambda: fetch_components(survey.store)))


def get_component(survey: Survey, component_id: str) -> Component:
    """One component of the schedule.

    Raises:
        NoSuchThing: with the nearest ids and labels.
    """
    components = list_components(survey)
    for component in components:
        if component.id == component_id:
            return component
    raise _make_no_such_component(component_id, components)


def add_component(survey: Survey, new: Component) -> Component:
    """Add a component to the schedule: one of the owner's own, or one of the catalogue's extras.

    Raises:
        BadValue: the id is taken, the label is empty, a word is not in the vocabulary, or the duty is lighter
            than the least duty of its class.
        NoSuchThing: the component it is inside does not exist.
    """
    _validate_component(new, list_components(survey))
    with survey.store.change(ADD_COMPONENT, survey.by) as change:
        last = survey.store.rows("SELECT max(ordinal) AS last FROM component")[0]["last"]
        row = {**make_component_row(new, last + 1), "gone_at": None}
        if change.update("component", [new.id], row) is None:  # it may be there as a row put aside
            change.insert("component", row)
    return get_component(survey, new.id)


def remove_component(survey: Survey, component_id: str) -> None:
    """Put a component aside that was added by mistake, with its position note and its wants.

    Raises:
        NoSuchThing: no such component.
        BadValue: it came with the schedule, or a part, a component inside it or an own pair refers to it.
    """
    component = get_component(survey, component_id)
    if any(component_id == catalogued.id for catalogued in load_catalogue(fetch_machine(survey.store).kind).components):
        raise BadValue(f"{component.label} came with the schedule.", "Say that it is not fitted to this machine.")
    if referrer := _find_referrer(survey, component_id):
        raise BadValue(f"{component.label} is needed: {referrer} names it.", f"Put {referrer} aside first.")
    with survey.store.change(REMOVE_COMPONENT, survey.by) as change:
        change.remove("position", [component_id])
        for row in survey.store.rows("SELECT id FROM want WHERE component = ? AND gone_at IS NULL", [component_id]):
            remove_links(survey.store, change, "want", row["id"])
            change.update("want", [row["id"]], {"gone_at": change.at})
        change.update("component", [component_id], {"gone_at": change.at})


def _find_referrer(survey: Survey, component_id: str) -> str:
    """What refers to that component and must go first, as ``part 3``; empty if nothing does."""
    for reference in survey.references.to("component"):
        if reference.table not in _REMOVED_WITH_IT:
            for row in survey.references.rows(reference, component_id):
                if row.get("gone_at") is None:
                    return " ".join(map(str, (reference.table, *row_key_in(reference.table, row))))
    for pair in fetch_own_pairs(survey.store):
        if component_id in (pair.first, pair.then):
            return f"own pair {pair.own}"
    return ""


def get_default_duty(part_class: str) -> Duty:
    """The default duty of an own component: the gravest that any catalogue gives a part of its class."""
    return load_default_duty(part_class)


def get_extra_component(survey: Survey, component_id: str) -> Component:
    """A component of the catalogue that is not put on a new schedule.

    Raises:
        NoSuchThing: the catalogue has no such extra.
    """
    extras = load_catalogue(fetch_machine(survey.store).kind).extras
    for extra in extras:
        if extra.id == component_id:
            return extra
    raise _make_no_such_component(component_id, list(extras))


def set_quantity(survey: Survey, component_id: str, quantity: int) -> Component:
    """Change how many of it a complete machine has (spokes: count the holes in the hub).

    Raises:
        BadValue: fewer than one, or more than any machine has.
    """
    get_component(survey, component_id)
    validate_count("quantity of a position", quantity)
    with survey.store.change(SET_QUANTITY, survey.by) as change:
        change.update("component", [component_id], {"quantity": quantity})
    return get_component(survey, component_id)


def set_position(survey: Survey, component_id: str, state: PositionState | None, note: str = "") -> None:
    """Record that a position is missing, here but wrong, inside and unseen, not fitted, or not looked for.

    ``None`` removes the record.

    Raises:
        NoSuchThing: no such component in the schedule.
        BadValue: no such state, or a part that is here fills the position.
    """
    component = get_component(survey, component_id)
    if state is not None and state not in POSITION_STATES:
        raise BadValue(f"{state!r} is no state of a position.", "Say one of: " + ", ".join(POSITION_STATES) + ".")
    if state in ("missing", "not-fitted", "not-looked"):
        _require_not_filled(survey, component, state)
    with survey.store.change(POSITION_VERBS[state], survey.by) as change:
        if state is None:
            change.remove("position", [component_id])
            return
        row = {"state": state, "note": validate_text("note", note), "by": survey.by, "at": change.at}
        if change.update("position", [component_id], row) is None:
            change.insert("position", {"component": component_id, **row})


def list_positions(survey: Survey) -> tuple[Position, ...]:
    """The state of every position of the schedule."""
    return survey.kept("standings", ("component", "position", "part", "finding"), lambda: _make_positions(survey))


def _make_positions(survey: Survey) -> tuple[Position, ...]:
    in_hand = [
        InHand(row["component"], row["quantity"], row["wrong"] or 0)
        for row in survey.store.rows(
            "SELECT component, quantity, (SELECT max(step) FROM finding WHERE finding.part = part.id"
            " AND kind = 'wrong_part' AND finding.gone_at IS NULL) AS wrong"
            " FROM part WHERE gone_at IS NULL AND component IS NOT NULL ORDER BY id"
        )
    ]
    return compute_positions(list_components(survey), in_hand, fetch_position_notes(survey.store))


def list_gaps(survey: Survey) -> tuple[Gap, ...]:
    """Every position that is not filled, in the schedule's order."""
    return find_gaps(list_positions(survey))


def count_completeness(survey: Survey) -> dict[str, PositionCount]:
    """Counts by assembly."""
    return count_by_assembly(list_positions(survey))


def _require_not_filled(survey: Survey, component: Component, state: str) -> None:
    filling = [part for part in fetch_parts(survey.store) if part.component == component.id]
    if sum(part.quantity for part in filling) >= component.quantity:
        raise BadValue(
            f"{component.label} cannot be {state}: part {filling[0].id} of this survey answers to it.",
            NextStep.CALL_IT_WRONG,
            component.id,
        )


def _make_no_such_component(component_id: str, components: list[Component]) -> NoSuchThing:
    wanted = component_id.lower()
    near = [
        component
        for component in components
        if wanted in component.label.lower() or any(wanted in name.lower() for name in component.names)
    ]
    if not near:
        close = difflib.get_close_matches(component_id.upper(), [component.id for component in components], n=3)
        near = [component for component in components if component.id in close]
    offers = ", ".join(f"{component.id} ({component.label})" for component in near[:4])
    hint = f"Did you mean {offers}?" if near else ""
    return NoSuchThing(f"There is no component {component_id!r} in the schedule.", hint or NextStep.SEE_SCHEDULE)


def _validate_component(new: Component, components: list[Component]) -> None:
    words = load_vocabulary()
    required = [("id", new.id), ("label", new.label), ("assembly", new.assembly)]
    if not all(validate_text(what, text) for what, text in required):
        raise BadValue("A component needs an id, a label and an assembly.", NextStep.GIVE_ALL_THREE)
    validate_text("finish", new.finish)
    if any(component.id == new.id for component in components):
        raise BadValue(f"The schedule has a component {new.id!r} already.", "Choose another id.")
    catalogued = (entry for book in load_catalogues() for entry in (*book.components, *book.extras))
    # A rule that names the catalogue's id must not apply to another thing.
    if any(entry.id == new.id and entry != new for entry in catalogued):
        raise BadValue(f"{new.id!r} is the id of another component in a catalogue.", "Choose another id, like P01.")
    validate_count("quantity of a component", new.quantity)
    for what, word, allowed in (
        ("duty", new.duty, DUTIES),
        ("class", new.part_class, tuple(words.class_)),
        ("material", new.material, tuple(words.material)),
    ):
        if word not in allowed:
            raise BadValue(f"{word!r} is no {what}.", f"A {what} is one of: " + ", ".join(allowed) + ".")
    if words.too_light(new.duty, new.part_class):
        least = words.least_duty[new.part_class]
        raise BadValue(
            f"A part of class {new.part_class} cannot be of duty {new.duty}: it is at least {least}.",
            f"Leave the duty out or say {least}; if it is not such a part, give it another class.",
        )
    if new.inside is not None and all(component.id != new.inside for component in components):
        raise _make_no_such_component(new.inside, components)


def describe_position(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of answers for positions are, in words."""
    return ", ".join(describe_position_id(survey, row["component"]) for row in rows[:3])


def describe_component(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of components are, in words."""
    return ", ".join(f"{row['id']} {row['label']}" for row in rows[:3])
