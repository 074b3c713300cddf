"""Choosing a component from a long schedule: the likely ones first, or those whose names hold what is looked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from survey.model.parts import GradedPart
from survey.model.schedule import Component
from web.presenters.parts import group_components


@dataclass(frozen=True, slots=True)
class Picker:
    """What can be chosen. ``wanted``: the words that narrow it, empty for the whole schedule.

    ``likely``: those to put first. ``taken``: ids of components that a part answers to.
    """

    wanted: str
    found: int
    likely: tuple[Component, ...]
    piles: dict[str, list[Component]]
    taken: frozenset[str]


def make_picker(
    schedule: Iterable[Component], parts: Iterable[GradedPart], wanted: str, likely: Sequence[Component] = ()
) -> Picker:
    """The schedule to choose from, narrowed to the wanted words."""
    found = [one for one in schedule if matches(one, wanted)]
    taken = frozenset(part.part.component for part in parts if part.part.component)
    return Picker(wanted, len(found), () if wanted else tuple(likely), group_components(found), taken)


def matches(one: Component, wanted: str) -> bool:
    """Whether each wanted word is in one of the component's names, its id or its assembly."""
    said = " ".join((one.label, *one.names, one.id, one.assembly)).casefold()
    return all(word in said for word in wanted.casefold().split())
