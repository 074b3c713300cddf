"""What blocks what: how many steps wait for each thing that lacks, and which is the next best thing to get."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from survey.build_order.lacks import TO_LOOK, Lack
from survey.build_order.plan import Plan
from survey.model.schedule import Duty
from survey.model.wants import SCARCITIES, Scarcity

DUTY_WEIGHTS: Mapping[Duty, int] = {"safety": 3, "running": 2, "paperwork": 2, "cosmetic": 1}
"""What a step that waits for such a part weighs (judgement)."""

OFTEN_MISSING = 2
"""Scarcity of what is often missing from a heap, because so many look for it; anything else is 1 (judgement)."""

SCARCITY_WEIGHTS: Mapping[Scarcity, int] = {"common": 1, "clubs": 2, "used": 3, "nobody": 5}
"""Scarcity where its owner has said how scarce it is (judgement)."""


@dataclass(frozen=True, slots=True)
class Block:
    """A component that lacks, and what waits for it.

    ``direct``: ids of the steps that need it themselves; ``waiting``: how many steps wait in all, those among them.
    ``score`` is ``waiting`` x ``duty_weight`` x ``scarcity``. ``said``: how scarce its owner says it is, if anything.
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
        """The score as it was reckoned: ``4 steps x 3 (safety) x 2 (often missing) = 24``."""
        steps = "1 step" if self.waiting == 1 else f"{self.waiting} steps"
        often = "often missing" if self.scarcity == OFTEN_MISSING else "not often missing"
        rare = SCARCITIES[self.said] if self.said else often
        duty = self.lack.component.duty
        return f"{steps} × {self.duty_weight} ({duty}) × {self.scarcity} ({rare}) = {self.score}"

    @property
    def known(self) -> bool:
        """Whether it is known to lack; else somebody has to look for it first."""
        return self.lack.state not in TO_LOOK


def rank_blocks(found: Plan, scarce: Mapping[str, Scarcity] | None = None) -> tuple[Block, ...]:
    """Everything that holds a step up: what is known to lack before what nobody looked for, the highest score first.

    A step that is done waits for nothing. Things that score alike stand in the order of the steps that wait for them.

    Args:
        found: the plan. scarce: by component id, how scarce its owner says it is; else the catalogue speaks.
    """
    said = scarce or {}
    direct: dict[str, list[str]] = {}
    waiting: dict[str, int] = {}
    lacks: dict[str, Lack] = {}
    for one in found.steps:
        for lack in one.lacks:
            direct.setdefault(lack.component.id, []).append(one.step.id)
        for lack in (*one.lacks, *one.held_by):
            lacks[lack.component.id] = lack
            waiting[lack.component.id] = waiting.get(lack.component.id, 0) + 1
    every = [_block(lack, direct.get(name, ()), waiting[name], said.get(name, "")) for name, lack in lacks.items()]
    return tuple(sorted(every, key=lambda block: (not block.known, -block.score)))


def _block(lack: Lack, direct: Iterable[str], waiting: int, said: Scarcity) -> Block:
    component = lack.component
    scarcity = SCARCITY_WEIGHTS[said] if said else OFTEN_MISSING if component.often_missing else 1
    return Block(lack, tuple(direct), waiting, DUTY_WEIGHTS[component.duty], scarcity, said)
