"""What is stuck, seized or snapped: recorded on its part, scored, with what to try next."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from survey.build_order.plan import Plan
from survey.build_order.verbs import get_plan
from survey.build_order.waiting import Waiting, find_waiting_steps
from survey.errors import BadValue
from survey.model.parts import GradedPart
from survey.model.stuck import Stuck
from survey.model.verb import Verb
from survey.parts.verbs import get_facts, list_parts
from survey.store.row_words import describe_part_no
from survey.store.survey import Survey, put_row_aside, require_live_row
from survey.stuck.data import load_removal_scale
from survey.stuck.records import fetch_stuck
from survey.stuck.removal import Holder, RemovalScale, Score, score_removal, validate_record
from survey.validation import validate_text

if TYPE_CHECKING:
    from survey.stuck.printed import StuckLine

STUCK_FIELDS = ("what", "thing", "conditions", "tried", "holds", "note", "out")
_TEXTS = ("what", "holds", "note")

ADD_STUCK = Verb("add stuck", "Stuck thing recorded")
CHANGE_STUCK = Verb("change stuck", "Stuck thing noted")
STUCK_THING_OUT = Verb("stuck thing out", "It is out")
REMOVE_STUCK = Verb("remove stuck", "Stuck thing put aside")
STUCK_VERBS = (ADD_STUCK, CHANGE_STUCK, STUCK_THING_OUT, REMOVE_STUCK)


@dataclass(frozen=True, slots=True)
class StuckThing:
    """A stuck thing with its score, and the steps of the dry build that wait for the part it is in."""

    said: Stuck
    part: GradedPart
    score: Score
    waiting: Waiting


def get_removal_scale() -> RemovalScale:
    """The scale: conditions of a stuck thing, ways to get it out, bands of points."""
    return load_removal_scale()


def list_stuck(survey: Survey, part_id: int | None = None) -> list[StuckThing]:
    """Every stuck thing, or those on one part: those not out yet first, the hardest first."""
    graded = {graded_part.part.id: graded_part for graded_part in list_parts(survey)}
    recorded = [stuck for stuck in fetch_stuck(survey.store) if part_id is None or stuck.part == part_id]
    plan = get_plan(survey) if recorded else Plan()
    things = [_score_stuck(stuck, graded[stuck.part], plan) for stuck in recorded]
    return sorted(things, key=lambda thing: (thing.said.out, -thing.score.total, thing.said.id))


def add_stuck(
    survey: Survey,
    part_id: int,
    what: str,
    *,
    thing: str = "fastener",
    conditions: Iterable[str] = (),
    tried: Iterable[str] = (),
    holds: str = "",
    note: str = "",
) -> Stuck:
    """Record a stuck thing on a part.

    Args:
        what: its name, in free words. thing: fastener, spindle or tube.
        conditions, tried: ids of conditions and ways in the removal scale. holds: what waits for it, in free words.

    Raises:
        NoSuchThing: no such part.
        BadValue: no name, an unknown word, or two conditions that exclude each other.
    """
    require_live_row(survey, "part", part_id)
    fields = {"what": what, "thing": thing, "conditions": conditions, "tried": tried, "holds": holds, "note": note}
    values = _validate_fields(fields, thing, conditions, tried)
    with survey.store.change(ADD_STUCK, survey.by) as change:
        row = change.insert("stuck", {"part": part_id, **values, "by": survey.by, "at": change.at})
    return _get_stuck(survey, row["id"])


def change_stuck(survey: Survey, stuck_id: int, **fields: Any) -> Stuck:
    """Change fields of a stuck thing. Fields: ``STUCK_FIELDS``; ``out`` once it is out.

    Raises:
        NoSuchThing: no such stuck thing.
        BadValue: as for ``add_stuck``, or an unknown field.
    """
    require_live_row(survey, "stuck", stuck_id)
    before = _get_stuck(survey, stuck_id)
    unknown = sorted(set(fields) - set(STUCK_FIELDS))
    if unknown:
        raise BadValue(f"A stuck thing has no {unknown[0]!r}.", "It has: " + ", ".join(STUCK_FIELDS) + ".")
    now = {name: fields.get(name, getattr(before, name)) for name in ("thing", "conditions", "tried")}
    changes = _validate_fields(fields, now["thing"], now["conditions"], now["tried"])
    verb = STUCK_THING_OUT if fields.get("out") and not before.out else CHANGE_STUCK
    with survey.store.change(verb, survey.by) as change:
        change.update("stuck", [stuck_id], {**changes, "by": survey.by, "at": change.at})
    return _get_stuck(survey, stuck_id)


def remove_stuck(survey: Survey, stuck_id: int) -> None:
    """Put a stuck thing aside that was recorded by mistake; the history keeps it."""
    put_row_aside(survey, "stuck", stuck_id, REMOVE_STUCK)


def _get_stuck(survey: Survey, stuck_id: int) -> Stuck:
    return next(stuck for stuck in fetch_stuck(survey.store) if stuck.id == stuck_id)


def _validate_fields(
    fields: dict[str, Any], thing: str, conditions: Iterable[str], tried: Iterable[str]
) -> dict[str, Any]:
    conditions, tried = list(dict.fromkeys(conditions)), list(dict.fromkeys(tried))
    validate_record(load_removal_scale(), thing, conditions, tried)
    values: dict[str, Any] = {name: validate_text(name, fields[name]) for name in _TEXTS if name in fields}
    if values.get("what") == "":
        raise BadValue("Nobody said what is stuck.", "Name it in a few words, like: exhaust stud, left.")
    choices = {"thing": thing, "conditions": json.dumps(conditions), "tried": json.dumps(tried)}
    values |= {name: value for name, value in choices.items() if name in fields}
    return values | ({"out": int(bool(fields["out"]))} if "out" in fields else {})


def _score_stuck(stuck: Stuck, graded: GradedPart, plan: Plan) -> StuckThing:
    facts = get_facts(graded)
    holder = Holder(facts.duty, facts.part_class, facts.material)
    score = score_removal(load_removal_scale(), stuck.thing, stuck.conditions, stuck.tried, holder)
    return StuckThing(stuck, graded, score, find_waiting_steps(plan, graded.part.component or ""))


def make_stuck_line(stuck_thing: StuckThing) -> StuckLine:
    """A stuck thing in words: what it is with its points, why, what was tried and what next, the cautions."""
    from survey.stuck.printed import stuck_line

    return stuck_line(stuck_thing.said, stuck_thing.score, stuck_thing.waiting)


def describe_stuck(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a stuck thing's row is, in words."""
    return f"{rows[0]['what']}, {describe_part_no(survey, rows[0]['part'])}"
