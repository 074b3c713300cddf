"""Which steps of the build wait for one component, directly and in all."""

from __future__ import annotations

from dataclasses import dataclass

from survey.build_order.plan import Plan
from survey.model.build_order import BuildStep


@dataclass(frozen=True, slots=True)
class Waiting:
    """The waiting steps. ``direct``: those that need the component themselves; ``total``: how many wait in all."""

    direct: tuple[BuildStep, ...] = ()
    total: int = 0


def find_waiting_steps(plan: Plan, component: str) -> Waiting:
    """The open steps that wait for a component: those that need it, and those after them by hard pairs."""
    open_steps = [planned for planned in plan.steps if planned.state != "done"]
    direct = tuple(planned.step for planned in open_steps if component in planned.step.components)
    waiting = {planned.id for planned in direct}
    for planned in open_steps:  # in the plan's order, so every step before it has been visited
        if any(need.pair.hard and need.step.id in waiting for need in planned.needs):
            waiting.add(planned.step.id)
    return Waiting(direct, len(waiting))
