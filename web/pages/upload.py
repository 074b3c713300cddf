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
        result = bench.take_in(the_survey(), _laid_down(sent, Path(room)))
    return render_template("uploaded.html", **_ended(result))


def _laid_down(sent: Iterable[FileStorage], room: Path) -> list[Path]:
    """The files on disk under their own names, each in a folder of its own so that equal names stay apart."""
    laid: list[Path] = []
    for number, one in enumerate(sent):
        shelf = room / str(number)
        shelf.mkdir()
        laid.append(shelf / plain_name(one.filename or ""))
        one.save(laid[-1])
    return laid


def plain_name(sent: str) -> str:
    """A file's own name without folders, control characters or names that a system keeps for its devices."""
    name = _UNSAFE.sub("_", re.split(r"[/\\]", sent)[-1]).strip(" .")
    stem, dot, ending = name.rpartition(".")
    if len(name) > LONGEST_NAME:
        name = (stem[: LONGEST_NAME - len(ending) - 1] + dot + ending)[:LONGEST_NAME]
    return f"_{name}" if not name or _DEVICES.fullmatch(name) else name


def _ended(result: IntakeResult) -> dict[str, list[Ended]]:
    taken = {one.path: one.photo for one in (*result.added, *result.already)}
    return {
        "added": [Ended(_name(one.path), one.photo, "") for one in result.added],
        "already": [Ended(_name(one.path), one.photo, "") for one in result.already],
        "refused": [Ended(_name(one.path), None, one.message) for one in result.refused],
        "warned": [Ended(_name(one.path), taken.get(one.path), one.message) for one in result.warned],
    }


def _name(path: str) -> str:
    return re.split(r"[/\\]", path)[-1]
