"""What to be careful of."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from survey.grading.cautions import Caution
    from survey.model.schedule import Component
from survey.grading.data import load_rulebook
from survey.grading.rulebook import Rulebook
from survey.vocabulary import Vocabulary, load_vocabulary


def get_rulebook() -> Rulebook:
    """The rules, read and proved."""
    return load_rulebook()


def get_vocabulary() -> Vocabulary:
    """The closed words that catalogues and rules use."""
    return load_vocabulary()


def list_cautions(components: Iterable[Component]) -> tuple[Caution, ...]:
    """The dangers of working on such components, each with what to do about it and who says so."""
    from survey.grading.cautions import cautions_for

    return cautions_for(components)
