"""What is stuck, seized or snapped: recorded on its part, scored, and told what to try next."""

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
from survey.stuck.removal import Holder, Removal, Score, score_removal, validate_record
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


def get_removal_scale() -> Removal:
    """The scale: what can be seen of a stuck thing, the ways to get it out, the bands."""
    return load_removal_scale()


def list_stuck(survey: Survey, part_id: int | None = None) -> list[StuckThing]:
    """Every stuck thing, or those on one part: what is not out yet first, the hardest of those first."""
    graded = {one.part.id: one for one in list_parts(survey)}
    recorded = [one for one in fetch_stuck(survey.store) if part_id is None or one.part == part_id]
    order = get_plan(survey) if recorded else Plan()
    found = [_scored(said, graded[said.part], order) for said in recorded]
    return sorted(found, key=lambda one: (one.said.out, -one.score.total, one.said.id))


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
        what: what it is, in words. thing: fastener, spindle or tube.
        conditions, tried: words of the removal scale. holds: what waits for it.

    Raises:
        NoSuchThing: no such part.
        BadValue: no name, an unknown word, or two conditions that exclude each other.
    """
    require_live_row(survey, "part", part_id)
    fields = {"what": what, "thing": thing, "conditions": conditions, "tried": tried, "holds": holds, "note": note}
    said = _proved(fields, thing, conditions, tried)
    with survey.store.change(ADD_STUCK, survey.by) as change:
        row = change.insert("stuck", {"part": part_id, **said, "by": survey.by, "at": change.at})
    return _the(survey, row["id"])


def change_stuck(survey: Survey, stuck_id: int, **fields: Any) -> Stuck:
    """Say something else of a stuck thing. Fields: ``STUCK_FIELDS``; ``out`` once it is out.

    Raises:
        NoSuchThing: no such stuck thing.
        BadValue: as for ``add_stuck``, or an unknown field.
    """
    require_live_row(survey, "stuck", stuck_id)
    before = _the(survey, stuck_id)
    unknown = sorted(set(fields) - set(STUCK_FIELDS))
    if unknown:
        raise BadValue(f"A stuck thing has no {unknown[0]!r}.", "It has: " + ", ".join(STUCK_FIELDS) + ".")
    now = {name: fields.get(name, getattr(before, name)) for name in ("thing", "conditions", "tried")}
    changes = _proved(fields, now["thing"], now["conditions"], now["tried"])
    verb = STUCK_THING_OUT if fields.get("out") and not before.out else CHANGE_STUCK
    with survey.store.change(verb, survey.by) as change:
        change.update("stuck", [stuck_id], {**changes, "by": survey.by, "at": change.at})
    return _the(survey, stuck_id)


def remove_stuck(survey: Survey, stuck_id: int) -> None:
    """Put a stuck thing aside that was recorded by mistake; the history keeps it."""
    put_row_aside(survey, "stuck", stuck_id, REMOVE_STUCK)


def _the(survey: Survey, stuck_id: int) -> Stuck:
    return next(one for one in fetch_stuck(survey.store) if one.id == stuck_id)


def _proved(fields: dict[str, Any], thing: str, conditions: Iterable[str], tried: Iterable[str]) -> dict[str, Any]:
    conditions, tried = list(dict.fromkeys(conditions)), list(dict.fromkeys(tried))
    validate_record(load_removal_scale(), thing, conditions, tried)
    said: dict[str, Any] = {name: validate_text(name, fields[name]) for name in _TEXTS if name in fields}
    if said.get("what") == "":
        raise BadValue("Nobody said what is stuck.", "Name it in a few words, like: exhaust stud, left.")
    told = {"thing": thing, "conditions": json.dumps(conditions), "tried": json.dumps(tried)}
    said |= {name: value for name, value in told.items() if name in fields}
    return said | ({"out": int(bool(fields["out"]))} if "out" in fields else {})


def _scored(said: Stuck, graded: GradedPart, order: Plan) -> StuckThing:
    facts = get_facts(graded)
    holder = Holder(facts.duty, facts.part_class, facts.material)
    found = score_removal(load_removal_scale(), said.thing, said.conditions, said.tried, holder)
    return StuckThing(said, graded, found, find_waiting_steps(order, graded.part.component or ""))


def make_stuck_line(one: StuckThing) -> StuckLine:
    """A stuck thing in words: what it is with its points, why, what was tried and what next, the cautions."""
    from survey.stuck.printed import stuck_line as line_of

    return line_of(one.said, one.score, one.waiting)


def describe_stuck(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a stuck thing's row is, in words."""
    return f"{rows[0]['what']}, {describe_part_no(survey, rows[0]['part'])}"
