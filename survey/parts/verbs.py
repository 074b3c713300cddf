"""Parts: record, change and remove them, and list them with the grade the rules give each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from survey.errors import BadValue, NextStep, NoSuchThing
from survey.grading.data import load_rulebook
from survey.grading.facts import UNKNOWN, PartFacts
from survey.grading.rulebook import Rulebook
from survey.grading.verdict import judge_part
from survey.model.grading import GRADES, Grade, Verdict
from survey.model.parts import Finding, GradedPart, Look, OwnGrade, Part, Reading
from survey.model.photos import Mark
from survey.model.schedule import Component, Duty
from survey.model.verb import Verb
from survey.parts.records import fetch_findings, fetch_looks, fetch_own_grades, fetch_parts, fetch_readings
from survey.photos.records import fetch_marks
from survey.photos.verbs import link_photo
from survey.schedule.verbs import get_component, list_components
from survey.store.database import Change
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey, WrittenRow, in_one_transaction, require_live_row
from survey.validation import validate_count, validate_text
from survey.vocabulary import load_vocabulary

MOST_JUDGED = 50_000
"""Most verdicts cached: the same facts are judged once while a survey is open."""

PART_FIELDS = ("component", "label", "quantity", "inside", "material", "box", "note")

PART_TABLES = (
    "part", "component", "part_photo", "photo", "finding", "finding_photo", "look", "look_photo", "reading", "mark",
    "own_grade",
)  # fmt: skip
"""The tables from which ``list_parts`` is computed; a cache of graded parts lasts until one of them changes."""

_BATCH_ITEMS_QUERY = (
    "SELECT batch_item.id, batch_item.came_back, batch.state FROM batch_item JOIN batch ON batch.id = batch_item.batch"
    " WHERE batch_item.part = ? AND batch_item.gone_at IS NULL AND batch.gone_at IS NULL"
)

ADD_PART = Verb("add part", "Part recorded")
CHANGE_PART = Verb("change part", "Part changed")
REMOVE_PART = Verb("remove part", "Part put aside")
SET_OWN_GRADE = Verb("own grade", "Own grade")
PART_VERBS = (ADD_PART, CHANGE_PART, REMOVE_PART, SET_OWN_GRADE)


def add_part(
    survey: Survey,
    component: str | None,
    *,
    label: str = "",
    quantity: int = 1,
    photos: Iterable[int] = (),
    box: str = "",
    note: str = "",
    inside: int | None = None,
    material: str | None = None,
) -> Part:
    """Record one physical thing found. ``component`` None: not known yet.

    Raises:
        NoSuchThing: no such component, photo or holding part.
        BadValue: quantity below 1, or no such material.
    """
    fields = {
        "component": component, "label": label, "quantity": quantity, "inside": inside,
        "material": material, "box": box, "note": note,
    }  # fmt: skip
    fields = _validate_fields(survey, fields)
    photo_ids = list(dict.fromkeys(photos))
    for photo_id in photo_ids:
        require_live_row(survey, "photo", photo_id)
    with survey.store.change(ADD_PART, survey.by) as change:
        row = change.insert("part", {**fields, "added_at": change.at})
        for photo_id in photo_ids:
            link_photo(change, row["id"], photo_id)
        _clear_absence(survey, change, component)
    return get_part(survey, row["id"]).part


@in_one_transaction
def change_part(survey: Survey, part_id: int, **fields: Any) -> Part:
    """Change fields of a part. Fields: ``PART_FIELDS``.

    A part that turns out to be another component keeps its findings and loses, in the same act, the records that are
    no longer valid for it: see ``_withdraw_stale_records``.

    Raises:
        NoSuchThing, BadValue: as for ``add_part``.
    """
    before = get_part(survey, part_id)
    unknown = sorted(set(fields) - set(PART_FIELDS))
    if unknown:
        raise BadValue(f"A part has no {unknown[0]!r}.", "It has: " + ", ".join(PART_FIELDS) + ".")
    changes = _validate_fields(survey, fields)
    _require_no_circle(survey, part_id, changes.get("inside"))
    if changes:
        with survey.store.change(CHANGE_PART, survey.by) as change:
            change.update("part", [part_id], changes)
            if changes.get("component", before.part.component) != before.part.component:
                _withdraw_stale_records(survey, change, before, changes["component"])
            _clear_absence(survey, change, changes.get("component"))
    return get_part(survey, part_id).part


@in_one_transaction
def remove_part(survey: Survey, part_id: int) -> None:
    """Put a part aside that was recorded by mistake; its photos wait again, the history keeps everything.

    Raises:
        NoSuchThing: no such part.
        BadValue: it is out with a trade.
    """
    require_live_row(survey, "part", part_id)
    batch_items = survey.store.rows(_BATCH_ITEMS_QUERY, [part_id])
    if any(row["state"] == "out" and row["came_back"] is None for row in batch_items):
        raise BadValue(
            f"Part {part_id} is out with a trade.", "Take it back in first, or say that it did not come back."
        )
    with survey.store.change(REMOVE_PART, survey.by) as change:
        change.update("part", [part_id], {"gone_at": change.at})
        for row in survey.store.rows("SELECT id FROM part WHERE inside = ? AND gone_at IS NULL", [part_id]):
            change.update("part", [row["id"]], {"inside": None})
        for row in survey.store.rows("SELECT id FROM mark WHERE part = ? AND gone_at IS NULL", [part_id]):
            change.update("mark", [row["id"]], {"gone_at": change.at})
        for row in batch_items:
            if row["state"] == "draft":
                change.update("batch_item", [row["id"]], {"gone_at": change.at})


def set_own_grade(survey: Survey, part_id: int, grade: Grade | None, reason: str = "") -> OwnGrade | None:
    """Set the owner's own grade with a reason; it is shown beside the ruling. ``None`` removes it.

    Raises:
        BadValue: no such grade, or no reason.
    """
    require_live_row(survey, "part", part_id)
    if grade is not None and grade not in GRADES:
        raise BadValue(f"{grade!r} is no grade.", "Say one of: " + ", ".join(GRADES) + ".")
    reason_text = validate_text("reason", reason)
    if grade is not None and not reason_text:
        raise BadValue("An own grade needs a reason.", "Say in a few words why you differ from the rules.")
    with survey.store.change(SET_OWN_GRADE, survey.by) as change:
        if grade is None:
            change.remove("own_grade", [part_id])
        else:
            row = {"grade": grade, "reason": reason_text, "by": survey.by, "at": change.at}
            if change.update("own_grade", [part_id], row) is None:
                change.insert("own_grade", {"part": part_id, **row})
    return fetch_own_grades(survey.store).get(part_id)


def list_parts(survey: Survey) -> list[GradedPart]:
    """Every part with its verdict, by number."""
    return list(_cached_parts(survey).values())


def get_part(survey: Survey, part_id: int) -> GradedPart:
    """One part with its verdict.

    Raises:
        NoSuchThing: no such part.
    """
    part = _cached_parts(survey).get(part_id)
    if part is None:
        raise NoSuchThing(f"There is no part {part_id} in this survey.", NextStep.SEE_PARTS)
    return part


def get_facts(graded: GradedPart) -> PartFacts:
    """The facts of a part that the rules grade it by."""
    return _make_facts(graded.part, graded.component, graded.findings, graded.looks, graded.readings)


@dataclass(frozen=True, slots=True)
class _RecordsByPart:
    findings: Mapping[int, list[Finding]]
    looks: Mapping[int, list[Look]]
    readings: Mapping[int, list[Reading]]
    marks: Mapping[int, list[Mark]]
    own_grades: Mapping[int, OwnGrade]


def _cached_parts(survey: Survey) -> Mapping[int, GradedPart]:
    """Every part by its number, graded; computed again only after one of ``PART_TABLES`` has changed."""
    return survey.kept(
        "parts",
        PART_TABLES,
        lambda: _grade_parts(survey, None),
        lambda cached, touched: _regrade_touched(survey, cached, touched),
    )


def _regrade_touched(
    survey: Survey, cached: Mapping[int, GradedPart], touched: list[WrittenRow]
) -> Mapping[int, GradedPart] | None:
    """The cached parts with those graded again that the written rows belong to; None where all may have changed."""
    numbers: set[int | None] = set()
    for table, row in touched:
        if table == "component":
            return None
        if table == "photo":
            links = survey.store.rows("SELECT part FROM part_photo WHERE photo = ?", [row["id"]])
            numbers.update(link["part"] for link in links)
        elif table in ("finding_photo", "look_photo"):
            owner = table.removesuffix("_photo")
            owner_row = survey.store.row(f'SELECT part FROM "{owner}" WHERE id = ?', [row[owner]])
            numbers.add(owner_row["part"] if owner_row else None)
        else:
            numbers.add(row["id"] if table == "part" else row["part"])
    numbers.update(mark.part for part in cached.values() for mark in part.marks if mark.id in _touched_marks(touched))
    chosen = sorted(number for number in numbers if number is not None)
    return dict(sorted({**_without_parts(cached, chosen), **_grade_parts(survey, chosen)}.items()))


def _touched_marks(touched: list[WrittenRow]) -> set[int]:
    """Ids of the marks that were written: one may have belonged to another part before."""
    return {row["id"] for table, row in touched if table == "mark"}


def _without_parts(cached: Mapping[int, GradedPart], numbers: Iterable[int]) -> dict[int, GradedPart]:
    left = dict(cached)
    for number in numbers:
        left.pop(number, None)
    return left


def _grade_parts(survey: Survey, numbers: Sequence[int] | None) -> dict[int, GradedPart]:
    book = load_rulebook()
    components = {component.id: component for component in list_components(survey)}
    records = _RecordsByPart(
        _group_by_part(fetch_findings(survey.store, numbers)),
        _group_by_part(fetch_looks(survey.store, numbers)),
        _group_by_part(fetch_readings(survey.store, numbers)),
        _group_by_part(fetch_marks(survey.store, parts=numbers)),
        fetch_own_grades(survey.store),
    )
    verdicts = survey.judged
    if len(verdicts) > MOST_JUDGED:
        verdicts.clear()
    return {
        part.id: _grade_part(book, part, components.get(part.component or ""), records, verdicts)
        for part in fetch_parts(survey.store, numbers)
    }


def _grade_part(
    book: Rulebook, part: Part, component: Component | None, records: _RecordsByPart, verdicts: dict[object, Verdict]
) -> GradedPart:
    findings, looks = records.findings.get(part.id, []), records.looks.get(part.id, [])
    readings = records.readings.get(part.id, [])
    facts = _make_facts(part, component, findings, looks, readings)
    verdict = verdicts.get(facts.key)
    if verdict is None:
        verdict = verdicts[facts.key] = judge_part(book, facts)
    return GradedPart(
        part=part,
        component=component,
        verdict=verdict,
        own_grade=records.own_grades.get(part.id),
        findings=tuple(findings),
        looks=tuple(looks),
        readings=tuple(readings),
        marks=tuple(records.marks.get(part.id, [])),
    )


def _make_facts(
    part: Part,
    component: Component | None,
    findings: Iterable[Finding],
    looks: Iterable[Look],
    readings: Iterable[Reading],
) -> PartFacts:
    return PartFacts(
        component=None if component is None else component.id,
        duty=_duty_to_grade_for(component),
        part_class=UNKNOWN if component is None else component.part_class,
        material=part.material or (UNKNOWN if component is None else component.material),
        findings=tuple((finding.kind, finding.step, finding.seen) for finding in findings),
        looks=tuple(look.seen for look in looks),
        readings={reading.name: reading.value for reading in readings},
    )


def _duty_to_grade_for(component: Component | None) -> Duty:
    """The duty a part is graded for: an older schedule may still have a duty that is too light for the class."""
    too_light = component is not None and load_vocabulary().too_light(component.duty, component.part_class)
    return "safety" if component is None or too_light else component.duty


class _HasPart(Protocol):
    @property
    def part(self) -> int | None: ...


_T = TypeVar("_T", bound=_HasPart)


def _group_by_part(things: Iterable[_T]) -> dict[int, list[_T]]:
    piles: defaultdict[int, list[_T]] = defaultdict(list)
    for thing in things:
        if thing.part is not None:
            piles[thing.part].append(thing)
    return piles


def _clear_absence(survey: Survey, change: Change, component: str | None) -> None:
    """Remove the note that a position is empty once a part fills it; "here but wrong" stays."""
    position = survey.store.row("SELECT state FROM position WHERE component = ?", [component])
    if position is not None and position["state"] != "wrong":
        change.remove("position", [component])


def _withdraw_stale_records(survey: Survey, change: Change, before: GradedPart, component: str | None) -> None:
    """Put aside records made while the part was taken for another component; the history keeps them.

    Looks that found nothing wrong go: whoever thought it was something else did not look where this part fails. So do
    readings that do not apply to the new component, and every maker's figure, which was for another part.
    Findings stay, because they were seen. But on a part that is not for safety "bare" may only have been the default,
    and no record tells: if the part is now a safety part, or unknown, such a finding counts as seen through a coat.
    """
    component_now = None if component is None else get_component(survey, component)
    valid_readings = {
        kind.id
        for kind in load_rulebook().readings_for(UNKNOWN if component_now is None else component_now.part_class)
        if kind.limit_for is None
    }
    for look in before.looks:
        change.update("look", [look.id], {"gone_at": change.at})
    for reading in before.readings:
        if reading.name not in valid_readings:
            change.update("reading", [reading.id], {"gone_at": change.at})
    bare_was_recorded = before.component is None or before.component.duty == "safety"
    if not bare_was_recorded and (component_now is None or component_now.duty == "safety"):
        for finding in before.findings:
            if finding.seen == "bare":
                change.update("finding", [finding.id], {"seen": "paint"})


def _validate_fields(survey: Survey, fields: Mapping[str, Any]) -> dict[str, Any]:
    validators: dict[str, Callable[[Any], object]] = {
        "component": lambda value: value is None or get_component(survey, value),
        "quantity": lambda value: validate_count("quantity of a part", value),
        "inside": lambda value: value is None or require_live_row(survey, "part", value),
        "material": _validate_material,
    }
    for name, value in fields.items():
        if name in validators:
            validators[name](value)
    return {name: value if name in validators else validate_text(name, value) for name, value in fields.items()}


def _require_no_circle(survey: Survey, part_id: int, inside: int | None) -> None:
    """Refuse a part inside itself, or inside a part that is inside it, at any depth."""
    holders = {part.id: part.inside for part in fetch_parts(survey.store)}
    holder, visited = inside, set[int]()
    while holder is not None and holder not in visited:
        if holder == part_id:
            raise BadValue(
                f"Part {part_id} cannot sit in part {inside}: that one sits in part {part_id}."
                if inside != part_id
                else "A part does not sit inside itself.",
                "Say of one of them that it sits in nothing, or in something else.",
            )
        visited.add(holder)
        holder = holders.get(holder)


def _validate_material(material: str | None) -> None:
    words = load_vocabulary().material
    if material is not None and material not in words:
        raise BadValue(f"{material!r} is no material family.", "Say one of: " + ", ".join(words) + ".")


def describe_own_grade(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What an own grade's row is, in words."""
    return f"{rows[0]['grade']}, {describe_part_no(survey, rows[0]['part'])}"


def describe_part(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of parts are, in words."""
    return ", ".join(dict.fromkeys(describe_part_no(survey, row["id"]) for row in rows[:3]))
