"""The only reader of survey/data: hands out proved, typed tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from survey.knowledge.before import BuildOrder, build_order
from survey.knowledge.belonging import belonging
from survey.knowledge.catalogues import catalogue, catalogues, duty_unless_said
from survey.knowledge.findings import finding_kind, finding_kinds
from survey.knowledge.gates import gate_kinds
from survey.knowledge.joints import joints
from survey.knowledge.removal import removal
from survey.knowledge.stalls import stalls
from survey.knowledge.trades import trades
from survey.knowledge.vocabulary import Vocabulary, vocabulary

if TYPE_CHECKING:
    from survey.grading.rulebook import Rulebook

__all__ = [
    "BuildOrder", "Vocabulary", "belonging", "build_order", "catalogue", "catalogues", "duty_unless_said",
    "finding_kind", "finding_kinds", "gate_kinds", "joints", "removal", "rulebook", "stalls", "trades", "vocabulary",
]  # fmt: skip


def rulebook() -> Rulebook:
    """The rulebook of this Teachest, read and proved once; raises BrokenKnowledge where it does not prove itself.

    The rules and their proof are imported only here: whoever asks for a catalogue alone does not wait for them.
    """
    from survey.knowledge import rules

    return rules.rulebook()
