"""What is seen and measured on a part: findings, looks that found nothing, readings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from survey.errors import BadValue, NextStep, NoSuchThing
from survey.finding_kinds import load_finding_kind, load_finding_kinds
from survey.grading.data import load_rulebook
from survey.grading.explain import ComparedReading, list_compared_readings
from survey.grading.facts import UNKNOWN
from survey.grading.readings import ReadingKind
from survey.model.grading import SEEN, STEPS, Seen
from survey.model.parts import Finding, FindingKind, Look, Reading
from survey.model.photos import Shape
from survey.model.schedule import Component
from survey.model.verb import Verb
from survey.parts.records import fetch_findings, fetch_looks, fetch_readings
from survey.parts.verbs import get_facts, get_part
from survey.photos.verbs import link_photo, make_mark_row, validate_points
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey, put_row_aside, require_live_row
from survey.units import parse_size
from survey.validation import validate_text

ADD_FINDING = Verb("add finding", "Finding recorded")
REMOVE_FINDING = Verb("remove finding", "Finding put aside")
SEE_NOTHING_WRONG = Verb("nothing wrong seen", "Nothing wrong seen")
REMOVE_LOOK = Verb("remove look", "Look put aside")
ADD_READING = Verb("add reading", "Reading taken")
REMOVE_READING = Verb("remove reading", "Reading put aside")
FINDING_VERBS = (ADD_FINDING, REMOVE_FINDING, SEE_NOTHING_WRONG, REMOVE_LOOK, ADD_READING, REMOVE_READING)


def list_finding_kinds() -> tuple[FindingKind, ...]:
    """The finding kinds with their four steps."""
    return load_finding_kinds()


def get_default_seen(component: Component | None) -> Seen:
    """How a part counts as seen when the surveyor does not say how.

    A safety part counts as seen through a coat (paint, grease or dirt, which hide cracks alike), and so does a part
    without a component, whatever finish it should have: nobody is credited with a look at bare metal that was not
    taken.
    """
    return "paint" if component is None or component.duty == "safety" else "bare"


def add_finding(
    survey: Survey,
    part_id: int,
    kind: str,
    step: int,
    *,
    seen: Seen | None = None,
    note: str = "",
    photo: int | None = None,
    shape: Shape = "pin",
    points: Sequence[tuple[float, float]] = (),
) -> Finding:
    """Record a finding on a part, with the photo that shows it and a mark on that photo if points are given.

    Raises:
        NoSuchThing: no such part, photo or kind.
        BadValue: no such step or way of looking, or a mark that is invalid or has no photo.
    """
    part = get_part(survey, part_id)
    load_finding_kind(kind)
    if type(step) is not int or step not in STEPS:
        raise BadValue(f"{step!r} is no step.", NextStep.SEE_FINDINGS)
    seen_how, note_text = _validate_seen(seen, part.component), validate_text("note", note)
    if points and photo is None:
        raise BadValue("A mark needs a photo to be drawn on.", NextStep.CHOOSE_PHOTO)
    if photo is not None:
        require_live_row(survey, "photo", photo)
    mark_points = validate_points(shape, points) if points else ()
    with survey.store.change(ADD_FINDING, survey.by) as change:
        row = change.insert(
            "finding",
            {
                "part": part_id,
                "kind": kind,
                "step": step,
                "seen": seen_how,
                "note": note_text,
                "by": survey.by,
                "at": change.at,
            },
        )
        if photo is not None:
            link_photo(change, part_id, photo)
            change.insert("finding_photo", {"finding": row["id"], "photo": photo})
        if photo is not None and mark_points:
            change.insert("mark", make_mark_row(photo, shape, mark_points, part_id, row["id"]))
    return next(finding for finding in fetch_findings(survey.store) if finding.id == row["id"])


def remove_finding(survey: Survey, finding_id: int) -> None:
    """Put a finding aside with its marks; the history keeps it."""
    require_live_row(survey, "finding", finding_id)
    with survey.store.change(REMOVE_FINDING, survey.by) as change:
        change.update("finding", [finding_id], {"gone_at": change.at})
        for row in survey.store.rows("SELECT id FROM mark WHERE finding = ? AND gone_at IS NULL", [finding_id]):
            change.update("mark", [row["id"]], {"gone_at": change.at})


def add_look(
    survey: Survey, part_id: int, *, seen: Seen | None = None, note: str = "", photo: int | None = None
) -> Look:
    """Record that the part was looked over and nothing wrong was seen.

    Raises:
        NoSuchThing: no such part or photo.
        BadValue: no such way of looking.
    """
    seen_how, note_text = _validate_seen(seen, get_part(survey, part_id).component), validate_text("note", note)
    if photo is not None:
        require_live_row(survey, "photo", photo)
    with survey.store.change(SEE_NOTHING_WRONG, survey.by) as change:
        row = change.insert(
            "look", {"part": part_id, "seen": seen_how, "note": note_text, "by": survey.by, "at": change.at}
        )
        if photo is not None:
            link_photo(change, part_id, photo)
            change.insert("look_photo", {"look": row["id"], "photo": photo})
    return next(look for look in fetch_looks(survey.store) if look.id == row["id"])


def remove_look(survey: Survey, look_id: int) -> None:
    """Put a look aside; the history keeps it."""
    put_row_aside(survey, "look", look_id, REMOVE_LOOK)


def compare_readings(survey: Survey, part_id: int) -> tuple[ComparedReading, ...]:
    """Every kind of reading for the part, taken or not, with the limit it is compared with and how to take it."""
    return list_compared_readings(load_rulebook(), get_facts(get_part(survey, part_id)))


def list_reading_kinds(survey: Survey, part_id: int) -> tuple[ReadingKind, ...]:
    """The kinds of reading that apply to the part."""
    part = get_part(survey, part_id)
    return load_rulebook().readings_for(UNKNOWN if part.component is None else part.component.part_class)


def add_reading(survey: Survey, part_id: int, name: str, written: str, tool: str = "") -> Reading:
    """Record a measured value as the owner writes it ("4.5 mm", "3/16 in", "1.2 %"); the latest of a name counts.

    A number alone is taken in the reading's own unit.

    Raises:
        NoSuchThing: no such part, or no such reading on parts of this class.
        BadValue: the value is no size, of another dimension, or outside what such a part can measure.
    """
    kind = _require_reading_kind(list_reading_kinds(survey, part_id), name)
    value, tool_text = _parse_value(kind, validate_text("value", written)), validate_text("tool", tool)
    _require_believable(kind, value)
    with survey.store.change(ADD_READING, survey.by) as change:
        row = change.insert(
            "reading",
            {
                "part": part_id, "name": kind.id, "value": value, "unit": kind.unit, "written": written.strip(),
                "tool": tool_text, "by": survey.by, "at": change.at,
            },
        )  # fmt: skip
    return next(reading for reading in fetch_readings(survey.store) if reading.id == row["id"])


def remove_reading(survey: Survey, reading_id: int) -> None:
    """Put a reading aside; the history keeps it."""
    put_row_aside(survey, "reading", reading_id, REMOVE_READING)


def _validate_seen(seen: Seen | None, component: Component | None) -> Seen:
    if seen is None:
        return get_default_seen(component)
    if seen not in SEEN:
        raise BadValue(f"{seen!r} is no way of looking.", "Say one of: " + ", ".join(SEEN) + ".")
    return seen


def _require_reading_kind(kinds: Sequence[ReadingKind], name: str) -> ReadingKind:
    for kind in kinds:
        if kind.id == name:
            return kind
    known = ", ".join(kind.id for kind in kinds)
    raise NoSuchThing(
        f"There is no reading {name!r} for such a part.", f"There are: {known}." if known else "None is defined for it."
    )


def _parse_value(kind: ReadingKind, written: str) -> float:
    return float(parse_size(written, default_unit=kind.unit).to(kind.unit))


def _require_believable(kind: ReadingKind, value: float) -> None:
    """Refuse a value that no such part can have: a slip of the pen or a wrong unit must not count as inside a limit."""
    if value not in kind.believable:
        raise BadValue(
            f"The reading {kind.id} cannot be {value:g} {kind.unit}.",
            f"It lies between {kind.believable.least:g} and {kind.believable.most:g} {kind.unit}; "
            f"did you mean another unit than {kind.unit}?",
        )


def describe_finding(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a finding's row is, in words."""
    row = rows[0]
    return f"{load_finding_kind(row['kind']).label}, step {row['step']}, {describe_part_no(survey, row['part'])}"


def describe_look(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a look's row is, in words."""
    return describe_part_no(survey, rows[0]["part"])


def describe_reading(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a reading's row is, in words."""
    return f"{rows[0]['name']} {rows[0]['written']}, {describe_part_no(survey, rows[0]['part'])}"
