"""Photos: taking them in, looking them up, recording what they show, marking them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, Literal

from survey.errors import BadValue, CannotWrite, NoSuchThing
from survey.model.photos import IntakeResult, Mark, Photo, PhotoState, Shape
from survey.model.verb import Verb
from survey.photos.index_records import PhotoIndex
from survey.photos.records import fetch_marks, fetch_photos
from survey.photos.runs import sort_by_time
from survey.store import snapshots
from survey.store.bin import find_bin_row, put_row_back, remove_links
from survey.store.row_words import describe_part_no, describe_photo_nos
from survey.store.survey import (
    Survey,
    WrittenRow,
    in_one_transaction,
    put_row_aside,
    require_live_row,
    utc_now,
)
from survey.validation import validate_text

_OF_PHOTOS = ("photo", "part_photo", "part")

PictureSize = Literal["thumb", "view", "original"]
Points = Sequence[tuple[float, float]]

REMOVE_PHOTO = Verb("remove photo", "Photo put in the bin")
NOTE_PHOTO = Verb("note photo", "Photo noted")
SET_ASIDE = Verb("set aside", "Photo set aside")
BRING_BACK = Verb("bring back", "Photo brought back")
PLACE_PHOTO = Verb("place photo", "Photo placed")
UNPLACE_PHOTO = Verb("unplace photo", "Photo taken off the part")
ADD_MARK = Verb("mark", "Mark drawn")
MOVE_MARK = Verb("move mark", "Mark moved")
REMOVE_MARK = Verb("remove mark", "Mark put aside")
PHOTO_VERBS = (
    REMOVE_PHOTO, NOTE_PHOTO, SET_ASIDE, BRING_BACK, PLACE_PHOTO, UNPLACE_PHOTO, ADD_MARK, MOVE_MARK, REMOVE_MARK,
)  # fmt: skip


def take_snapshot_before_intake(survey: Survey, clock: Callable[[], str] = utc_now) -> Path | None:
    """Copy survey.db before photos come in, unless that was done within the hour or nothing is recorded yet."""
    try:
        now = clock()
        due = snapshots.is_snapshot_due_before_intake(survey.store, now)
        return snapshots.write_snapshot(survey.store, now, "intake") if due else None
    except CannotWrite:
        return None


def take_in_photos(
    survey: Survey, sources: Sequence[Path], progress: Callable[[int, int, str], None] | None = None
) -> IntakeResult:
    """Take in folders, files and zip files of photos; every file ends as added, already here, or refused.

    A photo that is here already but lies in the bin is put back. The database is copied first, once an hour at most.

    Args:
        progress: called as ``progress(done, total, name)`` after each file has ended.

    Raises:
        NoSuchThing: a source is not there.
        BadValue: a source lies in the survey itself.
        CannotWrite: the survey's folder cannot be written.
    """
    from survey.photos import intake

    for source in sources:
        if not source.exists() and not source.is_symlink():
            raise NoSuchThing(f"There is no file or folder {str(source)!r}.", "Name a folder, a photo or a zip file.")
        if source.resolve().is_relative_to(survey.folder):
            raise BadValue(
                f"{str(source)!r} is the survey itself or lies in it.", "Name the folder the phone's photos are in."
            )
    take_snapshot_before_intake(survey)
    result = intake.run_intake(survey.folder, sources, PhotoIndex(survey.store, lambda: survey.by), progress)
    for photo_id in {taken.photo for taken in result.already}:
        if survey.store.row("SELECT 1 FROM photo WHERE id = ? AND gone_at IS NOT NULL", [photo_id]):
            in_bin = find_bin_row(survey.store, "photo", photo_id)
            put_row_back(survey.store, "photo", in_bin, survey.by)
    return result


def list_photos(survey: Survey, state: PhotoState | None = None) -> list[Photo]:
    """Photos in the order they were taken, those without a time last; all, or those of one state."""
    ordered = survey.kept(
        "photos",
        _OF_PHOTOS,
        lambda: sort_by_time(fetch_photos(survey.store)),
        lambda kept, touched: _refresh_photos(survey, kept, touched),
    )
    return [photo for photo in ordered if state is None or photo.state == state]


def _refresh_photos(survey: Survey, kept: list[Photo], touched: list[WrittenRow]) -> list[Photo]:
    """The cached photos, with those read again that the written rows are about."""
    numbers = {row["id"] if table == "photo" else row["photo"] for table, row in touched if table != "part"}
    for part in {row["id"] for table, row in touched if table == "part"}:
        numbers.update(row["photo"] for row in survey.store.rows("SELECT photo FROM part_photo WHERE part = ?", [part]))
    reread = fetch_photos(survey.store, sorted(numbers))
    return sort_by_time([photo for photo in kept if photo.id not in numbers] + reread)


def get_photo(survey: Survey, photo_id: int) -> Photo:
    """One photo.

    Raises:
        NoSuchThing: no such photo.
    """
    require_live_row(survey, "photo", photo_id)
    return fetch_photos(survey.store, [photo_id])[0]


def change_photo(survey: Survey, photo_id: int, note: str | None = None, box: str | None = None) -> Photo:
    """Write a note on a photo, or the box it was unpacked from; None leaves it as it is."""
    require_live_row(survey, "photo", photo_id)
    changes = {name: validate_text(name, text) for name, text in (("note", note), ("box", box)) if text is not None}
    if changes:
        with survey.store.change(NOTE_PHOTO, survey.by) as change:
            change.update("photo", [photo_id], changes)
    return get_photo(survey, photo_id)


def set_photos_aside(survey: Survey, photo_ids: Iterable[int], aside: bool = True) -> None:
    """Set photos aside that need no placing (blurred, a thumb), or bring them back."""
    ids = list(photo_ids)
    for photo_id in ids:
        require_live_row(survey, "photo", photo_id)
    with survey.store.change(SET_ASIDE if aside else BRING_BACK, survey.by) as change:
        for photo_id in ids:
            change.update("photo", [photo_id], {"aside": int(aside)})


@in_one_transaction
def remove_photo(survey: Survey, photo_id: int) -> None:
    """Put a photo in the bin, with its marks and off its parts and findings; its bytes stay until the bin is emptied.

    Raises:
        NoSuchThing: no such photo.
    """
    require_live_row(survey, "photo", photo_id)
    with survey.store.change(REMOVE_PHOTO, survey.by) as change:
        remove_links(survey.store, change, "photo", photo_id)
        change.update("photo", [photo_id], {"gone_at": change.at})


def place_photo(survey: Survey, photo_id: int, part_id: int) -> Photo:
    """Record that the photo shows the part; a photo may show several."""
    require_live_row(survey, "photo", photo_id)
    require_live_row(survey, "part", part_id)
    with survey.store.change(PLACE_PHOTO, survey.by) as change:
        link_photo(change, part_id, photo_id)
    return get_photo(survey, photo_id)


def unplace_photo(survey: Survey, photo_id: int, part_id: int) -> Photo:
    """Take back that the photo shows the part."""
    require_live_row(survey, "photo", photo_id)
    with survey.store.change(UNPLACE_PHOTO, survey.by) as change:
        change.remove("part_photo", [part_id, photo_id])
    return get_photo(survey, photo_id)


def link_photo(change: Any, part_id: int, photo_id: int) -> None:
    """Within an act: the photo shows the part, once; a photo that was set aside comes back."""
    if change.update("part_photo", [part_id, photo_id], {"photo": photo_id}) is None:
        change.insert("part_photo", {"part": part_id, "photo": photo_id})
    change.update("photo", [photo_id], {"aside": 0})


def list_marks(survey: Survey, photo_id: int) -> list[Mark]:
    """The marks drawn on a photo."""
    require_live_row(survey, "photo", photo_id)
    return fetch_marks(survey.store, photo_id)


def add_mark(
    survey: Survey, photo_id: int, shape: Shape, points: Points, part: int | None = None, finding: int | None = None
) -> Mark:
    """Draw a pin (1 point), box (2 corners) or outline (3 to 500 points); fractions of the upright picture.

    Raises:
        BadValue: the points do not fit the shape or lie outside the picture.
        NoSuchThing: no such photo, part or finding.
    """
    require_live_row(survey, "photo", photo_id)
    if part is not None:
        require_live_row(survey, "part", part)
    if finding is not None:
        part = int(require_live_row(survey, "finding", finding)["part"])
    valid_points = validate_points(shape, points)
    with survey.store.change(ADD_MARK, survey.by) as change:
        row = change.insert("mark", make_mark_row(photo_id, shape, valid_points, part, finding))
    return Mark(row["id"], photo_id, part, finding, shape, valid_points)


def move_mark(survey: Survey, mark_id: int, points: Points) -> Mark:
    """Move a mark, or change its outline; its shape and what it points at stay.

    Raises:
        NoSuchThing: no such mark.
        BadValue: the points do not fit its shape or lie outside the picture.
    """
    row = require_live_row(survey, "mark", mark_id)
    valid_points = validate_points(row["shape"], points)
    with survey.store.change(MOVE_MARK, survey.by) as change:
        change.update("mark", [mark_id], {"points": json.dumps(valid_points)})
    return Mark(mark_id, row["photo"], row["part"], row["finding"], row["shape"], valid_points)


def remove_mark(survey: Survey, mark_id: int) -> None:
    """Put a mark aside."""
    put_row_aside(survey, "mark", mark_id, REMOVE_MARK)


def make_mark_row(photo_id: int, shape: Shape, points: Points, part: int | None, finding: int | None) -> dict[str, Any]:
    """The row that keeps a mark."""
    return {"photo": photo_id, "part": part, "finding": finding, "shape": shape, "points": json.dumps(points)}


def validate_points(shape: Shape, points: Points) -> tuple[tuple[float, float], ...]:
    """The points, if they make that shape inside the picture.

    Raises:
        BadValue: they do not.
    """
    wanted = {"pin": (1, 1), "box": (2, 2), "outline": (3, 500)}.get(shape)
    if wanted is None:
        raise BadValue(f"{shape!r} is no mark.", "Draw a pin, a box or an outline.")
    least, most = wanted
    if not least <= len(points) <= most:
        count = str(least) if least == most else f"{least} to {most}"
        raise BadValue(f"A mark of shape {shape} has {count} points, not {len(points)}.", "Draw it again.")
    if not all(0.0 <= value <= 1.0 for point in points for value in point):
        raise BadValue(
            "A mark lies inside the picture: both numbers between 0 and 1.",
            "0.5,0.5 is the middle, 0,0 the top left corner.",
        )
    return tuple((float(x), float(y)) for x, y in points)


def get_picture_path(survey: Survey, photo_id: int, size: PictureSize) -> Path:
    """The file of a photo: the original, or an upright copy without metadata (thumb about 480, view about 1,800 px)."""
    row = require_live_row(survey, "photo", photo_id)
    original: Path = survey.folder / row["path"]
    if size == "original":
        return original
    from survey.photos import pictures

    return pictures.get_picture(survey.folder, original, row["sha256"], size)


def describe_placing(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows are that place photos on a part, in words."""
    return f"{describe_photo_nos(row['photo'] for row in rows)}, {describe_part_no(survey, rows[0]['part'])}"


def describe_mark(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What a mark's row is, in words."""
    return f"{rows[0]['shape']} of {len(json.loads(rows[0]['points']))} on photo {rows[0]['photo']}"


def describe_photo(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the rows of photos are, in words."""
    return describe_photo_nos(row["id"] for row in rows)
