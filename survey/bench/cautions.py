"""What to be careful of."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from survey.model import Component
    from survey.paper.data import Caution


def cautions(components: Iterable[Component]) -> tuple[Caution, ...]:
    """The dangers of working on such components, each with what to do about it and who says so."""
    from survey.paper.cautions import cautions_for

    return cautions_for(components)
