"""The palette of findings on a photo page: for one part, what it usually suffers first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from survey.model.grading import Seen
from survey.model.parts import FindingKind
from survey.parts.finding_verbs import get_default_seen
from web.presenters.photos_shown import ShownPart


@dataclass(frozen=True, slots=True)
class Palette:
    """``part``: the part it is for. ``seen``: how it counts as looked at until somebody says otherwise."""

    part: int
    seen: Seen
    likely: tuple[FindingKind, ...]
    rest: tuple[FindingKind, ...]


def make_palette(shown: Sequence[ShownPart], wanted: int | None, kinds: Sequence[FindingKind]) -> Palette | None:
    """The palette of the part that is wanted, else of the one recorded last; None where the photo shows none."""
    if not shown:
        return None
    entry = next((one for one in shown if one.graded.part.id == wanted), None)
    chosen = entry or max(shown, key=lambda one: one.graded.part.id)
    component = chosen.graded.component
    by_id = {kind.id: kind for kind in kinds}
    likely = [by_id[kind] for kind in (component.likely if component else ()) if kind in by_id]
    rest = [kind for kind in kinds if kind not in likely]
    return Palette(chosen.graded.part.id, get_default_seen(component), tuple(likely), tuple(rest))
