"""Checking a whole survey: its database, its originals, and the rules it is graded by."""

from __future__ import annotations

from dataclasses import dataclass

from survey.errors import NextStep
from survey.grading.data import load_rulebook
from survey.safekeeping.integrity import find_damaged_originals, find_database_faults, find_stray_originals
from survey.store.survey import Survey

_MOVE_IT_OUT = "It is not as Teachest would have kept it: look at it, and move it out of the survey."


@dataclass(frozen=True, slots=True)
class Problem:
    """Something found wrong with a survey: what it is about, what is wrong, and what to do."""

    where: str
    what: str
    next_step: str | NextStep


def check_survey(survey: Survey) -> list[Problem]:
    """Read the whole survey: the database's integrity, every original against its hash, and unknown files.

    Also validates the rules and catalogues. An empty list means that everything is whole.
    """
    load_rulebook()
    problems = [
        Problem("survey.db", fault, "Restore survey.db from a copy; the newest one may be in the folder snapshots.")
        for fault in find_database_faults(survey.store)
    ]
    problems += [
        Problem(path, fault, "Take the photo in again from the phone or a backup.")
        for path, fault in find_damaged_originals(survey.store)
    ]
    problems += [
        Problem(path, "no photo of the survey names this file", NextStep.TAKE_IN_COPY if whole else _MOVE_IT_OUT)
        for path, whole in find_stray_originals(survey.store)
    ]
    return problems
