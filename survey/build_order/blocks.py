"""What blocks the build: how many steps wait for each thing that lacks, and what is best to get next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from survey.build_order.lacks import STATES_TO_LOOK_FOR, Lack
from survey.build_order.plan import Plan
from survey.model.schedule import Duty
from survey.model.wants import SCARCITIES, Scarcity

DUTY_WEIGHTS: Mapping[Duty, int] = {"safety": 3, "running": 2, "paperwork": 2, "cosmetic": 1}
"""The weight of each step that waits for a part of that duty (judgement)."""

OFTEN_MISSING = 2
"""Scarcity of what is often missing from a heap, because many people look for it; otherwise 1 (judgement)."""

SCARCITY_WEIGHTS: Mapping[Scarcity, int] = {"common": 1, "clubs": 2, "used": 3, "nobody": 5}
"""Scarcity if the owner has recorded how scarce it is (judgement)."""


@dataclass(frozen=True, slots=True)
class Block:
    """A component that lacks, and what waits for it.

    ``direct``: ids of the steps that need it themselves; ``waiting``: how many steps wait in all, including those.
    ``score`` is ``waiting`` x ``duty_weight`` x ``scarcity``. ``said``: how scarce the owner says it is, or empty.
    """

    lack: Lack
    direct: tuple[str, ...]
    waiting: int
    duty_weight: int
    scarcity: int
    said: Scarcity = ""

    @property
    def score(self) -> int:
        """How much it is worth to have it."""
        return self.waiting * self.duty_weight * self.scarcity

    @property
    def arithmetic(self) -> str:
        """How the score is computed: ``4 steps x 3 (safety) x 2 (often missing) = 24``."""
        steps = "1 step" if self.waiting == 1 else f"{self.waiting} steps"
        often = "often missing" if self.scarcity == OFTEN_MISSING else "not often missing"
        rare = SCARCITIES[self.said] if self.said else often
        duty = self.lack.component.duty
        return f"{steps} × {self.duty_weight} ({duty}) × {self.scarcity} ({rare}) = {self.score}"

    @property
    def known(self) -> bool:
        """Whether it is known to lack; if not, somebody has to look for it first."""
        return self.lack.state not in STATES_TO_LOOK_FOR


def rank_blocks(plan: Plan, scarce: Mapping[str, Scarcity] | None = None) -> tuple[Block, ...]:
    """Everything that blocks a step: what is known to lack before what nobody looked for, the highest score first.

    A step that is done waits for nothing. Equal scores come in the order of the steps that wait for them.

    Args:
        plan: the plan.
        scarce: by component id, how scarce the owner says it is; without that the catalogue decides.
    """
    scarcities = scarce or {}
    direct: dict[str, list[str]] = {}
    waiting: dict[str, int] = {}
    lacks: dict[str, Lack] = {}
    for planned in plan.steps:
        for lack in planned.lacks:
            direct.setdefault(lack.component.id, []).append(planned.step.id)
        for lack in (*planned.lacks, *planned.held_by):
            lacks[lack.component.id] = lack
            waiting[lack.component.id] = waiting.get(lack.component.id, 0) + 1
    blocks = [
        _make_block(lack, direct.get(name, ()), waiting[name], scarcities.get(name, "")) for name, lack in lacks.items()
    ]
    return tuple(sorted(blocks, key=lambda block: (not block.known, -block.score)))


def _make_block(lack: Lack, direct: Iterable[str], waiting: int, owner_says: Scarcity) -> Block:
    component = lack.component
    scarcity = SCARCITY_WEIGHTS[owner_says] if owner_says else OFTEN_MISSING if component.often_missing else 1
    return Block(lack, tuple(direct), waiting, DUTY_WEIGHTS[component.duty], scarcity, owner_says)
