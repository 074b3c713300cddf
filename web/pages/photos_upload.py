"""Taking photos in from the browser, with a result for each file.

A form sends many at once and is answered with a page; the script of ``<upload-queue>`` sends one at a time and asks for
JSON.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, current_app, jsonify, render_template, request, url_for
from werkzeug.datastructures import FileStorage
from werkzeug.wrappers import Response

from survey.errors import BadValue
from survey.history.verbs import list_events
from survey.model.photos import IntakeResult
from survey.photos.verbs import take_in_photos
from web.current import current_survey
from web.responses import accepts_json

pages = Blueprint("upload", __name__, url_prefix="/photos/add")

HOW = {"refused": "Refused", "warned": "Taken in with a warning", "already": "Already here", "added": "Taken in"}
"""How a file may end, the ones to look at first."""

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


@pages.app_context_processor
def _queue() -> dict[str, str]:
    """What a page says to ``<upload-queue>`` and ``<upload-status>``: whose files wait in the browser."""
    return {"upload_key": _survey_key()}


def _survey_key() -> str:
    """Names this survey among others that the same browser has seen at the same address, wherever its folder lies."""
    if "upload_key" not in current_app.extensions:
        current_app.extensions["upload_key"] = list_events(current_survey(), "machine", "1")[0].batch
    return str(current_app.extensions["upload_key"])


@pages.get("")
def form() -> str:
    """Choose photos."""
    most = current_app.config["MAX_CONTENT_LENGTH"]
    return render_template("photos/upload.html", folder=current_survey().folder.name, most_bytes=most, how=HOW)


@pages.post("")
def take() -> str | Response:
    """Take them in."""
    sent = [one for one in request.files.getlist("photos") if one.filename]
    if not sent:
        raise BadValue("No photo was chosen.", "Go back, choose one or more photos, and send them.")
    with TemporaryDirectory(prefix="teachest-") as room:
        result = take_in_photos(current_survey(), _laid_down(sent, Path(room), _modified()))
    ended = _ended(result, Path(room))
    return (
        jsonify(files=_told(ended)) if accepts_json() else render_template("photos/uploaded.html", ended=ended, how=HOW)
    )


def _told(ended: dict[str, list[Ended]]) -> list[dict[str, object]]:
    """Every file once, with where its photo is; one with a warning is told as that."""
    warned = {one.photo for one in ended["warned"]}
    return [
        asdict(one) | {"how": how, "address": url_for("photos.one", photo_id=one.photo) if one.photo else ""}
        for how in HOW
        for one in ended[how]
        if how == "warned" or one.photo is None or one.photo not in warned
    ]


def _modified() -> float:
    """The one file's own time in seconds, as the browser tells it; 0, a time no photo can have, where it does not."""
    told = request.form.get("modified", "")
    return int(told) / 1000 if told.isascii() and told.isdigit() and len(told) < 15 else 0.0


def _laid_down(sent: Iterable[FileStorage], room: Path, modified: float) -> list[Path]:
    """The files on disk under their own names, each in a folder of its own so that equal names stay apart.

    The time of its arrival here is no time of a photo, so each gets the time it had where it came from.
    """
    laid: list[Path] = []
    for number, one in enumerate(sent):
        shelf = room / str(number)
        shelf.mkdir()
        laid.append(shelf / plain_name(one.filename or ""))
        one.save(laid[-1])
        os.utime(laid[-1], (modified, modified))
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
