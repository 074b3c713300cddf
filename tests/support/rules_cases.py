"""The cases of survey/data/cases, read for the tests."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import survey
from survey.grading.facts import UNKNOWN, PartFacts
from survey.model.grading import Seen
from survey.model.schedule import Duty

CASES = Path(survey.__file__).parent / "data" / "cases"


@dataclass(frozen=True)
class Case:
    """What is known of a part, the rule that must speak, and where the part must end."""

    name: str
    rule: str
    outcome: str
    story: str
    facts: PartFacts


def facts_from(
    part: str, found: list[str] | None = None, look: list[str] | None = None, **readings: float
) -> PartFacts:
    """Facts from the short form of the case files: ``safety frame steel [component]``, ``crack 3 bare``."""
    words = part.split()
    duty, part_class, material = words[:3] if len(words) > 1 else ("safety", UNKNOWN, UNKNOWN)
    component = None if part == UNKNOWN else words[3] if len(words) > 3 else "OWN1"
    findings = []
    for finding in found or ():
        kind, step, seen = finding.split()
        findings.append((kind, int(step), cast(Seen, seen)))
    return PartFacts(
        component=component,
        duty=cast(Duty, duty),
        part_class=part_class,
        material=material,
        findings=tuple(findings),
        looks=tuple(cast(Seen, seen) for seen in look or ()),
        readings={name.replace("_", "-"): float(value) for name, value in readings.items()},
    )


def all_cases() -> list[Case]:
    """Every case of every file."""
    cases = []
    for path in sorted(CASES.glob("*.toml")):
        for n, raw in enumerate(tomllib.loads(path.read_text("utf-8"))["case"], 1):
            cases.append(_case(f"{path.stem}-{n}-{raw['rule']}", raw))
    return cases


def _case(name: str, raw: dict[str, Any]) -> Case:
    assert set(raw) <= {"rule", "outcome", "story", "part", "found", "look", "read"}, f"{name}: a word of no case"
    facts = facts_from(raw["part"], raw.get("found"), raw.get("look"), **raw.get("read", {}))
    return Case(name, raw["rule"], raw["outcome"], raw["story"], facts)
