"""The schedule as a tree: each assembly, its positions, and under a position whatever belongs inside it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from survey.bench import Count, Standing
from survey.model import GradedPart

# What a reader may ask to see only; "open" is everything that is not settled.
FILTERS: tuple[tuple[str, str], ...] = (
    ("all", "Everything"),
    ("open", "Gaps"),
    ("missing", "Missing"),
    ("wrong", "Wrong"),
    ("short", "Short"),
    ("unseen", "Inside, not seen"),
    ("not-looked", "Not looked for"),
)
_SETTLED = ("here", "not-fitted")


@dataclass(frozen=True, slots=True)
class Position:
    """A position of the schedule with the parts that answer to it and the positions inside it.

    ``holder``: what it sits in when that stands under another assembly. ``wanted``: the filter asked for it;
    otherwise it only stands here because something inside it was asked for.
    """

    standing: Standing
    parts: tuple[GradedPart, ...]
    inside: tuple[Position, ...]
    holder: str
    wanted: bool


@dataclass(frozen=True, slots=True)
class Branch:
    """One assembly with its counts."""

    name: str
    anchor: str
    count: Count
    positions: tuple[Position, ...]


def branches(
    standings: Sequence[Standing], parts: Iterable[GradedPart], counts: Mapping[str, Count], show: str
) -> list[Branch]:
    """The assemblies that have anything the filter asks for."""
    grower = _Grower(standings, parts, _asked(show))
    found = []
    for number, name in enumerate(counts, start=1):
        roots = [one for one in standings if one.component.assembly == name and not grower.holder_here(one)]
        positions = tuple(filter(None, (grower.position(one) for one in roots)))
        if positions:
            found.append(Branch(name, f"assembly-{number}", counts[name], positions))
    return found


def tallies(standings: Iterable[Standing]) -> dict[str, int]:
    """How many positions each filter would show."""
    states = [one.state for one in standings]
    return {key: sum(map(_asked_state(key), states)) for key, _ in FILTERS}


class _Grower:
    """Grows the tree; a position inside another of its own assembly stands under it."""

    def __init__(
        self, standings: Sequence[Standing], parts: Iterable[GradedPart], asked: Callable[[Standing], bool]
    ) -> None:
        self._by_id = {one.component.id: one for one in standings}
        self._asked = asked
        self._inside: defaultdict[str, list[Standing]] = defaultdict(list)
        for one in standings:
            if self.holder_here(one):
                self._inside[one.component.inside or ""].append(one)
        self._parts: defaultdict[str, list[GradedPart]] = defaultdict(list)
        for part in parts:
            self._parts[part.part.component or ""].append(part)

    def holder_here(self, one: Standing) -> bool:
        """Whether it stands under its holder, in the same assembly."""
        holder = self._by_id.get(one.component.inside or "")
        return holder is not None and holder.component.assembly == one.component.assembly

    def position(self, one: Standing) -> Position | None:
        """The position with what is inside it, or None when the filter asks for nothing of it."""
        inside = tuple(filter(None, (self.position(below) for below in self._inside[one.component.id])))
        wanted = self._asked(one)
        if not wanted and not inside:
            return None
        holder = self._by_id.get(one.component.inside or "")
        elsewhere = holder.component.label if holder is not None and not self.holder_here(one) else ""
        return Position(one, tuple(self._parts[one.component.id]), inside, elsewhere, wanted)


def _asked(show: str) -> Callable[[Standing], bool]:
    of_state = _asked_state(show)
    return lambda one: of_state(one.state)


def _asked_state(show: str) -> Callable[[str], bool]:
    if show == "all":
        return lambda state: True
    if show == "open":
        return lambda state: state not in _SETTLED
    return lambda state: state == show
