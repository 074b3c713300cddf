"""Which steps of the build wait for one component, directly and in all."""

from __future__ import annotations

from dataclasses import dataclass

from survey.build_order.plan import Plan
from survey.model.build_order import BuildStep


@dataclass(frozen=True, slots=True)
class Waiting:
    """``direct``: the steps still to do that need it; ``total``: how many wait in all, those among them."""

    direct: tuple[BuildStep, ...] = ()
    total: int = 0


def find_waiting_steps(found: Plan, component: str) -> Waiting:
    """What waits for a component: the steps that name it, and whatever may not be begun before those (hard pairs)."""
    still = [one for one in found.steps if one.state != "done"]
    direct = tuple(one.step for one in still if component in one.step.components)
    held = {step.id for step in direct}
    for one in still:  # they stand in order, so what goes before has been met
        if any(need.pair.hard and need.step.id in held for need in one.needs):
            held.add(one.step.id)
    return Waiting(direct, len(held))
