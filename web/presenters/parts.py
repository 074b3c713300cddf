"""Parts by the names a person reads, with what the rules and the owner say of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from survey.grading.reasons import number_findings
from survey.model.grading import HARDEST_FIRST, Outcome
from survey.model.parts import Finding, FindingKind, GradedPart
from survey.model.schedule import Component
from survey.words import OUTCOME_WORDS

UNKNOWN = "Not yet known what they are"
"""The heading over parts that answer to no position of the schedule."""

PAGE_PARTS = 150

NOWHERE = "Nobody has said where"
"""The heading over parts that lie in no named place."""


@dataclass(frozen=True, slots=True)
class FindingLine:
    """A finding in words; ``label`` stands beside its marks: its number in its part, as in the report."""

    label: str
    finding: Finding
    kind: str
    step_name: str
    looks_like: str


def get_name(one: GradedPart) -> str:
    """What a part is called: the owner's own label, else its component's, else that nobody knows."""
    if one.part.label:
        return one.part.label
    return one.component.label if one.component else "Unknown part"


def list_telling_photos(one: GradedPart) -> list[int]:
    """The part's photos, the most telling first: those with most marks on it, then the later ones.

    A part is photographed in its box first and by itself afterwards.
    """
    marks = Counter(mark.photo for mark in one.marks)
    return sorted(one.part.photos, key=lambda photo: (-marks[photo], -photo))


def get_assembly(one: GradedPart) -> str:
    """The assembly a part stands under."""
    return one.component.assembly if one.component else UNKNOWN


def get_first_reason(one: GradedPart) -> str:
    """Why the part is graded so: the hardest ruling's reason."""
    return one.verdict.rulings[0].because if one.verdict.rulings else ""


def group_by_assembly(parts: Iterable[GradedPart], schedule: Sequence[Component]) -> dict[str, list[GradedPart]]:
    """The parts under their assemblies, in the schedule's order; unknown ones last."""
    order = {component.id: n for n, component in enumerate(schedule)}
    heads = dict.fromkeys(component.assembly for component in schedule)
    piles: dict[str, list[GradedPart]] = {name: [] for name in (*heads, UNKNOWN)}
    for one in sorted(parts, key=lambda one: (order.get(one.part.component or "", len(order)), one.part.id)):
        piles.setdefault(get_assembly(one), []).append(one)
    return {name: pile for name, pile in piles.items() if pile}


def arrange_parts(parts: Iterable[GradedPart], by: str, schedule: Sequence[Component]) -> dict[str, list[GradedPart]]:
    """The parts in piles by assembly, by grade (hardest first) or by where they lie."""
    parts = list(parts)
    if by == "grade":
        return {
            OUTCOME_WORDS[outcome]: pile
            for outcome in HARDEST_FIRST
            if (pile := [one for one in parts if one.verdict.outcome == outcome])
        }
    if by == "box":
        places = sorted({one.part.box for one in parts}, key=lambda box: (not box, box.casefold()))
        return {box or NOWHERE: [one for one in parts if one.part.box == box] for box in places}
    return group_by_assembly(parts, schedule)


def split_into_pages(
    piles: Mapping[str, list[GradedPart]], size: int = PAGE_PARTS
) -> list[dict[str, list[GradedPart]]]:
    """The piles in pages of that many parts, at least one page; a pile may go on over a page's end."""
    pages: list[dict[str, list[GradedPart]]] = [{}]
    room = size
    for name, pile in piles.items():
        for one in pile:
            if not room:
                pages.append({})
                room = size
            pages[-1].setdefault(name, []).append(one)
            room -= 1
    return pages


def group_components(schedule: Iterable[Component]) -> dict[str, list[Component]]:
    """The schedule under its assemblies."""
    piles: dict[str, list[Component]] = {}
    for component in schedule:
        piles.setdefault(component.assembly, []).append(component)
    return piles


def filter_parts(parts: Iterable[GradedPart], outcome: Outcome | None, wanted: str) -> list[GradedPart]:
    """The parts of that outcome whose words hold every word that is wanted."""
    words = wanted.casefold().split()
    return [
        one for one in parts if outcome in (None, one.verdict.outcome) and all(word in _words_of(one) for word in words)
    ]


def make_finding_lines(one: GradedPart, kinds: Mapping[str, FindingKind], letter: str = "") -> list[FindingLine]:
    """The part's findings in words; ``letter`` tells its numbers from those of another part in one picture."""
    numbers = number_findings(one.findings)
    return [_finding_line(f"{letter}{numbers[finding.id]}", finding, kinds[finding.kind]) for finding in one.findings]


def _finding_line(label: str, finding: Finding, kind: FindingKind) -> FindingLine:
    step = kind.steps[finding.step - 1]
    return FindingLine(label, finding, kind.label, step.name, step.looks_like)


def _words_of(one: GradedPart) -> str:
    said = [get_name(one), one.part.note, one.part.box, one.part.component or "", get_assembly(one)]
    if one.component:
        said += [one.component.label, *one.component.names]
    said += [finding.note for finding in one.findings]
    return " ".join(said).casefold()
