"""Steps of the dry build, and pairs of what goes on before what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Phase = Literal["proof", "build", "finish"]
StepState = Literal["done", "ready", "later", "blocked"]
StepAnswer = Literal["done", "not-needed"]

PHASES: tuple[Phase, ...] = ("proof", "build", "finish")

STEP_ANSWERS: tuple[StepAnswer, ...] = ("done", "not-needed")

STEP_WORDS: dict[StepState, str] = {
    "done": "done",
    "ready": "can be done now",
    "later": "after others",
    "blocked": "held up",
}


@dataclass(frozen=True, slots=True)
class BuildStep:
    """A step of the dry build. ``components``: ids that must be in hand for it.

    ``skip``: whether an owner may say that the machine does not need it. ``caution``: the danger in it, or empty.
    ``examined``: whether a part that must be examined first holds it up; dry and under no load it does not.
    """

    id: str
    label: str
    phase: Phase
    components: tuple[str, ...] = ()
    skip: bool = True
    caution: str = ""
    examined: bool = False


@dataclass(frozen=True, slots=True)
class BeforePair:
    """``first`` goes before ``then``, because. ``own``: number of the owner's pair, None for the catalogue's.

    ``keeps``: it keeps somebody from harm, or the papers from being lost; nobody puts it out of use.
    """

    id: str
    first: str
    then: str
    because: str
    hard: bool = True
    keeps: bool = False
    source: str = ""
    own: int | None = None
