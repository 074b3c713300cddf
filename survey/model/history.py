"""The history: events as they are kept, and acts as they are read."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Event:
    """One change, kept for ever. before/after are JSON objects or None; ``batch`` groups what one act changed.

    ``turns``: the batch of the act that this one takes back or does again, or None.
    """

    id: int
    at: str
    batch: str
    by: str
    verb: str
    entity: str
    entity_id: str
    before: dict[str, object] | None = None
    after: dict[str, object] | None = None
    turns: str | None = None


@dataclass(frozen=True, slots=True)
class Act:
    """What a person did at one go, in words. ``batch`` names it; ``at``: UTC time."""

    batch: str
    at: str
    by: str
    verb: str
    words: str
