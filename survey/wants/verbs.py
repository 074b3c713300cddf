"""What is to be got: worked out from the gaps and the grades, with what the owner says of it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from survey.errors import BadValue, NextStep, NoSuchThing
from survey.model.price import Price
from survey.model.verb import Verb
from survey.model.wants import SCARCITIES, WANT_STATES, WANT_WORDS, Want
from survey.parts.verbs import list_parts
from survey.prices import parse_price, validate_currency
from survey.schedule.verbs import get_component as component_of
from survey.schedule.verbs import list_components, list_gaps
from survey.store.bin import remove_links
from survey.store.row_words import describe_position_id
from survey.store.survey import Survey, in_one_transaction
from survey.validation import validate_count, validate_text
from survey.wants.data import load_stalls
from survey.wants.records import fetch_wants
from survey.wants.want_lines import WantLine, group_by_stall
from survey.wants.want_lines import make_want_lines as work_out

WANT_FIELDS = ("state", "quantity", "who", "sizes", "also", "low", "likely", "high", "note", "scarcity")

_TEXTS = ("who", "also", "note")
_PRICES = ("low", "likely", "high")
_SIZES_AT_MOST = 40
_SAY_SCARCE = "Say one of: " + ", ".join(SCARCITIES) + "."

SET_WANT = Verb("want", "Want noted")
DROP_WANT = Verb("drop want", "Want put aside")
SET_CURRENCY = Verb("currency", "Currency said")
WANT_VERBS = (SET_WANT, DROP_WANT, SET_CURRENCY)


def list_wants(survey: Survey) -> tuple[WantLine, ...]:
    """Everything to get, a line for each component, then the owner's own things."""
    return work_out(
        list_components(survey), list_gaps(survey), list_parts(survey), fetch_wants(survey.store), load_stalls()
    )


def group_wants_by_stall(lines: Iterable[WantLine]) -> Mapping[str, tuple[WantLine, ...]]:
    """The lines under their kind of stall at a jumble, in the order of the walk."""
    return group_by_stall(lines, load_stalls())


@in_one_transaction
def set_want(survey: Survey, component: str | None = None, *, label: str = "", **fields: Any) -> Want:
    """Say something of a want: of a component of the schedule, or of a thing of one's own by its label.

    Args:
        component: a position of the schedule; None for a thing that is none.
        label: what it is, where it is no position.
        fields: ``WANT_FIELDS``. ``sizes``: name -> size as written; an empty one is taken out, others stay.
            Prices as written, empty for not known. ``quantity`` None: what the schedule lacks.

    Raises:
        NoSuchThing: no such component.
        BadValue: neither component nor label, an unknown field, or a value that cannot be.
    """
    before = _said_of(survey, component, validate_text("label", label))
    unknown = sorted(set(fields) - set(WANT_FIELDS))
    if unknown:
        raise BadValue(f"A want has no {unknown[0]!r}.", "It has: " + ", ".join(WANT_FIELDS) + ".")
    changes = _proved(before, fields)
    with survey.store.change(SET_WANT, survey.by) as change:
        noted = {**changes, "by": survey.by, "at": change.at}
        if "state" in changes and (before is None or changes["state"] != before.state):
            noted["since"] = change.at
        if before is not None:
            change.update("want", [before.id], noted)
            row_id = before.id
        else:
            of = {"component": component, "label": "" if component else validate_text("label", label)}
            row_id = change.insert("want", {**of, "since": change.at, **noted})["id"]
    return next(one for one in fetch_wants(survey.store) if one.id == row_id)


@in_one_transaction
def drop_want(survey: Survey, component: str | None = None, *, label: str = "") -> None:
    """Put aside what was said of a want; a gap of the schedule stays wanted, a thing of one's own is wanted no more.

    What was paid for it stays written down, as a line of its own.

    Raises:
        NoSuchThing: nothing was said of it.
    """
    said = _said_of(survey, component, validate_text("label", label))
    if said is None:
        raise NoSuchThing(f"Nothing was said of {component or label!r}.", NextStep.SEE_WANTS)
    with survey.store.change(DROP_WANT, survey.by) as change:
        remove_links(survey.store, change, "want", said.id)
        change.update("want", [said.id], {"gone_at": change.at})


def set_currency(survey: Survey, currency: str) -> str:
    """Say in which currency the survey's prices are; figures that stand are not changed.

    Raises:
        BadValue: not three letters.
    """
    said = validate_currency(currency)
    with survey.store.change(SET_CURRENCY, survey.by) as change:
        change.update("machine", [1], {"currency": said})
    return said


def _said_of(survey: Survey, component: str | None, label: str) -> Want | None:
    if component is not None:
        component_of(survey, component)
    elif not label:
        raise BadValue("Nobody said what is wanted.", "Name a component of the schedule, or say in words what it is.")
    for one in fetch_wants(survey.store):
        if one.component == component and (component is not None or one.label.casefold() == label.casefold()):
            return one
    return None


def _proved(before: Want | None, fields: Mapping[str, Any]) -> dict[str, Any]:
    changes: dict[str, Any] = {name: validate_text(name, fields[name]) for name in _TEXTS if name in fields}
    if "state" in fields:
        if fields["state"] not in WANT_STATES:
            raise BadValue(f"{fields['state']!r} is no state of a want.", "Say one of: " + ", ".join(WANT_STATES) + ".")
        changes["state"] = fields["state"]
    if "scarcity" in fields:
        if fields["scarcity"] not in ("", *SCARCITIES):
            raise BadValue(f"{fields['scarcity']!r} says nothing of how scarce it is.", _SAY_SCARCE)
        changes["scarcity"] = fields["scarcity"]
    if "quantity" in fields:
        number = fields["quantity"]
        changes["quantity"] = None if number is None else validate_count("quantity of a want", number)
    if "sizes" in fields:
        changes["sizes"] = json.dumps(_sizes(before, fields["sizes"]), ensure_ascii=False)
    prices = {name: parse_price(validate_text(name, fields[name])) for name in _PRICES if name in fields}
    stood = before.price if before else Price()
    Price(*(prices.get(name, getattr(stood, name)) for name in _PRICES))
    return changes | {name: None if price is None else str(price) for name, price in prices.items()}


def _sizes(before: Want | None, said: Mapping[str, str]) -> dict[str, str]:
    """The sizes that stood with those that were said now."""
    sizes = dict(before.sizes) if before else {}
    for name, value in said.items():
        sizes[validate_text("name of a size", name)] = validate_text("size", value)
    kept = {name: value for name, value in sizes.items() if name and value}
    if len(kept) > _SIZES_AT_MOST:
        raise BadValue(f"A want keeps {_SIZES_AT_MOST} sizes at most.", "Put the rest into the note.")
    return kept


def describe_want(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of wants are, in words."""
    return ", ".join(
        (describe_position_id(survey, row["component"]) if row["component"] else row["label"])
        + f" ({WANT_WORDS[row['state']].lower()})"
        for row in rows[:3]
    )
