"""What goes on before what: the steps of a dry build put in order over what is here, missing or away.

A pair says that one step goes before another, and why; hard where the later one is not to be begun without the
earlier, soft where it is only better so. Soft pairs shape the order and hold nothing up. A circle among pairs is
named with the pair to drop; the order is then told without that pair. A step whose parts this machine never had, or
that its owner says it does not need, is not told, yet what goes before it still goes before what comes after it.
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
    """Pairs that go round in a circle, each one's ``then`` the next one's ``first``, and which of them to drop."""

    pairs: tuple[BeforePair, ...]
    drop: BeforePair


@dataclass(frozen=True, slots=True)
class Need:
    """A step that goes before: the pair that says so, the step, and whether it still has to be done."""

    pair: BeforePair
    step: BuildStep
    open: bool


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step in its place.

    ``needs``: what goes directly before. ``lacks``: what it waits for itself. ``held_by``: what steps before it wait
    for. ``state``: ``ready`` when every hard need is done and nothing lacks, ``later`` when only steps that can be
    done stand before it, ``blocked`` when something lacks, for it or for a step before it.
    """

    step: BuildStep
    state: StepState
    needs: tuple[Need, ...] = ()
    lacks: tuple[Lack, ...] = ()
    held_by: tuple[Lack, ...] = ()

    @property
    def too_early(self) -> tuple[Need, ...]:
        """Said to be done, although these hard needs are open."""
        return tuple(need for need in self.needs if need.open and need.pair.hard) if self.state == "done" else ()


@dataclass(frozen=True, slots=True)
class Plan:
    """The steps in order, the circles found, what is out of use, and what was said of steps."""

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
    """What a plan is made over: the ids of the machine's own components, what lacks by component, what was said.

    ``fitted``: components of the schedule that this machine has. ``said``: by step id.
    """

    fitted: Collection[str]
    lacks: Mapping[str, Lack] = field(default_factory=dict)
    said: Mapping[str, StepAnswer] = field(default_factory=dict)


def make_plan(steps: Sequence[BuildStep], pairs: Iterable[BeforePair], ground: BuildFacts) -> Plan:
    """The steps in order; the same facts always give the same order.

    Pairs of steps that are not there are passed over: a kind has not every step.
    """
    by_id = {step.id: step for step in steps}
    held = [pair for pair in pairs if pair.first in by_id and pair.then in by_id and pair.first != pair.then]
    loops, kept = find_loops(held)
    before: dict[str, list[BeforePair]] = {step.id: [] for step in steps}
    for pair in kept:
        before[pair.then].append(pair)
    walk = _Walk(by_id, before, ground)
    told = [walk.step(name) for name in sort_steps([step.id for step in steps], kept, _places(steps))]
    return Plan(
        steps=tuple(one for one in told if one is not None),
        loops=tuple(loops),
        pairs=tuple(kept),
        not_needed=tuple(step for step in steps if ground.said.get(step.id) == "not-needed"),
    )


def sort_steps(steps: Iterable[str], pairs: Iterable[BeforePair], places: Mapping[str, tuple[int, int]]) -> list[str]:
    """Every step after all that go before it; among those that may come next, the one of the least place.

    Raises:
        graphlib.CycleError: the pairs go round in a circle.
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
    """Every circle among the pairs in turn, each with the pair to drop, and the pairs that are left without those."""
    kept = list(pairs)
    loops: list[Loop] = []
    while circle := _circle(kept):
        drop = min(circle, key=_worth)
        loops.append(Loop(tuple(circle), drop))
        kept.remove(drop)
    return loops, kept


def describe_loop(loop: Loop, labels: Mapping[str, str]) -> str:
    """The circle in words: ``A, then B, then A again``."""
    names = [labels.get(pair.first, pair.first) for pair in loop.pairs]
    return f"{', then '.join(names)}, then {names[0]} again"


def _circle(pairs: Sequence[BeforePair]) -> list[BeforePair]:
    """One circle of pairs, or nothing. Of pairs that say the same the one that is worth most stands for them."""
    sorter: TopologicalSorter[str] = TopologicalSorter()
    strongest: dict[tuple[str, str], BeforePair] = {}
    for pair in pairs:
        sorter.add(pair.then, pair.first)
        edge = (pair.first, pair.then)
        strongest[edge] = max(strongest.get(edge, pair), pair, key=_worth)
    try:
        sorter.prepare()
    except CycleError as error:
        round_about: list[str] = error.args[1]
        return [strongest[edge] for edge in pairwise(round_about)]
    return []


def _worth(pair: BeforePair) -> tuple[bool, bool, bool, int]:
    """What is dropped first: the owner's pair before the catalogue's, soft before hard, the newest first."""
    return pair.keeps, pair.own is None, pair.hard, -(pair.own or 0)


def _places(steps: Sequence[BuildStep]) -> dict[str, tuple[int, int]]:
    return {step.id: (PHASES.index(step.phase), number) for number, step in enumerate(steps)}


class _Walk:
    """Tells the steps one after the other, in order, and remembers what holds up what comes after."""

    def __init__(
        self, steps: Mapping[str, BuildStep], before: Mapping[str, Sequence[BeforePair]], ground: BuildFacts
    ) -> None:
        self._steps = steps
        self._before = before
        self._ground = ground
        self._held: dict[str, dict[str, Lack]] = {}
        self._open: set[str] = set()
        self._told: set[str] = set()

    def step(self, name: str) -> PlanStep | None:
        """The step in its place, or None where it is not told."""
        step, said = self._steps[name], self._ground.said.get(name)
        hard = [pair.first for pair in self._before[name] if pair.hard]
        upstream = {} if said == "done" else self._upstream(hard)
        skipped = said == "not-needed" or not self._has(step)
        waits = any(first in self._open for first in hard)
        lacks = {} if skipped or said == "done" else self._lacks(step)
        self._held[name] = {**upstream, **lacks}
        # A step that is not told passes on what its own forerunners still owe.
        if said != "done" and (waits or not skipped):
            self._open.add(name)
        if skipped:
            return None
        self._told.add(name)
        state: StepState = (
            "done" if said == "done" else "blocked" if self._held[name] else "later" if waits else "ready"
        )
        only_before = tuple(lack for lack in upstream.values() if lack.component.id not in lacks)
        return PlanStep(step, state, self._needs(name), tuple(lacks.values()), only_before)

    def _lacks(self, step: BuildStep) -> dict[str, Lack]:
        mine = [self._ground.lacks[one] for one in step.components if one in self._ground.lacks]
        return {lack.component.id: lack for lack in mine if step.examined or lack.state != "examine-first"}

    def _has(self, step: BuildStep) -> bool:
        return not step.components or any(one in self._ground.fitted for one in step.components)

    def _upstream(self, before: Iterable[str]) -> dict[str, Lack]:
        found: dict[str, Lack] = {}
        for first in before:
            found |= self._held[first]
        return found

    def _needs(self, name: str) -> tuple[Need, ...]:
        return tuple(
            Need(pair, self._steps[pair.first], pair.first in self._open)
            for pair in self._before[name]
            if pair.first in self._told
        )
