"""A verb of the history: the name that the database keeps of an act, and what is written of it.

Each is declared in the module of the function that does it; ``survey.history.verbs`` collects them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Verb:
    """What a person does in one act.

    ``name``: what the database keeps; surveys in the world hold it, so it never changes. ``past``: that it was done,
    as the history writes it. ``undoable``: whether undo takes it back. ``ends_undo``: nothing done before it is taken
    back any more, for it may speak of what is gone for good.
    """

    name: str
    past: str
    undoable: bool = True
    ends_undo: bool = False
