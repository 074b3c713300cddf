"""The plan: the steps of a dry build in order, with what each waits for.

A pair puts one step before another, with the reason. It is hard if the later step must not begin without the earlier,
soft if the order is only better. Soft pairs shape the order and block nothing. A circle among pairs is reported with
the pair to drop; the order is then made without that pair. A step whose parts this machine never had, or that its owner
marked as not needed, is left out of the plan, but the steps before it still go before the steps after it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush
from itertools import pairwise

from survey.build_order.lacks import Lack
from survey.model.build_order import PHASES, BeforePair, BuildStep, StepAnswer, StepState


@dataclass(frozen=True, slots=True)
class Loop:
    """Pairs that form a circle, each one's ``then`` the next one's ``first``, and which of them to drop."""

    pairs: tuple[BeforePair, ...]
    drop: BeforePair


@dataclass(frozen=True, slots=True)
class Need:
    """A step that goes before another: the pair, the earlier step, and whether it is still to be done."""

    pair: BeforePair
    step: BuildStep
    open: bool


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step of the plan.

    ``needs``: the steps directly before it. ``lacks``: what it waits for itself. ``held_by``: what steps before it wait
    for. ``state``: ``done``; ``ready`` if every hard need is done and nothing lacks; ``later`` if hard needs are open
    but nothing lacks; ``blocked`` if something lacks, for it or for a step before it.
    """

    step: BuildStep
    state: StepState
    needs: tuple[Need, ...] = ()
    lacks: tuple[Lack, ...] = ()
    held_by: tuple[Lack, ...] = ()

    @property
    def too_early(self) -> tuple[Need, ...]:
        """The hard needs that are still open although the step is marked as done."""
        return tuple(need for need in self.needs if need.open and need.pair.hard) if self.state == "done" else ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The steps in order, the circles found, the pairs used, and the steps marked as not needed."""

    steps: tuple[PlanStep, ...] = ()
    loops: tuple[Loop, ...] = ()
    pairs: tuple[BeforePair, ...] = ()
    not_needed: tuple[BuildStep, ...] = ()

    @property
    def next(self) -> PlanStep | None:
        """The first step that can be done now."""
        return next((one for one in self.steps if one.state == "ready"), None)


@dataclass(frozen=True, slots=True)
class BuildFacts:
    """The facts a plan is made from.

    ``fitted``: ids of the components that this machine has. ``lacks``: by component id. ``said``: the owner's answers
    by step id.
    """

    fitted: Collection[str]
    lacks: Mapping[str, Lack] = field(default_factory=dict)
    said: Mapping[str, StepAnswer] = field(default_factory=dict)


def make_plan(steps: Sequence[BuildStep], pairs: Iterable[BeforePair], facts: BuildFacts) -> Plan:
    """Put the steps in order; the same facts always give the same order.

    Pairs with an unknown step are ignored: not every kind of machine has every step.
    """
    by_id = {step.id: step for step in steps}
    known_pairs = [pair for pair in pairs if pair.first in by_id and pair.then in by_id and pair.first != pair.then]
    loops, used_pairs = find_loops(known_pairs)
    before: dict[str, list[BeforePair]] = {step.id: [] for step in steps}
    for pair in used_pairs:
        before[pair.then].append(pair)
    maker = _PlanMaker(by_id, before, facts)
    planned = [
        maker.make_step(name) for name in sort_steps([step.id for step in steps], used_pairs, _find_places(steps))
    ]
    return Plan(
        steps=tuple(step for step in planned if step is not None),
        loops=tuple(loops),
        pairs=tuple(used_pairs),
        not_needed=tuple(step for step in steps if facts.said.get(step.id) == "not-needed"),
    )


def sort_steps(steps: Iterable[str], pairs: Iterable[BeforePair], places: Mapping[str, tuple[int, int]]) -> list[str]:
    """Put every step after all steps before it; among those that may come next, the one with the lowest place.

    Raises:
        graphlib.CycleError: the pairs form a circle.
    """
    sorter: TopologicalSorter[str] = TopologicalSorter(dict.fromkeys(steps, ()))
    for pair in pairs:
        sorter.add(pair.then, pair.first)
    sorter.prepare()
    ready: list[tuple[tuple[int, int], str]] = []
    order: list[str] = []
    while sorter.is_active():
        for step in sorter.get_ready():
            heappush(ready, (places[step], step))
        _, name = heappop(ready)
        order.append(name)
        sorter.done(name)
    return order


def find_loops(pairs: Iterable[BeforePair]) -> tuple[list[Loop], list[BeforePair]]:
    """Every circle among the pairs, each with the pair to drop, and the pairs left once those are dropped."""
    remaining = list(pairs)
    loops: list[Loop] = []
    while circle := _find_circle(remaining):
        drop = min(circle, key=_drop_order)
        loops.append(Loop(tuple(circle), drop))
        remaining.remove(drop)
    return loops, remaining


def describe_loop(loop: Loop, labels: Mapping[str, str]) -> str:
    """The circle in words: ``A, then B, then A again``."""
    names = [labels.get(pair.first, pair.first) for pair in loop.pairs]
    return f"{', then '.join(names)}, then {names[0]} again"


def _find_circle(pairs: Sequence[BeforePair]) -> list[BeforePair]:
    """One circle of pairs, or an empty list. Of several pairs with the same two steps the last to drop is taken."""
    sorter: TopologicalSorter[str] = TopologicalSorter()
    strongest: dict[tuple[str, str], BeforePair] = {}
    for pair in pairs:
        sorter.add(pair.then, pair.first)
        edge = (pair.first, pair.then)
        strongest[edge] = max(strongest.get(edge, pair), pair, key=_drop_order)
    try:
        sorter.prepare()
    except CycleError as error:
        circle: list[str] = error.args[1]
        return [strongest[edge] for edge in pairwise(circle)]
    return []


def _drop_order(pair: BeforePair) -> tuple[bool, bool, bool, int]:
    """Sort key, first to drop first: the owner's pair before the catalogue's, soft before hard, the newest first."""
    return pair.keeps, pair.own is None, pair.hard, -(pair.own or 0)


def _find_places(steps: Sequence[BuildStep]) -> dict[str, tuple[int, int]]:
    return {step.id: (PHASES.index(step.phase), number) for number, step in enumerate(steps)}


class _PlanMaker:
    """Makes the plan's steps one after the other, in order, and remembers what the later ones wait for."""

    def __init__(
        self, steps: Mapping[str, BuildStep], before: Mapping[str, Sequence[BeforePair]], facts: BuildFacts
    ) -> None:
        self._steps = steps
        self._before = before
        self._facts = facts
        self._lacks_of: dict[str, dict[str, Lack]] = {}
        self._open: set[str] = set()
        self._planned: set[str] = set()

    def make_step(self, name: str) -> PlanStep | None:
        """The step with its state, or None if it is left out of the plan."""
        step, answer = self._steps[name], self._facts.said.get(name)
        hard = [pair.first for pair in self._before[name] if pair.hard]
        upstream = {} if answer == "done" else self._find_upstream_lacks(hard)
        skipped = answer == "not-needed" or not self._is_fitted(step)
        waits = any(first in self._open for first in hard)
        lacks = {} if skipped or answer == "done" else self._find_lacks(step)
        self._lacks_of[name] = {**upstream, **lacks}
        # A step that is left out is still open while a step before it is.
        if answer != "done" and (waits or not skipped):
            self._open.add(name)
        if skipped:
            return None
        self._planned.add(name)
        state: StepState = (
            "done" if answer == "done" else "blocked" if self._lacks_of[name] else "later" if waits else "ready"
        )
        only_before = tuple(lack for lack in upstream.values() if lack.component.id not in lacks)
        return PlanStep(step, state, self._find_needs(name), tuple(lacks.values()), only_before)

    def _find_lacks(self, step: BuildStep) -> dict[str, Lack]:
        step_lacks = [self._facts.lacks[component] for component in step.components if component in self._facts.lacks]
        return {lack.component.id: lack for lack in step_lacks if step.examined or lack.state != "examine-first"}

    def _is_fitted(self, step: BuildStep) -> bool:
        return not step.components or any(component in self._facts.fitted for component in step.components)

    def _find_upstream_lacks(self, before: Iterable[str]) -> dict[str, Lack]:
        lacks: dict[str, Lack] = {}
        for first in before:
            lacks |= self._lacks_of[first]
        return lacks

    def _find_needs(self, name: str) -> tuple[Need, ...]:
        return tuple(
            Need(pair, self._steps[pair.first], pair.first in self._open)
            for pair in self._before[name]
            if pair.first in self._planned
        )
