"""Does a part belong to this machine: evidence recorded and weighed, and what can be passed on."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from survey.belonging.data import load_belonging_scale
from survey.belonging.records import fetch_evidence, fetch_patterns
from survey.belonging.weighing import (
    BelongingScale,
    Weighing,
    describe_sum,
    find_conflicts,
    find_reason_to_hold,
    list_kinds_present,
    needs_no_replacement,
    require_kind,
    weigh_evidence,
)
from survey.build_order.verbs import list_lacks
from survey.errors import NoSuchThing
from survey.model.belonging import Evidence
from survey.model.parts import GradedPart
from survey.model.schedule import Component
from survey.model.verb import Verb
from survey.parts.verbs import PART_TABLES, get_part, list_parts
from survey.photos.verbs import link_photo
from survey.schedule.verbs import get_component, list_components
from survey.store.row_words import describe_part_no, describe_position_id
from survey.store.survey import Survey, in_one_transaction, put_row_aside, require_live_row
from survey.validation import validate_text

_BELONGING_TABLES = (*PART_TABLES, "machine", "position", "want", "evidence", "pattern", "batch", "batch_item")

ADD_EVIDENCE = Verb("add evidence", "Evidence recorded")
REMOVE_EVIDENCE = Verb("remove evidence", "Evidence put aside")
KEEP_AS_PATTERN = Verb("keep as pattern", "Kept as a pattern")
KEEP_NO_LONGER = Verb("keep no longer", "No pattern any more")
BELONGING_VERBS = (ADD_EVIDENCE, REMOVE_EVIDENCE, KEEP_AS_PATTERN, KEEP_NO_LONGER)


@dataclass(frozen=True, slots=True)
class BelongingPart:
    """A part and whether it belongs.

    ``said``: the evidence recorded. ``weighed``: the answer from that evidence and the part's findings.
    ``conflicts``: records that contradict each other, in sentences. ``pattern``: the component it is kept as a pattern
    for. ``held``: why a part of another machine is not passed on yet; empty if it can be passed on.
    """

    part: GradedPart
    said: tuple[Evidence, ...]
    weighed: Weighing
    conflicts: tuple[str, ...] = ()
    pattern: Component | None = None
    held: str = ""

    @property
    def other_machine(self) -> bool:
        """Whether it is from another machine, so that it can be passed on some day."""
        return self.weighed.verdict.id == "another-machine"

    @property
    def arithmetic(self) -> str:
        """The sum with its terms; empty without evidence."""
        return describe_sum(self.weighed)

    @property
    def caution(self) -> str:
        """The caution for whoever takes it: a safety part is never passed on as fit. Empty if it needs none."""
        safety = self.part.component is None or self.part.component.duty == "safety"
        if not self.other_machine or not safety:
            return ""
        return "Somebody's safety may hang on it. Tell whoever takes it how it was graded, and pass nothing on as fit."

    @property
    def settles(self) -> str:
        """The observation that would settle it, as a sentence with its caution; empty if none would."""
        look = self.weighed.settles
        return f"{look.ask}. {look.careful}".strip() if look else ""


def get_belonging_scale() -> BelongingScale:
    """The scale: observations, kinds of evidence with their weights, answers."""
    return load_belonging_scale()


def list_belongings(survey: Survey) -> tuple[BelongingPart, ...]:
    """Every part with whether it belongs, by number."""
    return survey.kept("belongings", _BELONGING_TABLES, lambda: _make_belongings(survey))


def get_belonging(survey: Survey, part_id: int) -> BelongingPart:
    """Whether one part belongs.

    Raises:
        NoSuchThing: no such part.
    """
    get_part(survey, part_id)
    return next(belonging for belonging in list_belongings(survey) if belonging.part.part.id == part_id)


def list_parts_to_pass_on(survey: Survey) -> tuple[BelongingPart, ...]:
    """The parts of other machines: those that can be passed on, then those held back, each by number."""
    strangers = [belonging for belonging in list_belongings(survey) if belonging.other_machine]
    return tuple(sorted(strangers, key=lambda belonging: bool(belonging.held)))


@in_one_transaction
def add_evidence(
    survey: Survey, part_id: int, kind: str, *, note: str = "", who: str = "", photo: int | None = None
) -> Evidence:
    """Record evidence for or against a part. ``who``: who says so; ``photo``: one that shows it.

    Raises:
        NoSuchThing: no such part or photo.
        BadValue: no such kind of evidence.
    """
    require_live_row(survey, "part", part_id)
    evidence_kind = require_kind(load_belonging_scale(), kind)
    values = {"kind": evidence_kind.id, "note": validate_text("note", note), "who": validate_text("who", who)}
    if photo is not None:
        require_live_row(survey, "photo", photo)
    with survey.store.change(ADD_EVIDENCE, survey.by) as change:
        row = change.insert(
            "evidence", {"part": part_id, **values, "photo": photo, "by": survey.by, "at": change.at}
        )  # fmt: skip
        if photo is not None:
            link_photo(change, part_id, photo)
    return next(evidence for evidence in fetch_evidence(survey.store) if evidence.id == row["id"])


def remove_evidence(survey: Survey, evidence_id: int) -> None:
    """Put evidence aside that is wrong; the history keeps it."""
    put_row_aside(survey, "evidence", evidence_id, REMOVE_EVIDENCE)


@in_one_transaction
def keep_as_pattern(survey: Survey, part_id: int, component_id: str | None) -> None:
    """Keep a part as a pattern for a component; ``None``: it is no longer needed as a pattern.

    Raises:
        NoSuchThing: no such part or component, or the part was no pattern.
    """
    require_live_row(survey, "part", part_id)
    if component_id is None:
        if part_id not in fetch_patterns(survey.store):
            raise NoSuchThing(f"Part {part_id} is kept as no pattern.", "Nothing was changed.")
        with survey.store.change(KEEP_NO_LONGER, survey.by) as change:
            change.remove("pattern", [part_id])
        return
    values = {"component": get_component(survey, component_id).id, "by": survey.by}
    with survey.store.change(KEEP_AS_PATTERN, survey.by) as change:
        if change.update("pattern", [part_id], {**values, "at": change.at}) is None:
            change.insert("pattern", {"part": part_id, **values, "at": change.at})


_WeighedByComponent = defaultdict[str, list[tuple[GradedPart, Weighing]]]


@lru_cache(4096)
def _weigh_cached(kinds: frozenset[str]) -> Weighing:
    """The result of these kinds of evidence, cached: the scale never changes while the program runs."""
    return weigh_evidence(load_belonging_scale(), kinds)


def _make_belongings(survey: Survey) -> tuple[BelongingPart, ...]:
    evidence_by_part: defaultdict[int, list[Evidence]] = defaultdict(list)
    for evidence in fetch_evidence(survey.store):
        evidence_by_part[evidence.part].append(evidence)
    by_component: _WeighedByComponent = defaultdict(list)
    belongings = []
    for graded in list_parts(survey):
        findings = ((finding.kind, finding.step) for finding in graded.findings)
        weighed = _weigh_cached(list_kinds_present(load_belonging_scale(), evidence_by_part[graded.part.id], findings))
        belongings.append(BelongingPart(graded, tuple(evidence_by_part[graded.part.id]), weighed))
        by_component[graded.part.component or ""].append((graded, weighed))
    return _add_positions(survey, belongings, by_component)


def _add_positions(
    survey: Survey, belongings: list[BelongingPart], by_component: _WeighedByComponent
) -> tuple[BelongingPart, ...]:
    """The same parts with what depends on their positions: conflicts, patterns, and why a part is held back."""
    components = {component.id: component for component in list_components(survey)}
    pattern_of = fetch_patterns(survey.store)
    remaining: Counter[str] = Counter()
    for name, group in by_component.items():
        remaining[name] = sum(
            graded.part.quantity
            for graded, weighed in group
            if weighed.verdict.id != "another-machine" and needs_no_replacement(graded)
        )
    lacking = list_lacks(survey) if any(belonging.other_machine for belonging in belongings) else {}
    results = []
    for belonging in belongings:
        own, pattern = belonging.part.component, components.get(pattern_of.get(belonging.part.part.id, ""))
        conflicts = find_conflicts(own, by_component[own.id]) if own is not None and not belonging.other_machine else ()
        positions = [position for position in (own, pattern) if position is not None]
        held = find_reason_to_hold(positions, lacking, remaining) if belonging.other_machine else ""
        results.append(BelongingPart(belonging.part, belonging.said, belonging.weighed, conflicts, pattern, held))
    return tuple(results)


def describe_evidence(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a row of evidence is, in words."""
    return f"{load_belonging_scale().kinds[rows[0]['kind']].label}, {describe_part_no(survey, rows[0]['part'])}"


def describe_pattern(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a pattern's row is, in words."""
    return f"{describe_part_no(survey, rows[0]['part'])}, for {describe_position_id(survey, rows[0]['component'])}"
