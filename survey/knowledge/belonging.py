"""Reads what speaks for and against a part's belonging from survey/data/belonging.toml and proves it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any, TypeVar

from survey.knowledge.findings import finding_kinds
from survey.knowledge.vocabulary import data_text, fault, line_of, toml
from survey.planning.belongs import ANSWERS, SIDES, Belonging, Kind, Observation, Verdict

_FILE = "belonging.toml"
_SECTIONS = ("look", "kind", "verdict")
_SUMS = {"from": "least", "down_to": "most"}
_Row = TypeVar("_Row")
_Fault = tuple[str, str, str, Iterable[object]]


@lru_cache(maxsize=1)
def belonging() -> Belonging:
    """Evidence, weights and answers. Raises BrokenKnowledge at a faulty file."""
    return read_belonging(data_text(_FILE), {kind.id for kind in finding_kinds()})


def read_belonging(text: str, findings: Iterable[str], name: str = _FILE) -> Belonging:
    """The scale that stands in a TOML text, proved: known words only, every answer there, the sums in their order."""
    content = toml(text, name)
    for section in content:
        if section not in _SECTIONS:
            line = line_of(text, f"[[{section}]]")
            raise fault(name, line, section, "section", "there is no such section", _SECTIONS)
    looks = _rows(Observation, content, "look", text, name)
    kinds = _rows(Kind, content, "kind", text, name)
    verdicts = _rows(Verdict, content, "verdict", text, name)
    for row, cell, wrong, allowed in (*_of_kinds(kinds, looks, set(findings)), *_of_verdicts(verdicts)):
        raise fault(name, line_of(text, f'id = "{row}"'), row, cell, wrong, allowed)
    return Belonging(looks, {one.id: one for one in kinds}, {one.id: one for one in verdicts})


def _rows(kind: type[_Row], content: Mapping[str, Any], section: str, text: str, name: str) -> tuple[_Row, ...]:
    found = []
    for raw in content.get(section, []):
        try:
            found.append(kind(**{_SUMS.get(cell, cell): value for cell, value in raw.items()}))
        except TypeError as error:
            row = str(raw.get("id", "without an id"))
            allowed = tuple(kind.__annotations__)
            raise fault(name, line_of(text, f'id = "{row}"'), row, section, str(error), allowed) from error
    return tuple(found)


def _of_kinds(kinds: tuple[Kind, ...], looks: tuple[Observation, ...], findings: set[str]) -> Iterator[_Fault]:
    known, seen = [look.id for look in looks], set[str]()
    for kind in kinds:
        if kind.id in seen:
            yield kind.id, "id", "it is used already", ("an id of its own",)
        seen.add(kind.id)
        if kind.look not in known:
            yield kind.id, "look", f"{kind.look!r} is no observation", known
        if kind.side not in SIDES:
            yield kind.id, "side", f"{kind.side!r} is no side", SIDES
        if kind.weight < 0 or (kind.weight == 0) != (kind.side == "period"):
            yield kind.id, "weight", f"{kind.weight}", ("more than nought", "nought on the side period")
        if kind.finding and (kind.finding not in findings or kind.step not in (1, 2, 3, 4)):
            yield kind.id, "finding", f"there is no {kind.finding!r}, step {kind.step}", sorted(findings)
        if kind.proves and (kind.word or kind.side != "for"):
            yield kind.id, "proves", "nobody's word proves, and nothing against does", ("what was seen for it",)
        if not kind.source or not kind.sure:
            yield kind.id, "source", "nobody says so", ("a source, and how sure it is",)


def _of_verdicts(verdicts: tuple[Verdict, ...]) -> Iterator[_Fault]:
    by_id = {one.id: one for one in verdicts}
    if tuple(by_id) != ANSWERS:
        yield "the answers", "id", "they are " + (", ".join(by_id) or "none"), ANSWERS
        return
    belongs, probably, another = by_id["belongs"].least, by_id["probably"].least, by_id["another-machine"].most
    if belongs is None or probably is None or another is None or not belongs > probably > 0 > another:
        yield "belongs", "from", "the sums do not fall from belongs to another machine", ("belongs > probably > 0",)
