"""What a photo that waits most likely shows, judged by what lies near it: in time, in the box, on the machine."""

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
    by_id = {part.id: part for part in parts}
    seen: dict[int, None] = {}
    for neighbour in [*_by_distance(photo, run), *_by_distance(photo, ordered)[:NEAR_PHOTOS]]:
        seen.update(dict.fromkeys(neighbour.parts))
    newest_first = sorted(by_id.values(), key=lambda part: -part.id)
    seen.update(dict.fromkeys(part.id for part in newest_first if photo.box and part.box == photo.box))
    seen.update(dict.fromkeys(part.id for part in newest_first[:1]))
    return [part for part in seen if part in by_id and part not in photo.parts]


def rank_likely_components(
    schedule: Sequence[Component], near: Sequence[str], short: Mapping[str, int], most: int
) -> list[Component]:
    """Positions the photo most likely fills, likeliest first; none where nothing lies near.

    Args:
        near: components of the parts near it, nearest first.
        short: how many of each component are still wanted; those with none left are not likely.
        most: how many to name.
    """
    by_id = {component.id: component for component in schedule}
    likelihood: dict[str, float] = {}
    for rank, component_id in enumerate(near):
        neighbour = by_id.get(component_id)
        if neighbour is None:
            continue
        for component in schedule:
            if short.get(component.id, 0) > 0:
                kinship = _kinship(neighbour, component) / (1 + rank)
                likelihood[component.id] = likelihood.get(component.id, 0.0) + kinship
    weight = _weights(schedule)
    likely_ids = [id_ for id_, value in likelihood.items() if value > 0]
    likely_ids.sort(key=lambda id_: (-likelihood[id_], -weight[id_]))
    return [by_id[id_] for id_ in likely_ids[:most]]


def rank_main_components(schedule: Sequence[Component], short: Mapping[str, int], most: int) -> list[Component]:
    """The main pieces that are still wanted, for a photo that nothing lies near: the first of every assembly in turn.

    Main is what holds many parts and can suffer much: those are laid on the bench and photographed by themselves
    (judgement). Fasteners, papers, and what most machines of the kind did not carry, are left out.
    """
    weight = _weights(schedule)
    pieces = [piece for piece in schedule if piece.everywhere]
    pieces = [piece for piece in pieces if piece.part_class != "fastener" and piece.duty != "paperwork"]
    wanted = [component for component in pieces if short.get(component.id, 0) > 0]
    seen_of_assembly: Counter[str] = Counter()
    turn: dict[str, int] = {}
    for component in sorted(wanted, key=lambda component: -weight[component.id]):
        turn[component.id] = seen_of_assembly[component.assembly]
        seen_of_assembly[component.assembly] += 1
    return sorted(wanted, key=lambda component: (turn[component.id], -weight[component.id]))[:most]


def _weights(schedule: Sequence[Component]) -> dict[str, int]:
    """How telling each position is: how many parts it holds, all the way down, and how much it can suffer."""
    within: dict[str, list[str]] = {}
    for component in schedule:
        within.setdefault(component.inside or "", []).append(component.id)

    def held(component_id: str) -> int:
        return sum(1 + held(below) for below in within.get(component_id, ()))

    return {component.id: held(component.id) + 2 * len(component.likely) for component in schedule}


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
    place = next((n for n, other in enumerate(photos) if other.id == photo.id), None)
    if place is None:
        return []
    others = [(abs(n - place), n > place, other) for n, other in enumerate(photos) if n != place]
    return [other for _, _, other in sorted(others, key=lambda entry: entry[:2])]
