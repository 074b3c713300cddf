"""Keeping a survey safe: the folder's lock, backup, restore, snapshots, repair, export."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING

from survey import __version__
from survey.errors import BadValue, CannotWrite
from survey.photos.index_records import PhotoIndex
from survey.safekeeping import lock
from survey.safekeeping.library_versions import find_outdated_libraries
from survey.schedule.data import load_catalogues
from survey.shelf.verbs import load_closed_words
from survey.store import layout, snapshots
from survey.store.survey import Survey, utc_now

if TYPE_CHECKING:
    from survey.safekeeping.backup import WrittenBackup
    from survey.safekeeping.export import Exported
    from survey.safekeeping.rebuild import Rebuilt
    from survey.safekeeping.restore import Restored
    from survey.store.column_checks import ClosedWords


def hold_survey(folder: Path, doing: str, clock: Callable[[], str] = utc_now) -> AbstractContextManager[None]:
    """Hold the lock of the survey's folder for as long as the context lasts; one Teachest at a time can.

    Ordinary verbs do not need it: they take turns with whoever holds it.

    Args:
        doing: what is done with it, for those who come meanwhile: ``serving``.

    Raises:
        NotASurvey: no survey is there.
        SurveyBusy: another Teachest has it; says who and since when.
    """
    return lock.hold_lock(layout.require_survey(folder), doing, clock())


def find_folder_risk(folder: Path) -> str:
    """Why the folder is a poor home for a survey (a network drive, a sync program's folder); empty if it is not."""
    return lock.find_folder_risk_in(folder)


def list_old_libraries() -> list[str]:
    """Each library that opens strangers' files here and is older than it should be, in a sentence."""
    return find_outdated_libraries()


def back_up(survey: Survey, to: Path, clock: Callable[[], str] = utc_now) -> WrittenBackup:
    """Write a backup of the survey: one zip file, read again when written; the survey may be in use.

    Args:
        to: the zip file; a folder that is there gets one named after the survey's folder and the time.

    Raises:
        BadValue: it would lie in the survey itself.
        AlreadyASurvey: something of that name is there.
        ForeignDatabase: the survey's database is damaged.
        CannotWrite: the place cannot be written.
        SurveyBusy: another backup is being made.
    """
    from survey.safekeeping.backup import write_backup

    now = clock()
    file = to.resolve()
    if file.is_dir():
        file /= f"{survey.folder.name} {now.removesuffix('Z').replace('T', ' ').replace(':', '')}.zip"
    if file.is_relative_to(survey.folder):
        raise BadValue("A backup in the survey's own folder is lost with it.", "Name a place on another disk.")
    with lock.hold_lock(survey.folder, "making a backup", now, lock.KEEPING):
        return write_backup(survey.store, file, f"Teachest {__version__}", clock)


def restore_backup(file: Path, to: Path, *, replace: bool = False, clock: Callable[[], str] = utc_now) -> Restored:
    """Put a backup back as a survey in that folder; see ``survey.safekeeping.restore.restore_file``.

    The backup may be a stranger's: everything in it is checked before anything is written.
    """
    from survey.safekeeping.restore import restore_file

    return restore_file(file, to, replace, _load_words_of_backups, clock)


def take_snapshot(survey: Survey, clock: Callable[[], str] = utc_now) -> Path:
    """Copy survey.db into the folder snapshots, where the latest ten are kept; returns the copy.

    Raises:
        CannotWrite: the folder cannot be written.
    """
    return snapshots.write_snapshot(survey.store, clock())


def take_daily_snapshot(survey: Survey, clock: Callable[[], str] = utc_now) -> Path | None:
    """Copy survey.db unless that was done within the last day; None where it was, or where nothing can be written."""
    try:
        return take_snapshot(survey, clock) if snapshots.is_snapshot_due(survey.folder, clock()) else None
    except CannotWrite:
        return None


def repair_survey(survey: Survey) -> Rebuilt:
    """Rebuild what can be: missing or damaged smaller pictures, and photos in originals/ that no row names.

    Raises:
        SurveyBusy: photos are being taken in.
        CannotWrite: the folder cannot be written.
    """
    from survey.safekeeping.rebuild import rebuild_pictures

    return rebuild_pictures(survey.store, PhotoIndex(survey.store, lambda: survey.by))


def export_survey(survey: Survey, to: Path, *, originals: bool = False) -> Exported:
    """Write the survey as open data into a new folder: CSV, JSON lines, photos; see ``survey.safekeeping.export``.

    Args:
        originals: photos as they came, with the place and all else the camera wrote; if not, copies without it.

    Raises:
        BadValue: it would lie in the survey itself.
        AlreadyASurvey: something is in that place.
        CannotWrite: the place cannot be written.
    """
    from survey.document.csv_text import csv_text
    from survey.safekeeping.export import write_export

    if to.resolve().is_relative_to(survey.folder):
        raise BadValue("An export does not go into the survey's own folder.", "Name a folder elsewhere.")
    return write_export(survey.store, to, originals, csv_text)


def _load_words_of_backups() -> ClosedWords:
    return {**load_closed_words(), "machine": {catalogue.kind for catalogue in load_catalogues()}}
