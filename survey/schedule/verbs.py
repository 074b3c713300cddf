"""The schedule: what a complete machine has, what the owner says of each position, and what is missing."""

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
from survey.schedule.gaps import Count, InHand, Position, count_by_assembly
from survey.schedule.gaps import find_gaps as gaps_of
from survey.schedule.gaps import work_out_positions as stand
from survey.schedule.records import fetch_components, fetch_position_notes, make_component_row
from survey.store.bin import remove_links
from survey.store.references import row_key_in
from survey.store.row_words import describe_position_id
from survey.store.survey import Survey
from survey.validation import validate_count, validate_text
from survey.vocabulary import load_vocabulary


def list_kinds() -> tuple[Catalogue, ...]:
    """The catalogues a survey can start from."""
    return load_catalogues()


ADD_COMPONENT = Verb("add component", "Component added")
REMOVE_COMPONENT = Verb("remove component", "Component put aside")
SET_QUANTITY = Verb("set quantity", "Quantity changed")
SAY_OF_POSITION: Mapping[PositionState | None, Verb] = {
    "missing": Verb("say missing", "Missing"),
    "wrong": Verb("say wrong", "Here but wrong"),
    "unseen": Verb("say unseen", "Inside and unseen"),
    "not-fitted": Verb("say not-fitted", "Not fitted to this machine"),
    "not-looked": Verb("say not-looked", "Not looked for"),
    None: Verb("say nothing", "No answer any more"),
}
SCHEDULE_VERBS = (ADD_COMPONENT, REMOVE_COMPONENT, SET_QUANTITY, *SAY_OF_POSITION.values())


def list_components(survey: Survey) -> list[Component]:
    """The survey's own schedule, in order."""
    return list(survey.kept("schedule", ("component",), lambda: fetch_components(survey.store)))


def get_component(survey: Survey, component_id: str) -> Component:
    """One position of the schedule.

    Raises:
        NoSuchThing: with the nearest ids and labels.
    """
    everything = list_components(survey)
    for one in everything:
        if one.id == component_id:
            return one
    raise _no_such_component(component_id, everything)


def add_component(survey: Survey, new: Component) -> Component:
    """Add a position to the schedule: one of the owner's own, or one of the catalogue's extras.

    Raises:
        BadValue: the id is taken, the label is empty, a word is not in the vocabulary, or the duty is less than a part
            of its class has at the least.
        NoSuchThing: what it should sit in is not there.
    """
    _prove_component(new, list_components(survey))
    with survey.store.change(ADD_COMPONENT, survey.by) as change:
        last = survey.store.rows("SELECT max(ordinal) AS last FROM component")[0]["last"]
        row = {**make_component_row(new, last + 1), "gone_at": None}
        if change.update("component", [new.id], row) is None:  # it may stand there as one that was taken back
            change.insert("component", row)
    return get_component(survey, new.id)


def remove_component(survey: Survey, component_id: str) -> None:
    """Put a position aside that was added by mistake, with what was said of its absence or wanted for it.

    Raises:
        NoSuchThing: no such component.
        BadValue: it came with the schedule, or something answers to it, sits in it or goes on before or after it.
    """
    one = get_component(survey, component_id)
    if any(component_id == theirs.id for theirs in load_catalogue(fetch_machine(survey.store).kind).components):
        raise BadValue(f"{one.label} came with the schedule.", "Say that it is not fitted to this machine.")
    if holder := _needed_by(survey, component_id):
        raise BadValue(f"{one.label} is needed: {holder} names it.", f"Put {holder} aside first.")
    with survey.store.change(REMOVE_COMPONENT, survey.by) as change:
        change.remove("position", [component_id])
        for row in survey.store.rows("SELECT id FROM want WHERE component = ? AND gone_at IS NULL", [component_id]):
            remove_links(survey.store, change, "want", row["id"])
            change.update("want", [row["id"]], {"gone_at": change.at})
        change.update("component", [component_id], {"gone_at": change.at})


def _needed_by(survey: Survey, component_id: str) -> str:
    """What stands only with that component, as ``part 3``; empty where nothing does."""
    for one in survey.references.to("component"):
        if one.table not in _GO_WITH_IT:
            for row in survey.references.rows(one, component_id):
                if row.get("gone_at") is None:
                    return " ".join(map(str, (one.table, *row_key_in(one.table, row))))
    for pair in fetch_own_pairs(survey.store):
        if component_id in (pair.first, pair.then):
            return f"own pair {pair.own}"
    return ""


_GO_WITH_IT = ("position", "want")


def default_duty(part_class: str) -> Duty:
    """The duty of an own component when its owner does not say: the gravest a part of its class has anywhere."""
    return load_default_duty(part_class)


