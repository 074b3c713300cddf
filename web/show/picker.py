"""Choosing a component from a long schedule: the likely ones first, or those whose names hold what is looked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from survey.model import Component, GradedPart, Photo
from web.show.named import components_by_assembly

LIKELY = 12
"""Components put first. A short list is read; a longer one is searched."""


@dataclass(frozen=True, slots=True)
class Picker:
    """What can be chosen. ``wanted``: the words that narrow it, empty for the whole schedule.

    ``likely``: those to put first; ``likely_of``: the assembly they are of. ``taken``: ids that a part answers to.
    """

    wanted: str
    found: int
    likely: tuple[Component, ...]
    likely_of: str
    piles: dict[str, list[Component]]
    taken: frozenset[str]


def picker(schedule: Sequence[Component], parts: Sequence[GradedPart], wanted: str, photo: Photo | None) -> Picker:
    """The schedule to choose from, narrowed to the wanted words."""
    found = [one for one in schedule if answers_to(one, wanted)]
    taken = frozenset(part.part.component for part in parts if part.part.component)
    near = nearest(parts, photo) if not wanted else None
    likely = _beside(near, schedule, taken) if near else ()
    return Picker(wanted, len(found), likely, near.assembly if near else "", components_by_assembly(found), taken)


def answers_to(one: Component, wanted: str) -> bool:
    """Whether each wanted word is in one of the component's names, its id or its assembly."""
    said = " ".join((one.label, *one.names, one.id, one.assembly)).casefold()
    return all(word in said for word in wanted.casefold().split())


def nearest(parts: Sequence[GradedPart], photo: Photo | None) -> Component | None:
    """The component one has in hand: of the last part in this photo, else from the same box, else of all."""
    known = [one for one in sorted(parts, key=lambda one: one.part.id, reverse=True) if one.component is not None]
    shown = [one for one in known if photo is not None and photo.id in one.part.photos]
    boxed = [one for one in known if photo is not None and photo.box and one.part.box == photo.box]
    return next((one.component for one in (*shown, *boxed, *known)), None)


def _beside(near: Component, schedule: Iterable[Component], taken: frozenset[str]) -> tuple[Component, ...]:
    """Of the same assembly and not here yet: first what sits in the same thing, then in the schedule's order."""
    room = (near.id, near.inside) if near.inside else (near.id,)
    open_ones = [one for one in schedule if one.assembly == near.assembly and one.id not in taken]
    return tuple(sorted(open_ones, key=lambda one: one.inside not in room))[:LIKELY]
