"""Reads the scale for stuck things from survey/data/removal.toml and proves it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any, TypeVar

from survey.gauge.stuck import ONE_OF, Band, Condition, Danger, Removal, Way
from survey.knowledge.vocabulary import Vocabulary, data_text, fault, line_of, toml, vocabulary

_FILE = "removal.toml"
_SECTIONS = ("thing", "condition", "band", "way", "danger")
_Row = TypeVar("_Row")


@lru_cache(maxsize=1)
def removal() -> Removal:
    """The scale for stuck, seized and snapped things. Raises BrokenKnowledge at a faulty file."""
    return read_removal(data_text(_FILE), vocabulary())


def read_removal(text: str, words: Vocabulary, name: str = _FILE) -> Removal:
    """The scale that stands in a TOML text, proved: known words only, every group and every sum answered."""
    content = toml(text, name)
    for section in content:
        if section not in _SECTIONS:
            raise fault(
                name, line_of(text, f"[[{section}]]"), section, "section", "there is no such section", _SECTIONS
            )
    scale = Removal(
        things={raw["id"]: raw["label"] for raw in content.get("thing", [])},
        conditions=_rows(Condition, content, "condition", text, name),
        bands=_rows(Band, content, "band", text, name),
        ways=_rows(Way, content, "way", text, name),
        dangers=_rows(Danger, content, "danger", text, name),
    )
    _prove(scale, words, text, name)
    return scale


def _rows(kind: type[_Row], content: Mapping[str, Any], section: str, text: str, name: str) -> tuple[_Row, ...]:
    found = []
    for raw in content.get(section, []):
        cells = {cell: tuple(value) if isinstance(value, list) else value for cell, value in raw.items()}
        try:
            found.append(kind(**cells))
        except TypeError as error:
            row = str(raw.get("id", "without an id"))
            allowed = tuple(kind.__annotations__)
            raise fault(name, line_of(text, f'id = "{row}"'), row, section, str(error), allowed) from error
    return tuple(found)


def _prove(scale: Removal, words: Vocabulary, text: str, name: str) -> None:
    for row, cell, wrong, allowed in (*_of_things(scale), *_of_conditions(scale), *_of_dangers(scale, words)):
        raise fault(name, line_of(text, f'id = "{row}"'), row, cell, wrong, allowed)
    least = [band.least for band in scale.bands]
    if not least or least[0] != 0 or least != sorted(set(least)):
        wrong = f"they begin at {', '.join(map(str, least)) or 'nothing'}"
        raise fault(name, line_of(text, "[[band]]"), "the bands", "least", wrong, ("nought, then more and more",))


_Fault = tuple[str, str, str, Iterable[str]]


def _of_things(scale: Removal) -> Iterator[_Fault]:
    """What is said of a thing that there is not, and groups that a thing cannot answer."""
    rows = [(one.id, one.things) for one in scale.conditions] + [(one.id, one.things) for one in scale.ways]
    for row, things in rows:
        for thing in things:
            if thing not in scale.things:
                yield row, "things", f"{thing!r} is no thing", scale.things
    for group in ONE_OF:
        for thing in scale.things:
            if not any(one.group == group and thing in one.things for one in scale.conditions):
                yield group, "group", f"nothing answers it for {thing}", ("one condition at least",)


def _of_conditions(scale: Removal) -> Iterator[_Fault]:
    for one in scale.conditions:
        if one.group not in (*ONE_OF, ""):
            yield one.id, "group", f"{one.group!r} is no group", ONE_OF
        if not one.source or not one.sure:
            yield one.id, "source", "nobody says so", ("a source, and how sure it is",)


def _of_dangers(scale: Removal, words: Vocabulary) -> Iterator[_Fault]:
    known = {one.id for one in scale.conditions}
    for danger in scale.dangers:
        for cell, said, allowed in (
            ("classes", danger.classes, words.class_.keys()),
            ("materials", danger.materials, words.material.keys()),
            ("duties", danger.duties, words.duty.keys()),
            ("conditions", danger.conditions, known),
        ):
            for word in said:
                if word not in allowed:
                    yield danger.id, cell, f"{word!r} is not known", sorted(allowed)
