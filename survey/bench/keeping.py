"""Keeping a survey safe: one holder at a time."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

from survey.bench.survey import utc_now
from survey.folder import layout, lock


def hold(folder: Path, doing: str, clock: Callable[[], str] = utc_now) -> AbstractContextManager[None]:
    """Have the survey's folder in hand for as long as the context lasts; one Teachest at a time can.

    Ordinary verbs need it not: they take turns with whoever holds it.

    Args:
        doing: what is done with it, for those who come meanwhile: ``serving``.

    Raises:
        NotASurvey: no survey is there.
        SurveyBusy: another Teachest has it; says who and since when.
    """
    return lock.held(layout.require_survey(folder), doing, clock())


def risky_place(folder: Path) -> str:
    """Why the folder is a poor home for a survey (a network drive, a sync program's folder); empty if it is not."""
    return lock.risky_place(folder)
