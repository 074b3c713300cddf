"""The order of the build as it is printed: the steps, what holds them up, what is the next best thing to get."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from survey.build_order.blocks import Block
from survey.build_order.lacks import TO_LOOK, Lack
from survey.build_order.plan import Loop, Plan, PlanStep, describe_loop
from survey.model.build_order import STEP_WORDS, StepState

_NAMED = 3


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step. ``after``: the numbers of the steps that must be done first; ``waits``: what lacks, in words."""

    number: int
    step: str
    label: str
    state: StepState
    word: str
    after: tuple[int, ...]
    waits: str
    caution: str


@dataclass(frozen=True, slots=True)
class BlockLine:
    """A thing that holds steps up. ``waiting``: how many in all; ``arithmetic``: how its score was reckoned."""

    component: str
    label: str
    duty: str
    word: str
    waiting: int
    score: int
    arithmetic: str


@dataclass(frozen=True, slots=True)
class OrderLines:
    """The order as printed. ``unsought``: things that nobody has looked for and that hold steps up all the same."""

    steps: tuple[StepLine, ...] = ()
    blocks: tuple[BlockLine, ...] = ()
    unsought: int = 0
    circles: tuple[str, ...] = ()

    @property
    def ready(self) -> tuple[StepLine, ...]:
        """What can be done now."""
        return tuple(line for line in self.steps if line.state == "ready")

    @property
    def standing(self) -> str:
        """How the steps stand, in a sentence: ``Of 60 steps: 2 done, 3 can be done now, 55 held up.``"""
        counts = {state: sum(line.state == state for line in self.steps) for state in STEP_WORDS}
        told = ", ".join(f"{count} {STEP_WORDS[state]}" for state, count in counts.items() if count)
        return f"Of {len(self.steps)} steps: {told}." if self.steps else ""


def order_lines(plan: Plan, blocks: Iterable[Block]) -> OrderLines:
    """The plan in words ready to print."""
    numbers = {one.step.id: number for number, one in enumerate(plan.steps, 1)}
    every = tuple(blocks)
    return OrderLines(
        steps=tuple(_step(one, numbers) for one in plan.steps),
        blocks=tuple(_block(one) for one in every if one.known),
        unsought=sum(not one.known for one in every),
        circles=tuple(_circle(loop, plan) for loop in plan.loops),
    )


def _step(one: PlanStep, numbers: dict[str, int]) -> StepLine:
    after = tuple(sorted(numbers[need.step.id] for need in one.needs if need.pair.hard and need.open))
    step = one.step
    return StepLine(
        numbers[step.id], step.id, step.label, one.state, STEP_WORDS[one.state], after, _waits(one.lacks), step.caution
    )


def _waits(lacks: Sequence[Lack]) -> str:
    known = [lack for lack in lacks if lack.state not in TO_LOOK]
    told = [f"{lack.component.label} ({lack.words})" for lack in known[:_NAMED]]
    more = len(known) - len(told)
    unsought = sum(lack.state in TO_LOOK for lack in lacks)
    told += [f"{more} more"] if more else []
    told += [f"{unsought} not looked for or not seen"] if unsought else []
    return "; ".join(told)


def _block(one: Block) -> BlockLine:
    component = one.lack.component
    return BlockLine(
        component.id, component.label, component.duty, one.lack.words, one.waiting, one.score, one.arithmetic
    )


def _circle(loop: Loop, plan: Plan) -> str:
    labels = {one.step.id: one.step.label for one in plan.steps}
    first, then = labels.get(loop.drop.first, loop.drop.first), labels.get(loop.drop.then, loop.drop.then)
    return f"{describe_loop(loop, labels)}. Drop: {first} before {then}."
