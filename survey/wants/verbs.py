"""What is to be got: worked out from the gaps and the grades, with what the owner recorded."""

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
from survey.schedule.verbs import get_component, list_components, list_gaps
from survey.store.bin import remove_links
from survey.store.row_words import describe_position_id
from survey.store.survey import Survey, in_one_transaction
from survey.validation import validate_count, validate_text
from survey.wants.data import load_stalls
from survey.wants.records import fetch_wants
from survey.wants.want_lines import WantLine, group_by_stall, make_want_lines

WANT_FIELDS = ("state", "quantity", "who", "sizes", "also", "low", "likely", "high", "note", "scarcity")

_TEXTS = ("who", "also", "note")
_PRICES = ("low", "likely", "high")
_SIZES_AT_MOST = 40
_SCARCITY_HINT = "Say one of: " + ", ".join(SCARCITIES) + "."

SET_WANT = Verb("want", "Want noted")
DROP_WANT = Verb("drop want", "Want put aside")
SET_CURRENCY = Verb("currency", "Currency said")
WANT_VERBS = (SET_WANT, DROP_WANT, SET_CURRENCY)


def list_wants(survey: Survey) -> tuple[WantLine, ...]:
    """Everything to get, a line for each component, then the owner's own things."""
    return make_want_lines(
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
        BadValue: neither component nor label, an unknown field, or an invalid value.
    """
    before = _find_want(survey, component, validate_text("label", label))
    unknown = sorted(set(fields) - set(WANT_FIELDS))
    if unknown:
        raise BadValue(f"A want has no {unknown[0]!r}.", "It has: " + ", ".join(WANT_FIELDS) + ".")
    changes = _validate_fields(before, fields)
    with survey.store.change(SET_WANT, survey.by) as change:
        row = {**changes, "by": survey.by, "at": change.at}
        if "state" in changes and (before is None or changes["state"] != before.state):
            row["since"] = change.at
        if before is not None:
            change.update("want", [before.id], row)
            row_id = before.id
        else:
            subject = {"component": component, "label": "" if component else validate_text("label", label)}
            row_id = change.insert("want", {**subject, "since": change.at, **row})["id"]
    return next(want for want in fetch_wants(survey.store) if want.id == row_id)


@in_one_transaction
def drop_want(survey: Survey, component: str | None = None, *, label: str = "") -> None:
    """Put aside what is recorded of a want; a gap of the schedule stays wanted, a thing of one's own is wanted no more.

    What was paid for it stays recorded, as a line of its own.

    Raises:
        NoSuchThing: nothing is recorded of it.
    """
    want = _find_want(survey, component, validate_text("label", label))
    if want is None:
        raise NoSuchThing(f"Nothing was said of {component or label!r}.", NextStep.SEE_WANTS)
    with survey.store.change(DROP_WANT, survey.by) as change:
        remove_links(survey.store, change, "want", want.id)
        change.update("want", [want.id], {"gone_at": change.at})


def set_currency(survey: Survey, currency: str) -> str:
    """Set the currency of the survey's prices; recorded figures are not changed.

    Raises:
        BadValue: not three letters.
    """
    code = validate_currency(currency)
    with survey.store.change(SET_CURRENCY, survey.by) as change:
        change.update("machine", [1], {"currency": code})
    return code


def _find_want(survey: Survey, component: str | None, label: str) -> Want | None:
    if component is not None:
        get_component(survey, component)
    elif not label:
        raise BadValue("Nobody said what is wanted.", "Name a component of the schedule, or say in words what it is.")
    for want in fetch_wants(survey.store):
        if want.component == component and (component is not None or want.label.casefold() == label.casefold()):
            return want
    return None


def _validate_fields(before: Want | None, fields: Mapping[str, Any]) -> dict[str, Any]:
    changes: dict[str, Any] = {name: validate_text(name, fields[name]) for name in _TEXTS if name in fields}
    if "state" in fields:
        if fields["state"] not in WANT_STATES:
            raise BadValue(f"{fields['state']!r} is no state of a want.", "Say one of: " + ", ".join(WANT_STATES) + ".")
        changes["state"] = fields["state"]
    if "scarcity" in fields:
        if fields["scarcity"] not in ("", *SCARCITIES):
            raise BadValue(f"{fields['scarcity']!r} says nothing of how scarce it is.", _SCARCITY_HINT)
        changes["scarcity"] = fields["scarcity"]
    if "quantity" in fields:
        number = fields["quantity"]
        changes["quantity"] = None if number is None else validate_count("quantity of a want", number)
    if "sizes" in fields:
        changes["sizes"] = json.dumps(_join_sizes(before, fields["sizes"]), ensure_ascii=False)
    prices = {name: parse_price(validate_text(name, fields[name])) for name in _PRICES if name in fields}
    price_before = before.price if before else Price()
    Price(*(prices.get(name, getattr(price_before, name)) for name in _PRICES))
    return changes | {name: None if price is None else str(price) for name, price in prices.items()}


def _join_sizes(before: Want | None, new_sizes: Mapping[str, str]) -> dict[str, str]:
    """The sizes before, updated with the new ones."""
    sizes = dict(before.sizes) if before else {}
    for name, value in new_sizes.items():
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
