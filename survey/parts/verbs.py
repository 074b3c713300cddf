"""Parts: what was found, what is wrong with it, and what the rules make of that."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from survey.errors import BadValue, NextStep, NoSuchThing
from survey.grading.data import load_rulebook
from survey.grading.facts import UNKNOWN, PartFacts
from survey.grading.rulebook import Rulebook
from survey.grading.verdict import judge
from survey.model.grading import GRADES, Grade, Verdict
from survey.model.parts import Finding, GradedPart, Look, OwnGrade, Part, Reading
from survey.model.photos import Mark
from survey.model.schedule import Component, Duty
from survey.model.verb import Verb
from survey.parts.records import fetch_findings, fetch_looks, fetch_own_grades, fetch_parts, fetch_readings
from survey.photos.records import fetch_marks
from survey.photos.verbs import link_photo
from survey.schedule.verbs import get_component as component_of
from survey.schedule.verbs import list_components
from survey.store.database import Change
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey, Touched, in_one_transaction, require_live_row
from survey.validation import validate_count, validate_text
from survey.vocabulary import load_vocabulary

MOST_JUDGED = 50_000
"""Verdicts kept: the same facts are judged once while a survey is open."""

PART_FIELDS = ("component", "label", "quantity", "inside", "material", "box", "note")

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
    """Record one physical thing found. ``component`` None: nobody knows yet what it is.

    Raises:
        NoSuchThing: no such component, photo or holding part.
        BadValue: quantity below 1, or no such material.
    """
    fields = {
        "component": component, "label": label, "quantity": quantity, "inside": inside,
        "material": material, "box": box, "note": note,
    }  # fmt: skip
    fields = _proved(survey, fields)
    shown = list(dict.fromkeys(photos))
    for photo_id in shown:
        require_live_row(survey, "photo", photo_id)
    with survey.store.change(ADD_PART, survey.by) as change:
        row = change.insert("part", {**fields, "added_at": change.at})
        for photo_id in shown:
            link_photo(change, row["id"], photo_id)
        _take_back_absence(survey, change, component)
    return get_part(survey, row["id"]).part


@in_one_transaction
def change_part(survey: Survey, part_id: int, **fields: Any) -> Part:
    """Change what is written of a part. Fields: ``PART_FIELDS``.

    A part that turns out to be another component keeps its findings and loses, in the same act, what can no longer
    speak for it: see ``_taken_for_another``.

    Raises:
        NoSuchThing, BadValue: as for ``add_part``.
    """
    before = get_part(survey, part_id)
    unknown = sorted(set(fields) - set(PART_FIELDS))
    if unknown:
        raise BadValue(f"A part has no {unknown[0]!r}.", "It has: " + ", ".join(PART_FIELDS) + ".")
    changes = _proved(survey, fields)
    _prove_no_ring(survey, part_id, changes.get("inside"))
    if changes:
        with survey.store.change(CHANGE_PART, survey.by) as change:
            change.update("part", [part_id], changes)
            if changes.get("component", before.part.component) != before.part.component:
                _taken_for_another(survey, change, before, changes["component"])
            _take_back_absence(survey, change, changes.get("component"))
    return get_part(survey, part_id).part


@in_one_transaction
def remove_part(survey: Survey, part_id: int) -> None:
    """Put a part aside that was recorded by mistake; its photos wait again, the history keeps everything.

    Raises:
        NoSuchThing: no such part.
        BadValue: it is out with a trade.
    """
    require_live_row(survey, "part", part_id)
    sent = survey.store.rows(_IN_BATCHES, [part_id])
    if any(row["state"] == "out" and row["came_back"] is None for row in sent):
        raise BadValue(
            f"Part {part_id} is out with a trade.", "Take it back in first, or say that it did not come back."
        )
    with survey.store.change(REMOVE_PART, survey.by) as change:
        change.update("part", [part_id], {"gone_at": change.at})
        for row in survey.store.rows("SELECT id FROM part WHERE inside = ? AND gone_at IS NULL", [part_id]):
            change.update("part", [row["id"]], {"inside": None})
        for row in survey.store.rows("SELECT id FROM mark WHERE part = ? AND gone_at IS NULL", [part_id]):
            change.update("mark", [row["id"]], {"gone_at": change.at})
        for row in sent:
            if row["state"] == "draft":
                change.update("batch_item", [row["id"]], {"gone_at": change.at})


_IN_BATCHES = (
    "SELECT batch_item.id, batch_item.came_back, batch.state FROM batch_item JOIN batch ON batch.id = batch_item.batch"
    " WHERE batch_item.part = ? AND batch_item.gone_at IS NULL AND batch.gone_at IS NULL"
)


def set_own_grade(survey: Survey, part_id: int, grade: Grade | None, reason: str = "") -> OwnGrade | None:
    """Set the owner's own grade with a reason; it stands beside the ruling. ``None`` takes it back.

    Raises:
        BadValue: no such grade, or no reason.
    """
    require_live_row(survey, "part", part_id)
    if grade is not None and grade not in GRADES:
        raise BadValue(f"{grade!r} is no grade.", "Say one of: " + ", ".join(GRADES) + ".")
    because = validate_text("reason", reason)
    if grade is not None and not because:
        raise BadValue("An own grade needs a reason.", "Say in a few words why you differ from the rules.")
    with survey.store.change(SET_OWN_GRADE, survey.by) as change:
        if grade is None:
            change.remove("own_grade", [part_id])
        else:
            said = {"grade": grade, "reason": because, "by": survey.by, "at": change.at}
            if change.update("own_grade", [part_id], said) is None:
                change.insert("own_grade", {"part": part_id, **said})
    return fetch_own_grades(survey.store).get(part_id)


def list_parts(survey: Survey) -> list[GradedPart]:
    """Every part with its verdict, by number."""
    return list(_kept_parts(survey).values())


def get_part(survey: Survey, part_id: int) -> GradedPart:
    """One part with its verdict.

    Raises:
        NoSuchThing: no such part.
    """
    found = _kept_parts(survey).get(part_id)
    if found is None:
        raise NoSuchThing(f"There is no part {part_id} in this survey.", NextStep.SEE_PARTS)
    return found


def get_facts(one: GradedPart) -> PartFacts:
    """What the rules are told of a part."""
    return _facts(one.part, one.component, one.findings, one.looks, one.readings)


@dataclass(frozen=True, slots=True)
class _Said:
    findings: Mapping[int, list[Finding]]
    looks: Mapping[int, list[Look]]
    readings: Mapping[int, list[Reading]]
    marks: Mapping[int, list[Mark]]
    own_grades: Mapping[int, OwnGrade]


PART_TABLES = (
    "part", "component", "part_photo", "photo", "finding", "finding_photo", "look", "look_photo", "reading", "mark",
    "own_grade",
)  # fmt: skip
"""The tables that ``parts`` is worked out from; whatever keeps graded parts keeps them no longer than these stand."""


def _kept_parts(survey: Survey) -> Mapping[int, GradedPart]:
    """Every part by its number, graded; worked out again only once something of them has changed."""
    return survey.kept(
        "parts", PART_TABLES, lambda: _graded(survey, None), lambda kept, touched: _mended(survey, kept, touched)
    )


def _mended(survey: Survey, kept: Mapping[int, GradedPart], touched: list[Touched]) -> Mapping[int, GradedPart] | None:
    """The parts with those graded anew that the written rows speak of; None where that may be any of them."""
    numbers: set[int | None] = set()
    for table, row in touched:
        if table == "component":
            return None
        if table == "photo":
            shown = survey.store.rows("SELECT part FROM part_photo WHERE photo = ?", [row["id"]])
            numbers.update(link["part"] for link in shown)
        elif table in ("finding_photo", "look_photo"):
            said = table.removesuffix("_photo")
            told = survey.store.row(f'SELECT part FROM "{said}" WHERE id = ?', [row[said]])
            numbers.add(told["part"] if told else None)
        else:
            numbers.add(row["id"] if table == "part" else row["part"])
    numbers.update(mark.part for one in kept.values() for mark in one.marks if mark.id in _marks_of(touched))
    chosen = sorted(number for number in numbers if number is not None)
    return dict(sorted({**_without(kept, chosen), **_graded(survey, chosen)}.items()))


def _marks_of(touched: list[Touched]) -> set[int]:
    """Marks that were written: one may have pointed at another part before."""
    return {row["id"] for table, row in touched if table == "mark"}


def _without(kept: Mapping[int, GradedPart], numbers: Iterable[int]) -> dict[int, GradedPart]:
    left = dict(kept)
    for number in numbers:
        left.pop(number, None)
    return left


def _graded(survey: Survey, numbers: Sequence[int] | None) -> dict[int, GradedPart]:
    book = load_rulebook()
    components = {one.id: one for one in list_components(survey)}
    said = _Said(
        _by_part(fetch_findings(survey.store, numbers)),
        _by_part(fetch_looks(survey.store, numbers)),
        _by_part(fetch_readings(survey.store, numbers)),
        _by_part(fetch_marks(survey.store, parts=numbers)),
        fetch_own_grades(survey.store),
    )
    judged = survey.judged
    if len(judged) > MOST_JUDGED:
        judged.clear()
    return {
        one.id: _grade_one(book, one, components.get(one.component or ""), said, judged)
        for one in fetch_parts(survey.store, numbers)
    }


def _grade_one(
    book: Rulebook, one: Part, component: Component | None, said: _Said, judged: dict[object, Verdict]
) -> GradedPart:
    findings, looks = said.findings.get(one.id, []), said.looks.get(one.id, [])
    readings = said.readings.get(one.id, [])
    facts = _facts(one, component, findings, looks, readings)
    verdict = judged.get(facts.key)
    if verdict is None:
        verdict = judged[facts.key] = judge(book, facts)
    return GradedPart(
        part=one,
        component=component,
        verdict=verdict,
        own_grade=said.own_grades.get(one.id),
        findings=tuple(findings),
        looks=tuple(looks),
        readings=tuple(readings),
        marks=tuple(said.marks.get(one.id, [])),
    )


def _facts(
    one: Part,
    component: Component | None,
    findings: Iterable[Finding],
    looks: Iterable[Look],
    readings: Iterable[Reading],
) -> PartFacts:
    return PartFacts(
        component=None if component is None else component.id,
        duty=_duty(component),
        part_class=UNKNOWN if component is None else component.part_class,
        material=one.material or (UNKNOWN if component is None else component.material),
        findings=tuple((finding.kind, finding.step, finding.seen) for finding in findings),
        looks=tuple(look.seen for look in looks),
        readings={reading.name: reading.value for reading in readings},
    )


def _duty(component: Component | None) -> Duty:
    """The duty a part is graded for: an older schedule may still hold one that is too light for its class."""
    too_light = component is not None and load_vocabulary().too_light(component.duty, component.part_class)
    return "safety" if component is None or too_light else component.duty


class _OfPart(Protocol):
    @property
    def part(self) -> int | None: ...


_T = TypeVar("_T", bound=_OfPart)


def _by_part(things: Iterable[_T]) -> dict[int, list[_T]]:
    piles: defaultdict[int, list[_T]] = defaultdict(list)
    for thing in things:
        if thing.part is not None:
            piles[thing.part].append(thing)
    return piles


def _take_back_absence(survey: Survey, change: Change, component: str | None) -> None:
    """A part that answers to a position ends what was said of its absence; "here but wrong" stays."""
    said = survey.store.row("SELECT state FROM position WHERE component = ?", [component])
    if said is not None and said["state"] != "wrong":
        change.remove("position", [component])


def _taken_for_another(survey: Survey, change: Change, before: GradedPart, component: str | None) -> None:
    """Put aside what was said while the part was taken for something else; the history keeps it.

    A look that found nothing wrong goes: whoever thought it was something else did not look where this one fails.
    So do the readings one does not take on this one, and every maker's figure, which was for another part.
    Findings stay, for they were seen. But on a part that is not for safety "bare" may only have been assumed, and no
    record tells: where it becomes a safety part, or unknown, such a finding counts as seen through a coat from now on.
    """
    now = None if component is None else component_of(survey, component)
    kept = {
        kind.id
        for kind in load_rulebook().readings_for(UNKNOWN if now is None else now.part_class)
        if kind.limit_for is None
    }
    for look in before.looks:
        change.update("look", [look.id], {"gone_at": change.at})
    for reading in before.readings:
        if reading.name not in kept:
            change.update("reading", [reading.id], {"gone_at": change.at})
    bare_was_said = before.component is None or before.component.duty == "safety"
    if not bare_was_said and (now is None or now.duty == "safety"):
        for finding in before.findings:
            if finding.seen == "bare":
                change.update("finding", [finding.id], {"seen": "paint"})


def _proved(survey: Survey, fields: Mapping[str, Any]) -> dict[str, Any]:
    proofs: dict[str, Callable[[Any], object]] = {
        "component": lambda value: value is None or component_of(survey, value),
        "quantity": lambda value: validate_count("quantity of a part", value),
        "inside": lambda value: value is None or require_live_row(survey, "part", value),
        "material": _prove_material,
    }
    for name, value in fields.items():
        if name in proofs:
            proofs[name](value)
    return {name: value if name in proofs else validate_text(name, value) for name, value in fields.items()}


def _prove_no_ring(survey: Survey, part_id: int, inside: int | None) -> None:
    """A part does not sit in itself, nor in what sits in it, however deep."""
    holders = {one.id: one.inside for one in fetch_parts(survey.store)}
    holder, passed = inside, set[int]()
    while holder is not None and holder not in passed:
        if holder == part_id:
            raise BadValue(
                f"Part {part_id} cannot sit in part {inside}: that one sits in part {part_id}."
                if inside != part_id
                else "A part does not sit inside itself.",
                "Say of one of them that it sits in nothing, or in something else.",
            )
        passed.add(holder)
        holder = holders.get(holder)


def _prove_material(material: str | None) -> None:
    words = load_vocabulary().material
    if material is not None and material not in words:
        raise BadValue(f"{material!r} is no material family.", "Say one of: " + ", ".join(words) + ".")


def describe_own_grade(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What an own grade's row is, in words."""
    return f"{rows[0]['grade']}, {describe_part_no(survey, rows[0]['part'])}"


def describe_part(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of parts are, in words."""
    return ", ".join(dict.fromkeys(describe_part_no(survey, row["id"]) for row in rows[:3]))
