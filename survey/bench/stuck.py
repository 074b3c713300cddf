"""What is stuck, seized or snapped: recorded on its part, scored, and told what to try next."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from survey import knowledge
from survey.bench.order import plan
from survey.bench.parts import facts_of, parts
from survey.bench.row_words import part_words
from survey.bench.said import prove_text
from survey.bench.survey import Survey, put_aside, standing
from survey.errors import BadValue
from survey.folder.sticking import stuck_things
from survey.folder.verb import Verb
from survey.gauge.stuck import Holder, Removal, Score, Stuck, prove, score
from survey.model import GradedPart
from survey.planning.order import Plan
from survey.planning.waiting import Waiting, waiting_for

if TYPE_CHECKING:
    from survey.paper.stuck_lines import StuckLine

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


def removal() -> Removal:
    """The scale: what can be seen of a stuck thing, the ways to get it out, the bands."""
    return knowledge.removal()


def stuck(survey: Survey, part_id: int | None = None) -> list[StuckThing]:
    """Every stuck thing, or those on one part: what is not out yet first, the hardest of those first."""
    graded = {one.part.id: one for one in parts(survey)}
    recorded = [one for one in stuck_things(survey.store) if part_id is None or one.part == part_id]
    order = plan(survey) if recorded else Plan()
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
    standing(survey, "part", part_id)
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
    standing(survey, "stuck", stuck_id)
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
    put_aside(survey, "stuck", stuck_id, REMOVE_STUCK)


def _the(survey: Survey, stuck_id: int) -> Stuck:
    return next(one for one in stuck_things(survey.store) if one.id == stuck_id)


def _proved(fields: dict[str, Any], thing: str, conditions: Iterable[str], tried: Iterable[str]) -> dict[str, Any]:
    conditions, tried = list(dict.fromkeys(conditions)), list(dict.fromkeys(tried))
    prove(knowledge.removal(), thing, conditions, tried)
    said: dict[str, Any] = {name: prove_text(name, fields[name]) for name in _TEXTS if name in fields}
    if said.get("what") == "":
        raise BadValue("Nobody said what is stuck.", "Name it in a few words, like: exhaust stud, left.")
    told = {"thing": thing, "conditions": json.dumps(conditions), "tried": json.dumps(tried)}
    said |= {name: value for name, value in told.items() if name in fields}
    return said | ({"out": int(bool(fields["out"]))} if "out" in fields else {})


def _scored(said: Stuck, graded: GradedPart, order: Plan) -> StuckThing:
    facts = facts_of(graded)
    holder = Holder(facts.duty, facts.part_class, facts.material)
    found = score(knowledge.removal(), said.thing, said.conditions, said.tried, holder)
    return StuckThing(said, graded, found, waiting_for(order, graded.part.component or ""))


def stuck_line(one: StuckThing) -> StuckLine:
    """A stuck thing in words: what it is with its points, why, what was tried and what next, the cautions."""
    from survey.paper.stuck_lines import stuck_line as line_of

    return line_of(one.said, one.score, one.waiting)


def describe_stuck(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a stuck thing's row is, in words."""
    return f"{rows[0]['what']}, {part_words(survey, rows[0]['part'])}"
