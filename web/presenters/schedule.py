"""The schedule as a tree: each assembly, its positions, and under a position whatever belongs inside it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from survey.model.parts import GradedPart
from survey.schedule.gaps import Position, PositionCount

# How the page may be read: what is not filled, by how it stands; or the whole schedule as a tree.
VIEWS: tuple[tuple[str, str], ...] = (("gaps", "Gaps first"), ("all", "The whole schedule"))

# Real gaps first, then what nobody knows, then what was never there; "here" is no gap.
ORDER = ("missing", "wrong", "short", "unseen", "not-looked", "not-fitted")
REAL = ("missing", "wrong", "short")


@dataclass(frozen=True, slots=True)
class PositionLine:
    """A position of the schedule with the parts that answer to it and the positions inside it.

    ``holder``: what it sits in, where the page does not show that by nesting. ``holds``: whether others sit in it,
    which then stand as it does.
    """

    standing: Position
    parts: tuple[GradedPart, ...]
    inside: tuple[PositionLine, ...]
    holder: str
    holds: bool


@dataclass(frozen=True, slots=True)
class Branch:
    """One assembly with its counts."""

    name: str
    anchor: str
    count: PositionCount
    positions: tuple[PositionLine, ...]


@dataclass(frozen=True, slots=True)
class Pile:
    """The positions that stand in one way, by assembly. ``along``: those that only follow from what holds them."""

    state: str
    anchor: str
    count: int
    own: dict[str, list[PositionLine]]
    along: dict[str, list[PositionLine]]


def make_branches(
    standings: Sequence[Position], parts: Iterable[GradedPart], counts: Mapping[str, PositionCount]
) -> list[Branch]:
    """The whole schedule, assembly by assembly."""
    grower = _Grower(standings, parts)
    found = []
    for number, name in enumerate(counts, start=1):
        roots = [one for one in standings if one.component.assembly == name and not grower.holder_here(one)]
        found.append(Branch(name, f"assembly-{number}", counts[name], tuple(map(grower.position, roots))))
    return found


def make_piles(standings: Sequence[Position], parts: Iterable[GradedPart]) -> list[Pile]:
    """What is not filled, by how it stands, in ``ORDER``; a way in which nothing stands has an empty pile."""
    grower = _Grower(standings, parts)
    found = {state: Pile(state, f"state-{state}", 0, {}, {}) for state in ORDER}
    for one in standings:
        if one.state in found:
            pile = found[one.state]
            shelf = pile.along if one.through else pile.own
            shelf.setdefault(one.component.assembly, []).append(grower.alone(one))
    return [replace(pile, count=_held(pile.own) + _held(pile.along)) for pile in found.values()]


def find_position_line(standings: Sequence[Position], parts: Iterable[GradedPart], component: str) -> PositionLine:
    """One position by itself."""
    return _Grower(standings, parts).alone(next(one for one in standings if one.component.id == component))


def _held(shelf: Mapping[str, Sequence[PositionLine]]) -> int:
    return sum(map(len, shelf.values()))


class _Grower:
    """Grows the tree; a position inside another of its own assembly stands under it."""

    def __init__(self, standings: Sequence[Position], parts: Iterable[GradedPart]) -> None:
        self._by_id = {one.component.id: one for one in standings}
        self._inside: defaultdict[str, list[Position]] = defaultdict(list)
        for one in standings:
            if self.holder_here(one):
                self._inside[one.component.inside or ""].append(one)
        self._holders = {one.component.inside for one in self._by_id.values()}
        self._parts: defaultdict[str, list[GradedPart]] = defaultdict(list)
        for part in parts:
            self._parts[part.part.component or ""].append(part)

    def holder_here(self, one: Position) -> bool:
        """Whether it stands under its holder, in the same assembly."""
        holder = self._by_id.get(one.component.inside or "")
        return holder is not None and holder.component.assembly == one.component.assembly

    def position(self, one: Position) -> PositionLine:
        """The position with what is inside it."""
        inside = tuple(map(self.position, self._inside[one.component.id]))
        elsewhere = "" if self.holder_here(one) else self._holder(one)
        return self._made(one, inside, elsewhere)

    def alone(self, one: Position) -> PositionLine:
        """The position without what is inside it."""
        return self._made(one, (), self._holder(one))

    def _made(self, one: Position, inside: tuple[PositionLine, ...], holder: str) -> PositionLine:
        name = one.component.id
        return PositionLine(one, tuple(self._parts[name]), inside, holder, name in self._holders)

    def _holder(self, one: Position) -> str:
        holder = self._by_id.get(one.component.inside or "")
        return "" if holder is None else holder.component.label
