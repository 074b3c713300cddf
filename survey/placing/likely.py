"""What a photo that waits most likely shows, told from what lies near it: in time, in the box, on the machine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from survey.model.parts import Part
from survey.model.photos import Photo
from survey.model.schedule import Component

NEAR_PHOTOS = 12
"""Photos this far before or after in their order still speak for each other."""


def find_near_parts(photo: Photo, ordered: Sequence[Photo], run: Sequence[Photo], parts: Iterable[Part]) -> list[int]:
    """Parts the photo may show again, likeliest first.

    First those of its own capture run, the photo before it foremost; then of the neighbours in order; then those in
    the same box; then the part recorded last. ``ordered``: all photos in order; ``run``: its own capture run.
    """
    standing = {part.id: part for part in parts}
    seen: dict[int, None] = {}
    for neighbour in [*_by_distance(photo, run), *_by_distance(photo, ordered)[:NEAR_PHOTOS]]:
        seen.update(dict.fromkeys(neighbour.parts))
    newest_first = sorted(standing.values(), key=lambda part: -part.id)
    seen.update(dict.fromkeys(part.id for part in newest_first if photo.box and part.box == photo.box))
    seen.update(dict.fromkeys(part.id for part in newest_first[:1]))
    return [part for part in seen if part in standing and part not in photo.parts]


def rank_likely_components(
    schedule: Sequence[Component], near: Sequence[str], short: Mapping[str, int], most: int
) -> list[Component]:
    """Positions the photo most likely fills, likeliest first; none where nothing lies near.

    Args:
        near: components of the parts near it, nearest first.
        short: how many of each component are still wanted; those with none left are not likely.
        most: how many to name.
    """
    known = {one.id: one for one in schedule}
    worth: dict[str, float] = {}
    for rank, component_id in enumerate(near):
        neighbour = known.get(component_id)
        if neighbour is None:
            continue
        for one in schedule:
            if short.get(one.id, 0) > 0:
                worth[one.id] = worth.get(one.id, 0.0) + _kinship(neighbour, one) / (1 + rank)
    weight = _weights(schedule)
    ranked = sorted((one for one in worth if worth[one] > 0), key=lambda one: (-worth[one], -weight[one]))
    return [known[one] for one in ranked[:most]]


def rank_main_components(schedule: Sequence[Component], short: Mapping[str, int], most: int) -> list[Component]:
    """The main pieces that are still wanted, for a photo that nothing lies near: the first of every assembly in turn.

    Main is what holds many parts and can suffer much: those are laid on the bench and photographed by themselves
    (judgement). Fasteners, papers, and what most machines of the kind did not carry, are left out.
    """
    weight = _weights(schedule)
    pieces = [one for one in schedule if one.everywhere and one.part_class != "fastener" and one.duty != "paperwork"]
    wanted = [one for one in pieces if short.get(one.id, 0) > 0]
    named: Counter[str] = Counter()
    turn: dict[str, int] = {}
    for one in sorted(wanted, key=lambda one: -weight[one.id]):
        turn[one.id] = named[one.assembly]
        named[one.assembly] += 1
    return sorted(wanted, key=lambda one: (turn[one.id], -weight[one.id]))[:most]


def _weights(schedule: Sequence[Component]) -> dict[str, int]:
    """How telling each position is: how many parts it holds, all the way down, and how much it can suffer."""
    within: dict[str, list[str]] = {}
    for one in schedule:
        within.setdefault(one.inside or "", []).append(one.id)

    def held(component_id: str) -> int:
        return sum(1 + held(below) for below in within.get(component_id, ()))

    return {one.id: held(one.id) + 2 * len(one.likely) for one in schedule}


def _kinship(neighbour: Component, one: Component) -> float:
    """How near two positions are: 3 where one sits in the other, 2 side by side in a third, 1 in one assembly.

    Judgement: boxes were filled by somebody who took assemblies apart.
    """
    if neighbour.id == one.id:
        return 1.5
    if one.inside == neighbour.id or neighbour.inside == one.id:
        return 3.0
    if one.inside is not None and one.inside == neighbour.inside:
        return 2.0
    return 1.0 if one.assembly == neighbour.assembly else 0.0


def _by_distance(photo: Photo, photos: Sequence[Photo]) -> list[Photo]:
    """The others, nearest first; of two as near the earlier one, for people photograph a part and then its faults."""
    place = next((n for n, one in enumerate(photos) if one.id == photo.id), None)
    if place is None:
        return []
    others = [(abs(n - place), n > place, one) for n, one in enumerate(photos) if n != place]
    return [one for _, _, one in sorted(others, key=lambda entry: entry[:2])]