def get_extra_component(survey: Survey, component_id: str) -> Component:
    """A component that the catalogue knows but does not put on a new schedule.

    Raises:
        NoSuchThing: the catalogue has no such extra.
    """
    extras = load_catalogue(fetch_machine(survey.store).kind).extras
    for one in extras:
        if one.id == component_id:
            return one
    raise _no_such_component(component_id, list(extras))


def set_quantity(survey: Survey, component_id: str, quantity: int) -> Component:
    """Change how many a complete machine has (spokes: count the holes in the hub).

    Raises:
        BadValue: fewer than one, or more than any machine has.
    """
    get_component(survey, component_id)
    validate_count("quantity of a position", quantity)
    with survey.store.change(SET_QUANTITY, survey.by) as change:
        change.update("component", [component_id], {"quantity": quantity})
    return get_component(survey, component_id)


def set_position(survey: Survey, component_id: str, state: PositionState | None, note: str = "") -> None:
    """Say of a position that it is missing, here but wrong, inside and unseen, not fitted, or not looked for.

    ``None`` takes back what was said.

    Raises:
        NoSuchThing: no such component in the schedule.
        BadValue: no such state, or a part that is here fills the position.
    """
    one = get_component(survey, component_id)
    if state is not None and state not in POSITION_STATES:
        raise BadValue(f"{state!r} is no state of a position.", "Say one of: " + ", ".join(POSITION_STATES) + ".")
    if state in ("missing", "not-fitted", "not-looked"):
        _prove_not_filled(survey, one, state)
    with survey.store.change(SAY_OF_POSITION[state], survey.by) as change:
        if state is None:
            change.remove("position", [component_id])
            return
        said = {"state": state, "note": validate_text("note", note), "by": survey.by, "at": change.at}
        if change.update("position", [component_id], said) is None:
            change.insert("position", {"component": component_id, **said})


def list_positions(survey: Survey) -> tuple[Position, ...]:
    """How every position of the schedule stands."""
    return survey.kept("standings", ("component", "position", "part", "finding"), lambda: _stand(survey))


def _stand(survey: Survey) -> tuple[Position, ...]:
    in_hand = [
        InHand(row["component"], row["quantity"], row["wrong"] or 0)
        for row in survey.store.rows(
            "SELECT component, quantity, (SELECT max(step) FROM finding WHERE finding.part = part.id"
            " AND kind = 'wrong_part' AND finding.gone_at IS NULL) AS wrong"
            " FROM part WHERE gone_at IS NULL AND component IS NOT NULL ORDER BY id"
        )
    ]
    return stand(list_components(survey), in_hand, fetch_position_notes(survey.store))


def list_gaps(survey: Survey) -> tuple[Gap, ...]:
    """Every position that is not filled, in the schedule's order."""
    return gaps_of(list_positions(survey))


def count_completeness(survey: Survey) -> dict[str, Count]:
    """Counts by assembly."""
    return count_by_assembly(list_positions(survey))


def _prove_not_filled(survey: Survey, one: Component, state: str) -> None:
    filling = [part for part in fetch_parts(survey.store) if part.component == one.id]
    if sum(part.quantity for part in filling) >= one.quantity:
        raise BadValue(
            f"{one.label} cannot be {state}: part {filling[0].id} of this survey answers to it.",
            NextStep.CALL_IT_WRONG,
            one.id,
        )


def _no_such_component(component_id: str, known: list[Component]) -> NoSuchThing:
    wanted = component_id.lower()
    near = [c for c in known if wanted in c.label.lower() or any(wanted in name.lower() for name in c.names)]
    if not near:
        close = difflib.get_close_matches(component_id.upper(), [c.id for c in known], n=3)
        near = [c for c in known if c.id in close]
    hint = "Did you mean " + ", ".join(f"{c.id} ({c.label})" for c in near[:4]) + "?" if near else ""
    return NoSuchThing(f"There is no component {component_id!r} in the schedule.", hint or NextStep.SEE_SCHEDULE)


def _prove_component(new: Component, known: list[Component]) -> None:
    words = load_vocabulary()
    needed = [("id", new.id), ("label", new.label), ("assembly", new.assembly)]
    if not all(validate_text(what, text) for what, text in needed):
        raise BadValue("A component needs an id, a label and an assembly.", NextStep.GIVE_ALL_THREE)
    validate_text("finish", new.finish)
    if any(one.id == new.id for one in known):
        raise BadValue(f"The schedule has a component {new.id!r} already.", "Choose another id.")
    theirs = (one for book in load_catalogues() for one in (*book.components, *book.extras) if one.id == new.id)
    if any(one != new for one in theirs):  # a rule that names the catalogue's component must not speak of another thing
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
    if new.inside is not None and all(one.id != new.inside for one in known):
        raise _no_such_component(new.inside, known)


def describe_position(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of answers for positions are, in words."""
    return ", ".join(describe_position_id(survey, row["component"]) for row in rows[:3])


def describe_component(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of components are, in words."""
    return ", ".join(f"{row['id']} {row['label']}" for row in rows[:3])
