"""Grading: rule tables, their proof, the verdict. Pure: no files, no SQL, no clock."""

from survey.grading.explain import HeldReading, held_readings, when_in_words, within_in_words
from survey.grading.facts import HARDNESS, UNKNOWN, Measured, PartFacts, harder
from survey.grading.readings import Limit, ReadingKind
from survey.grading.reasons import Reason, numbers_of, reasons
from survey.grading.rows import Row, RuleTable
from survey.grading.rulebook import Rulebook
from survey.grading.verdict import judge

__all__ = [
    "HARDNESS",
    "UNKNOWN",
    "HeldReading",
    "Limit",
    "Measured",
    "PartFacts",
    "ReadingKind",
    "Reason",
    "Row",
    "RuleTable",
    "Rulebook",
    "harder",
    "held_readings",
    "judge",
    "numbers_of",
    "reasons",
    "when_in_words",
    "within_in_words",
]
