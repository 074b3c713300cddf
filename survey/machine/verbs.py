"""What the survey is of: described by its owner, with its numbers as stamped."""

from __future__ import annotations

from typing import Any

from survey.errors import BadValue
from survey.machine.records import fetch_machine
from survey.model.machine import Machine, Number
from survey.model.verb import Verb
from survey.store.survey import Survey, put_row_aside
from survey.validation import validate_text

MACHINE_FIELDS = ("name", "maker", "model", "year", "engine", "bought", "surveyor", "note")

DESCRIBE_MACHINE = Verb("describe machine", "Machine described")
ADD_NUMBER = Verb("write number", "Number written down")
REMOVE_NUMBER = Verb("remove number", "Number put aside")

MACHINE_VERBS = (DESCRIBE_MACHINE, ADD_NUMBER, REMOVE_NUMBER)


def get_machine(survey: Survey) -> Machine:
    """What the survey is of, with numbers as stamped."""
    return fetch_machine(survey.store)


def change_machine(survey: Survey, **fields: str) -> Machine:
    """Change what is written of the machine. Fields: ``MACHINE_FIELDS``.

    Raises:
        BadValue: an unknown field, or an empty name.
    """
    unknown = sorted(set(fields) - set(MACHINE_FIELDS))
    if unknown:
        raise BadValue(f"A machine has no {unknown[0]!r}.", "It has: " + ", ".join(MACHINE_FIELDS) + ".")
    changes: dict[str, Any] = {field: validate_text(field, text) for field, text in fields.items()}
    if changes.get("name") == "":
        raise BadValue("The survey needs a name.", "Give one, or leave the name as it is.")
    if changes:
        with survey.store.change(DESCRIBE_MACHINE, survey.by) as change:
            change.update("machine", [1], changes)
    return get_machine(survey)


def add_number(survey: Survey, place: str, text: str, note: str = "") -> Number:
    """Write down a number exactly as it is stamped, cast or written.

    The text is kept character for character; only the place must not be empty.
    """
    fields = {"place": validate_text("place", place), "text": text, "note": validate_text("note", note)}
    if not fields["place"] or not validate_text("number", text):
        raise BadValue(
            "A number needs the place where it stands and its characters.", "For example: frame 'HP 1057 *'."
        )
    with survey.store.change(ADD_NUMBER, survey.by) as change:
        row = change.insert("number", fields)
    return Number(row["id"], row["place"], row["text"], row["note"])


def remove_number(survey: Survey, number_id: int) -> None:
    """Put a number aside that was written wrongly; the history keeps it."""
    put_row_aside(survey, "number", number_id, REMOVE_NUMBER)


def describe_number(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a number's row is, in words."""
    return f"{rows[0]['text']} on {rows[0]['place']}"
