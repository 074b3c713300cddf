"""Taking photos in from the browser, with a result for each file."""

from __future__ import annotations

import os
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

LONGEST_NAME_BYTES = 120
"""A file system counts a name in bytes, and most take 255 of them."""
_UNSAFE = re.compile(r"[\x00-\x1f\x7f-\x9f\ud800-\udfff<>:\"|?*]")
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
    return render_template("uploaded.html", **_ended(result, Path(room)))


def _laid_down(sent: Iterable[FileStorage], room: Path) -> list[Path]:
    """The files on disk under their own names, each in a folder of its own so that equal names stay apart."""
    laid: list[Path] = []
    for number, one in enumerate(sent):
        shelf = room / str(number)
        shelf.mkdir()
        laid.append(shelf / plain_name(one.filename or ""))
        one.save(laid[-1])
        # A browser does not tell when the file was made; the time of its arrival here is no time of a photo.
        os.utime(laid[-1], (0, 0))
    return laid


def plain_name(sent: str) -> str:
    """A file's own name without folders, control characters or names that a system keeps for its devices."""
    name = _UNSAFE.sub("_", re.split(r"[/\\]", sent)[-1]).strip(" .")
    stem, dot, ending = name.rpartition(".")
    if len(name.encode()) > LONGEST_NAME_BYTES:
        tail = (dot + ending).encode()[-12:]
        name = (stem.encode()[: LONGEST_NAME_BYTES - len(tail)] + tail).decode(errors="ignore")
    return f"_{name}" if not name or _DEVICES.fullmatch(name) else name


def _ended(result: IntakeResult, room: Path) -> dict[str, list[Ended]]:
    taken = {one.path: one.photo for one in (*result.added, *result.already)}

    def _name(path: str) -> str:
        return sent_name(path, room)

    return {
        "added": [Ended(_name(one.path), one.photo, "") for one in result.added],
        "already": [Ended(_name(one.path), one.photo, "") for one in result.already],
        "refused": [Ended(_name(one.path), None, one.message) for one in result.refused],
        "warned": [Ended(_name(one.path), taken.get(one.path), one.message) for one in result.warned],
    }


def sent_name(path: str, room: Path) -> str:
    """What the sender calls a file that was laid down in that room: its name, or ``holiday.zip: phone/one.jpg``."""
    inside = path.removeprefix(str(room)).lstrip("/\\").replace("\\", "/")
    _, _, called = inside.partition("/")
    name, _, entry = called.partition("/")
    return f"{name}: {entry}" if entry else name
