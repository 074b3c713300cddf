"""The app of one survey: the only place that sees all the pages."""

from __future__ import annotations

import errno
import logging
import mimetypes
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path

from flask import Flask, jsonify, redirect, render_template, request, url_for
from werkzeug.exceptions import HTTPException
from werkzeug.routing import IntegerConverter, RequestRedirect
from werkzeug.wrappers import Response

from survey.errors import BadValue, NoSuchThing, Refusal
from survey.history.verbs import get_undo_and_redo
from survey.machine.verbs import get_machine
from survey.settings import load_settings
from survey.shelf.verbs import open_survey
from survey.words import (
    DUTY_WORDS,
    OUTCOME_WORDS,
    SEEN_WORDS,
    STATE_WORDS,
    capitalize,
    format_count,
    format_reading,
)
from web import guard
from web.next_steps import Advice, advice
from web.pages import (
    belonging,
    build_order,
    fits,
    gates,
    grading,
    history,
    history_bin,
    machine,
    money,
    outwork,
    parts,
    parts_finding,
    photos,
    photos_marks,
    photos_pictures,
    photos_upload,
    placing,
    placing_boxes,
    report,
    schedule,
    stuck,
    today,
    wants,
)
from web.presenters.photos_drawing import fit_size, place_marks
from web.responses import accepts_json
from web.return_to import get_return_address
from web.words import (
    KEYS,
    MESSAGES,
    NEXT_WORDS,
    SEEN_SHORT,
    TAKEN_FROM,
    describe_camera,
    describe_run,
    format_day,
    format_file_size,
    format_time,
)

BODY_LIMIT_BYTES = 60 * 1024 * 1024
PAGES = (
    today, history, placing_boxes, photos, placing, photos_marks, parts, stuck, belonging, fits, parts_finding,
    schedule, build_order, report, grading, photos_pictures, photos_upload, machine, wants, outwork, history_bin,
    money, gates,
)  # fmt: skip


class _RowNumber(IntegerConverter):
    """A number in an address: plain figures, no more than a row of the database can have."""

    regex = "[0-9]{1,12}"


def create_app(folder: Path, port: int = 80, key: str | None = None) -> Flask:
    """The pages of the survey in that folder, for a browser on this machine that asks at that port.

    With a key, only who holds it is answered (see ``web.guard``); pages that no socket reaches need none.
    The survey stays open as ``app.extensions["survey"]``; whoever makes the app closes it.

    Raises:
        Refusal: the survey cannot be opened.
    """
    # Some machines have been told by other programs that a script is plain text; no browser would run it.
    mimetypes.add_type("text/javascript", ".js")
    app = Flask(__name__, static_folder="static", template_folder="templates")
    # Whoever runs this may have FLASK_DEBUG set for a program of his own.
    app.config.update(DEBUG=False, MAX_CONTENT_LENGTH=BODY_LIMIT_BYTES, MAX_FORM_PARTS=1000)
    app.jinja_options = {"trim_blocks": True, "lstrip_blocks": True}
    app.url_map.converters["int"] = _RowNumber
    guard.watch(app, port, key)
    app.extensions["survey"] = open_survey(folder, by=load_settings().surveyor)
    for page in PAGES:
        app.register_blueprint(page.pages)
    _dress(app)
    app.register_error_handler(Refusal, _refused)
    app.register_error_handler(HTTPException, _http_fault)
    app.register_error_handler(Exception, _broken)
    return app


def _dress(app: Flask) -> None:
    """What every template may say."""
    app.jinja_env.filters.update(
        many=format_count,
        capital=capitalize,
        day=format_day,
        clock=format_time,
        bytes=format_file_size,
        run=describe_run,
        camera=describe_camera,
        measured=format_reading,
        fit=fit_size,
        drawn=place_marks,
    )
    app.jinja_env.globals.update(
        OUTCOME=OUTCOME_WORDS,
        SEEN=SEEN_WORDS,
        SEEN_SHORT=SEEN_SHORT,
        STATE=STATE_WORDS,
        DUTY=DUTY_WORDS,
        DOING=NEXT_WORDS,
        KEYS=KEYS,
        TAKEN_FROM=TAKEN_FROM,
        static=_versioned(Path(app.static_folder or "")),
    )

    @app.context_processor
    def _head() -> dict[str, object]:
        said = MESSAGES.get(request.args.get("said", ""))
        survey = app.extensions["survey"]
        back = again = None
        with suppress(Refusal):  # a history that cannot be read must not keep a page from saying so
            back, again = get_undo_and_redo(survey)
        return {"machine": get_machine(survey), "said": said, "undoable": back, "redoable": again}


def _versioned(folder: Path) -> Callable[[str], str]:
    """Addresses of files of ours that change with their content, so that a browser may keep them for good."""

    @cache
    def address(name: str) -> str:
        return url_for("static", filename=name, v=sha256((folder / name).read_bytes()).hexdigest()[:12])

    return address


def _refused(refusal: Refusal) -> tuple[str | Response, int]:
    status = 404 if isinstance(refusal, NoSuchThing) else 400 if isinstance(refusal, BadValue) else 409
    return _sorry(refusal.sentence, advice(refusal.next_step, refusal.about), status), status


def _http_fault(fault: HTTPException) -> tuple[str | Response, int] | Response:
    told = {
        404: ("There is no such page.", "The survey’s pages are in the list of sections."),
        405: ("That page cannot be asked for in this way.", "Open it from the list of sections."),
        413: ("That was more than one sending may hold.", "Send fewer photos at once: some ten is a good number."),
    }
    if isinstance(fault, RequestRedirect):
        return redirect(fault.new_url, fault.code)
    code = fault.code or 500
    sentence, next_step = told.get(code, ("That request could not be read.", "Go back and send it again."))
    return _sorry(sentence, Advice(next_step), code), code


def _broken(fault: Exception) -> tuple[str | Response, int]:
    if isinstance(fault, OSError) and fault.errno in (errno.ENOSPC, errno.EDQUOT):
        room = Advice("Make room and send it again; what was saved before is safe.")
        return _sorry("The disk is full.", room, 507), 507
    logging.getLogger("teachest.web").error("%s %s failed", request.method, request.path, exc_info=fault)
    next_step = Advice("What was saved before is safe. Go back and try again.")
    return _sorry("Something in Teachest itself went wrong.", next_step, 500), 500


def _sorry(sentence: str, next_step: Advice, status: int) -> str | Response:
    if accepts_json():
        return jsonify(says=sentence, next=next_step.sentence)
    only_looked = request.method == "GET" and status == 404
    return render_template(
        "shared/sorry.html", only_looked=only_looked, sentence=sentence, next_step=next_step, back=get_return_address()
    )
