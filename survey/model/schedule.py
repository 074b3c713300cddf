"""The schedule: components of a complete machine, what the owner answered for each position, and gaps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Duty = Literal["safety", "running", "cosmetic", "paperwork"]
GapState = Literal["missing", "wrong", "short", "unseen", "not-looked"]
PositionState = Literal["missing", "wrong", "unseen", "not-fitted", "not-looked"]

DUTIES: tuple[Duty, ...] = ("safety", "running", "cosmetic", "paperwork")

POSITION_STATES: tuple[PositionState, ...] = ("missing", "wrong", "unseen", "not-fitted", "not-looked")


@dataclass(frozen=True, slots=True)
class Component:
    """One position of a catalogue or of a survey's schedule.

    ``inside`` is the id of the component it sits in. ``quantity`` is how many a complete machine has.
    ``part_class`` and ``material`` are words of the closed vocabularies in survey/data.
    ``other_materials``: families it may also be met in. ``names``: what else restorers call it.
    ``likely``: finding kinds this component usually suffers, likeliest first.
    ``everywhere``: False when not every machine of the kind carried it. ``own``: added by the owner.
    """

    id: str
    label: str
    assembly: str
    inside: str | None
    quantity: int
    duty: Duty
    part_class: str
    material: str
    other_materials: tuple[str, ...] = ()
    finish: str = ""
    names: tuple[str, ...] = ()
    often_missing: bool = False
    faults: tuple[str, ...] = ()
    likely: tuple[str, ...] = ()
    sizes: tuple[str, ...] = ()
    everywhere: bool = True
    own: bool = False


@dataclass(frozen=True, slots=True)
class Catalogue:
    """What a complete machine of a kind has. ``extras``: components some of them carried, not on a new schedule."""

    kind: str
    title: str
    components: tuple[Component, ...]
    extras: tuple[Component, ...] = ()


@dataclass(frozen=True, slots=True)
class PositionNote:
    """What the owner recorded of a position of the schedule that no part fills."""

    component: str
    state: PositionState
    note: str = ""


@dataclass(frozen=True, slots=True)
class Gap:
    """A position of the schedule that is not filled.

    ``inside_present``: what should hold it is here. ``through``: the holder whose own state implies this one.
    """

    component: Component
    state: GapState
    found: int
    note: str = ""
    inside_present: bool = False
    through: str | None = None
