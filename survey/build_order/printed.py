"""The order of the build as it is printed: the steps, what blocks them, what is best to get next."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from survey.build_order.blocks import Block
from survey.build_order.lacks import STATES_TO_LOOK_FOR, Lack
from survey.build_order.plan import Loop, Plan, PlanStep, describe_loop
from survey.model.build_order import STEP_WORDS, StepState

_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step. ``after``: numbers of the steps that must be done first; ``waits``: what lacks, in words."""

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
    """A thing that blocks steps. ``waiting``: how many steps in all; ``arithmetic``: how its score is computed."""

    component: str
    label: str
    duty: str
    word: str
    waiting: int
    score: int
    arithmetic: str


@dataclass(frozen=True, slots=True)
class OrderLines:
    """The order as printed. ``unsought``: how many things that nobody has looked for block steps."""

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
        """How many steps are in each state, in a sentence: ``Of 60 steps: 2 done, 3 can be done now, 55 held up.``"""
        counts = {state: sum(line.state == state for line in self.steps) for state in STEP_WORDS}
        words = ", ".join(f"{count} {STEP_WORDS[state]}" for state, count in counts.items() if count)
        return f"Of {len(self.steps)} steps: {words}." if self.steps else ""


def make_order_lines(plan: Plan, blocks: Iterable[Block]) -> OrderLines:
    """The plan in words ready to print."""
    numbers = {step.step.id: number for number, step in enumerate(plan.steps, 1)}
    all_blocks = tuple(blocks)
    return OrderLines(
        steps=tuple(_step_line(step, numbers) for step in plan.steps),
        blocks=tuple(_block_line(block) for block in all_blocks if block.known),
        unsought=sum(not block.known for block in all_blocks),
        circles=tuple(_describe_circle(loop, plan) for loop in plan.loops),
    )


def _step_line(planned: PlanStep, numbers: dict[str, int]) -> StepLine:
    after = tuple(sorted(numbers[need.step.id] for need in planned.needs if need.pair.hard and need.open))
    step = planned.step
    return StepLine(
        numbers[step.id],
        step.id,
        step.label,
        planned.state,
        STEP_WORDS[planned.state],
        after,
        _describe_lacks(planned.lacks),
        step.caution,
    )


def _describe_lacks(lacks: Sequence[Lack]) -> str:
    known = [lack for lack in lacks if lack.state not in STATES_TO_LOOK_FOR]
    words = [f"{lack.component.label} ({lack.words})" for lack in known[:_MOST_NAMED]]
    more = len(known) - len(words)
    unsought = sum(lack.state in STATES_TO_LOOK_FOR for lack in lacks)
    words += [f"{more} more"] if more else []
    words += [f"{unsought} not looked for or not seen"] if unsought else []
    return "; ".join(words)


def _block_line(block: Block) -> BlockLine:
    component = block.lack.component
    return BlockLine(
        component.id, component.label, component.duty, block.lack.words, block.waiting, block.score, block.arithmetic
    )


def _describe_circle(loop: Loop, plan: Plan) -> str:
    labels = {planned.step.id: planned.step.label for planned in plan.steps}
    first, then = labels.get(loop.drop.first, loop.drop.first), labels.get(loop.drop.then, loop.drop.then)
    return f"{describe_loop(loop, labels)}. Drop: {first} before {then}."
