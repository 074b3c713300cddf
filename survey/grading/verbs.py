"""The rulebook, the vocabulary, and the cautions for given components."""

from __future__ import annotations

from collections.abc import Iterable

from survey.grading.cautions import Caution, select_cautions
from survey.grading.data import load_rulebook
from survey.grading.rulebook import Rulebook
from survey.model.schedule import Component
from survey.vocabulary import Vocabulary, load_vocabulary


def get_rulebook() -> Rulebook:
    """The rulebook, read and validated."""
    return load_rulebook()


def get_vocabulary() -> Vocabulary:
    """The closed words that catalogues and rules use."""
    return load_vocabulary()


def list_cautions(components: Iterable[Component]) -> tuple[Caution, ...]:
    """The cautions for working on these components."""
    return select_cautions(components)
