"""Finding kinds in the order one looks for them on a part."""

from __future__ import annotations

from collections.abc import Sequence

from survey.model.parts import FindingKind
from survey.model.schedule import Component

LIKELY = "What this part usually suffers"
REST = "Everything else"


def sort_likely_first(component: Component | None, kinds: Sequence[FindingKind]) -> dict[str, list[FindingKind]]:
    """Heading to kinds: first those the component usually suffers, likeliest first, then the rest."""
    by_id = {kind.id: kind for kind in kinds}
    likely = [by_id[kind] for kind in (component.likely if component else ()) if kind in by_id]
    rest = [kind for kind in kinds if kind not in likely]
    return {heading: pile for heading, pile in ((LIKELY, likely), (REST, rest)) if pile}
