"""Making and opening surveys."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path

from survey.belonging.data import load_belonging_scale
from survey.errors import BadValue, NextStep, Refusal
from survey.finding_kinds import load_finding_kinds
from survey.model.verb import Verb
from survey.outwork.data import load_trades
from survey.photos.index_records import PhotoIndex
from survey.photos.staging import has_unfinished_intake
from survey.schedule.data import load_catalogue
from survey.schedule.records import make_component_row
from survey.store.column_checks import ClosedWords
from survey.store.database import Change, create_store, open_store
from survey.store.survey import Survey, utc_now
from survey.validation import validate_text
from survey.vocabulary import load_vocabulary

MAKE_SURVEY = Verb("make survey", "Survey made", undoable=False)


@cache
def load_closed_words() -> ClosedWords:
    """The closed words of the product's data that columns of the survey hold, by vocabulary."""
    words = load_vocabulary()
    return {
        "class": words.class_,
        "material": words.material,
        "trade": {trade.id for trade in load_trades().trades},
        "finding": {kind.id for kind in load_finding_kinds()},
        "evidence": load_belonging_scale().kinds,
    }


def _with_closed_words(survey: Survey) -> Survey:
    survey.store.words = load_closed_words
    return survey


def make_survey(folder: Path, kind: str, name: str, *, by: str = "", clock: Callable[[], str] = utc_now) -> Survey:
    """Make a survey folder with its schedule from the catalogue of that kind.

    Raises:
        NoSuchThing: there is no such kind.
        BadValue: the name is empty.
        AlreadyASurvey, CannotWrite: the folder is in use, or cannot be written.
    """
    catalogue = load_catalogue(kind)
    valid_name, surveyor = validate_text("name", name), validate_text("surveyor", by)
    if not valid_name:
        raise BadValue("The survey needs a name.", NextStep.NAME_SURVEY)

    def fill(change: Change) -> None:
        change.insert("machine", {"id": 1, "name": valid_name, "kind": kind, "surveyor": surveyor})
        for ordinal, component in enumerate(catalogue.components):
            change.insert("component", make_component_row(component, ordinal))

    return _with_closed_words(Survey(folder, create_store(folder, clock, MAKE_SURVEY, fill, by), by))


def open_survey(folder: Path, *, by: str = "", clock: Callable[[], str] = utc_now) -> Survey:
    """Open a survey that is there, and finish what an interrupted intake has left.

    Raises:
        NotASurvey, ForeignDatabase, NewerSurvey, CannotWrite: see ``survey.store.database.open_store``.
    """
    survey = _with_closed_words(Survey(folder, open_store(folder, clock), by))
    if has_unfinished_intake(survey.folder):
        from survey.photos.intake import adopt_orphans

        with suppress(Refusal):  # it may be read only, or not broken off but going on; the next intake looks again
            adopt_orphans(survey.folder, PhotoIndex(survey.store, lambda: survey.by))
    return survey
