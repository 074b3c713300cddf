"""Does a part belong to this machine: evidence recorded and weighed, and what can be passed on."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from survey.belonging.data import load_belonging_scale
from survey.belonging.records import fetch_evidence, fetch_patterns
from survey.belonging.weighing import (
    Belonging,
    Weighing,
    describe_sum,
    find_conflicts,
    find_reason_to_hold,
    keeps_its_place,
    list_kinds_present,
    require_kind,
)
from survey.belonging.weighing import weigh_evidence as weigh_kinds
from survey.build_order.verbs import list_lacks
from survey.errors import NoSuchThing
from survey.model.belonging import Evidence
from survey.model.parts import GradedPart
from survey.model.schedule import Component
from survey.model.verb import Verb
from survey.parts.verbs import PART_TABLES, list_parts
from survey.parts.verbs import get_part as graded_part
from survey.photos.verbs import link_photo
from survey.schedule.verbs import get_component as component_of
from survey.schedule.verbs import list_components
from survey.store.row_words import describe_part_no, describe_position_id
from survey.store.survey import Survey, in_one_transaction, put_row_aside, require_live_row
from survey.validation import validate_text

_OF_BELONGING = (*PART_TABLES, "machine", "position", "want", "evidence", "pattern", "batch", "batch_item")

ADD_EVIDENCE = Verb("add evidence", "Evidence recorded")
REMOVE_EVIDENCE = Verb("remove evidence", "Evidence put aside")
KEEP_AS_PATTERN = Verb("keep as pattern", "Kept as a pattern")
KEEP_NO_LONGER = Verb("keep no longer", "No pattern any more")
BELONGING_VERBS = (ADD_EVIDENCE, REMOVE_EVIDENCE, KEEP_AS_PATTERN, KEEP_NO_LONGER)


@dataclass(frozen=True, slots=True)
class BelongingPart:
    """A part and whether it belongs.

    ``said``: what was recorded; ``weighed``: what that and its findings come to. ``conflicts``: what cannot all be so,
    in sentences. ``pattern``: the component it is kept as a pattern for. ``held``: why it is not passed on although it
    is of another machine; empty where it can be.
    """

    part: GradedPart
    said: tuple[Evidence, ...]
    weighed: Weighing
    conflicts: tuple[str, ...] = ()
    pattern: Component | None = None
    held: str = ""

    @property
    def other_machine(self) -> bool:
        """Whether it is of another machine, so that it is passed on some day."""
        return self.weighed.verdict.id == "another-machine"

    @property
    def arithmetic(self) -> str:
        """The sum as it was made, or empty without evidence."""
        return describe_sum(self.weighed)

    @property
    def caution(self) -> str:
        """What whoever takes it is to be told: a safety part is never passed on as fit. Empty where nothing is."""
        safety = self.part.component is None or self.part.component.duty == "safety"
        if not self.other_machine or not safety:
            return ""
        return "Somebody's safety may hang on it. Tell whoever takes it how it was graded, and pass nothing on as fit."

    @property
    def settles(self) -> str:
        """What would settle it, as a sentence with its caution; empty where nothing would or it is settled."""
        look = self.weighed.settles
        return f"{look.ask}. {look.careful}".strip() if look else ""


def get_belonging_scale() -> Belonging:
    """The scale: what one can look at, the kinds of evidence with their weights, the answers."""
    return load_belonging_scale()


def list_belongings(survey: Survey) -> tuple[BelongingPart, ...]:
    """Every part with whether it belongs, by number."""
    return survey.kept("belongings", _OF_BELONGING, lambda: _belongings(survey))


def get_belonging(survey: Survey, part_id: int) -> BelongingPart:
    """Whether one part belongs.

    Raises:
        NoSuchThing: no such part.
    """
    graded_part(survey, part_id)
    return next(one for one in list_belongings(survey) if one.part.part.id == part_id)


def list_parts_to_pass_on(survey: Survey) -> tuple[BelongingPart, ...]:
    """The parts of other machines: those that can be passed on, then those held back, each by number."""
    return tuple(sorted((one for one in list_belongings(survey) if one.other_machine), key=lambda one: bool(one.held)))


@in_one_transaction
def add_evidence(
    survey: Survey, part_id: int, kind: str, *, note: str = "", who: str = "", photo: int | None = None
) -> Evidence:
    """Record something for or against a part. ``who``: who said it; ``photo``: one that shows it.

    Raises:
        NoSuchThing: no such part or photo.
        BadValue: no such kind of evidence.
    """
    require_live_row(survey, "part", part_id)
    known = require_kind(load_belonging_scale(), kind)
    said = {"kind": known.id, "note": validate_text("note", note), "who": validate_text("who", who)}
    if photo is not None:
        require_live_row(survey, "photo", photo)
    with survey.store.change(ADD_EVIDENCE, survey.by) as change:
        row = change.insert(
            "evidence", {"part": part_id, **said, "photo": photo, "by": survey.by, "at": change.at}
        )  # fmt: skip
        if photo is not None:
            link_photo(change, part_id, photo)
    return next(one for one in fetch_evidence(survey.store) if one.id == row["id"])


def remove_evidence(survey: Survey, evidence_id: int) -> None:
    """Put evidence aside that does not hold; the history keeps it."""
    put_row_aside(survey, "evidence", evidence_id, REMOVE_EVIDENCE)


@in_one_transaction
def keep_as_pattern(survey: Survey, part_id: int, component_id: str | None) -> None:
    """Keep a part as a pattern for a component; ``None``: it is needed for that no longer.

    Raises:
        NoSuchThing: no such part or component, or it was no pattern.
    """
    require_live_row(survey, "part", part_id)
    if component_id is None:
        if part_id not in fetch_patterns(survey.store):
            raise NoSuchThing(f"Part {part_id} is kept as no pattern.", "Nothing was changed.")
        with survey.store.change(KEEP_NO_LONGER, survey.by) as change:
            change.remove("pattern", [part_id])
        return
    said = {"component": component_of(survey, component_id).id, "by": survey.by}
    with survey.store.change(KEEP_AS_PATTERN, survey.by) as change:
        if change.update("pattern", [part_id], {**said, "at": change.at}) is None:
            change.insert("pattern", {"part": part_id, **said, "at": change.at})


_Answering = defaultdict[str, list[tuple[GradedPart, Weighing]]]


@lru_cache(4096)
def _weigh(kinds: frozenset[str]) -> Weighing:
    """What these kinds come to; the scale never changes while the program runs."""
    return weigh_kinds(load_belonging_scale(), kinds)


def _belongings(survey: Survey) -> tuple[BelongingPart, ...]:
    said: defaultdict[int, list[Evidence]] = defaultdict(list)
    for one in fetch_evidence(survey.store):
        said[one.part].append(one)
    answering: _Answering = defaultdict(list)
    found = []
    for graded in list_parts(survey):
        findings = ((finding.kind, finding.step) for finding in graded.findings)
        weighed = _weigh(list_kinds_present(load_belonging_scale(), said[graded.part.id], findings))
        found.append(BelongingPart(graded, tuple(said[graded.part.id]), weighed))
        answering[graded.part.component or ""].append((graded, weighed))
    return _with_positions(survey, found, answering)


def _with_positions(survey: Survey, found: list[BelongingPart], answering: _Answering) -> tuple[BelongingPart, ...]:
    """The same parts with what their positions say of them: conflicts, and why one is kept for now."""
    components = {one.id: one for one in list_components(survey)}
    kept = fetch_patterns(survey.store)
    still: Counter[str] = Counter()
    for name, pile in answering.items():
        still[name] = sum(
            one.part.quantity
            for one, weighed in pile
            if weighed.verdict.id != "another-machine" and keeps_its_place(one)
        )
    lacking = list_lacks(survey) if any(one.other_machine for one in found) else {}
    done = []
    for one in found:
        own, pattern = one.part.component, components.get(kept.get(one.part.part.id, ""))
        against = find_conflicts(own, answering[own.id]) if own is not None and not one.other_machine else ()
        positions = [position for position in (own, pattern) if position is not None]
        held = find_reason_to_hold(positions, lacking, still) if one.other_machine else ""
        done.append(BelongingPart(one.part, one.said, one.weighed, against, pattern, held))
    return tuple(done)


def describe_evidence(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a row of evidence is, in words."""
    return f"{load_belonging_scale().kinds[rows[0]['kind']].label}, {describe_part_no(survey, rows[0]['part'])}"


def describe_pattern(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a pattern's row is, in words."""
    return f"{describe_part_no(survey, rows[0]['part'])}, for {describe_position_id(survey, rows[0]['component'])}"
