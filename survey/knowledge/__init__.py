"""The only reader of survey/data: hands out proved, typed tables. The rules stand apart in survey.knowledge.rules."""

from survey.knowledge.catalogues import catalogue, catalogues
from survey.knowledge.findings import finding_kind, finding_kinds
from survey.knowledge.vocabulary import Vocabulary, vocabulary

__all__ = ["Vocabulary", "catalogue", "catalogues", "finding_kind", "finding_kinds", "vocabulary"]
