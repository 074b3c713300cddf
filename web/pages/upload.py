"""Taking photos in from the browser, with a result for each file."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, render_template, request
from werkzeug.datastructures import FileStorage

from survey import bench
from survey.errors import BadValue
from survey.model import IntakeResult
from web.desk import the_survey

pages = Blueprint("upload", __name__, url_prefix="/photos/add")

LONGEST_NAME = 120
_UNSAFE = re.compile(r"[\x00-\x1f\x7f<>:\"|?*]")
_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Ended:
    """How one file ended. ``photo`` is None where it was refused."""

    name: str
    photo: int | None
    says: str


@pages.get("")
def form() -> str:
    """Choose photos."""
    return render_template("upload.html", folder=the_survey().folder.name)


@pages.post("")
def take() -> str:
    """Take them in."""
    sent = [one for one in request.files.getlist("photos") if one.filename]
    if not sent:
        raise BadValue("No photo was chosen.", "Go back, choose one or more photos, and send them.")
    with TemporaryDirectory(prefix="teachest-") as room:
        names = _laid_down(sent, Path(room))
        result = bench.take_in(the_survey(), list(names))
    ended = _ended(result, names)
    return render_template("uploaded.html", added=ended[0], already=ended[1], refused=ended[2], warned=ended[3])


def _laid_down(sent: Iterable[FileStorage], room: Path) -> dict[Path, str]:
    """The files on disk, each in a folder of its own so that equal names stay apart; path to name."""
    names: dict[Path, str] = {}
    for number, one in enumerate(sent):
        shelf = room / str(number)
        shelf.mkdir()
        path = shelf / plain_name(one.filename or "")
        one.save(path)
        names[path] = path.name
    return names


def plain_name(sent: str) -> str:
    """A file's own name without folders, control characters or names that a system keeps for its devices."""
    name = _UNSAFE.sub("_", re.split(r"[/\\]", sent)[-1]).strip(" .")
    stem, dot, ending = name.rpartition(".")
    if len(name) > LONGEST_NAME:
        name = (stem[: LONGEST_NAME - len(ending) - 1] + dot + ending)[:LONGEST_NAME]
    return f"_{name}" if not name or _DEVICES.fullmatch(name) else name


def _ended(result: IntakeResult, names: dict[Path, str]) -> tuple[list[Ended], ...]:
    def name(path: str) -> str:
        return next((own for whole, own in names.items() if path in (str(whole), whole.as_posix(), own)), Path(path).name)

    taken = {path.path: path.photo for path in (*result.added, *result.already)}
    return (
        [Ended(name(one.path), one.photo, "") for one in result.added],
        [Ended(name(one.path), one.photo, "") for one in result.already],
        [Ended(name(one.path), None, one.message) for one in result.refused],
        [Ended(name(one.path), taken.get(one.path), one.message) for one in result.warned],
    )
