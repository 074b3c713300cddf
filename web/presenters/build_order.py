"""The order of the build as a drawing: a row for each step, and a line down to each step from all that go before it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from survey.build_order.plan import Plan, PlanStep

ROW = 30
LANE = 14
LETTER = 8
"""Pixels: between rows, between lines, and at the most for a letter of a step's name."""

PIECE = 26
"""Rows that stand on one sheet of paper, below the heading of the first."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line down to one step: where it runs across, from where to where, and at which heights steps join it."""

    x: int
    top: int
    foot: int
    joints: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """A step in the drawing: its number, and the height of its row."""

    number: int
    y: int
    step: PlanStep
    label: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """Rows and lines, in pixels. ``dots``: where the steps' marks stand across."""

    rows: tuple[Row, ...]
    lines: tuple[Line, ...]
    dots: int
    wide: int
    high: int

    @property
    def pieces(self) -> tuple[tuple[int, int], ...]:
        """The drawing cut between rows for paper: of each piece where it begins and how high it is."""
        heights = [row.y for row in self.rows]
        cut = [heights[first : first + PIECE] for first in range(0, len(heights), PIECE)]
        return tuple((ys[0] - ROW // 2, ys[-1] - ys[0] + ROW) for ys in cut)


def draw_order(plan: Plan, states: Mapping[Any, str]) -> Drawing:
    """The plan's steps in rows; soft pairs, and pairs that follow from others, are not drawn."""
    rows = {one.step.id: number for number, one in enumerate(plan.steps)}
    before = find_nearest([[rows[need.step.id] for need in one.needs if need.pair.hard] for one in plan.steps])
    lanes = _lanes([(min(firsts), row) for row, firsts in enumerate(before) if firsts])
    dots = LANE * (max(lanes.values(), default=-1) + 2)
    told = tuple(Row(row + 1, _height(row), one, _label(row, one, states)) for row, one in enumerate(plan.steps))
    return Drawing(
        rows=told,
        lines=tuple(
            Line(LANE * (lanes[row] + 1), _height(min(firsts)), _height(row), tuple(map(_height, sorted(firsts))))
            for row, firsts in enumerate(before)
            if firsts
        ),
        dots=dots,
        wide=dots + LANE + LETTER * max((len(row.label) for row in told), default=0),
        high=ROW * len(plan.steps) + LANE,
    )


def find_nearest(before: Sequence[Sequence[int]]) -> list[list[int]]:
    """Of what goes before each row, what goes before no other of them; what goes before has a lower number."""
    reached: list[set[int]] = []
    kept: list[list[int]] = []
    for firsts in before:
        through = set().union(*(reached[one] for one in firsts))
        kept.append(sorted(one for one in set(firsts) if one not in through))
        reached.append(through | set(firsts))
    return kept


def _lanes(spans: Sequence[tuple[int, int]]) -> dict[int, int]:
    """A lane for the line down to each row, so that no two lines of one lane run side by side; short lines inmost."""
    taken: list[list[tuple[int, int]]] = []
    found: dict[int, int] = {}
    for top, foot in sorted(spans, key=lambda span: (span[0] - span[1], span[1])):
        free = next((n for n, lane in enumerate(taken) if all(foot < a or b < top for a, b in lane)), len(taken))
        if free == len(taken):
            taken.append([])
        taken[free].append((top, foot))
        found[foot] = free
    return found


def _height(row: int) -> int:
    return ROW * row + ROW // 2 + LANE // 2


def _label(row: int, one: PlanStep, states: Mapping[Any, str]) -> str:
    return f"{row + 1}. {one.step.label} ({states[one.state]})"
