"""The only reader of survey/data: hands out proved, typed tables."""

from survey.knowledge.catalogues import catalogue, catalogues
from survey.knowledge.findings import finding_kind, finding_kinds
from survey.knowledge.rules import rulebook
from survey.knowledge.vocabulary import Vocabulary, vocabulary

__all__ = ["Vocabulary", "catalogue", "catalogues", "finding_kind", "finding_kinds", "rulebook", "vocabulary"]
