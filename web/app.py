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

from survey import bench
from survey.errors import BadValue, NoSuchThing, Refusal
from survey.settings import load_settings
from web import guard, words
from web.answers import wants_json
from web.back import way_back
from web.next_steps import Advice, advice
from web.pages import (
    acts,
    belongs,
    binned,
    boxes,
    finding,
    fits,
    gaps,
    gates,
    machine,
    marking,
    money,
    outwork,
    parts,
    photos,
    pictures,
    plan,
    report,
    rules,
    several,
    stuck,
    today,
    upload,
    wants,
)
from web.show import drawing

BODY_LIMIT_BYTES = 60 * 1024 * 1024
PAGES = (
    today, acts, boxes, photos, several, marking, parts, stuck, belongs, fits, finding, gaps, plan, report, rules,
    pictures, upload, machine, wants, outwork, binned, money, gates,
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
    app.extensions["survey"] = bench.open_survey(folder, by=load_settings().surveyor)
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
        many=words.many,
        capital=bench.capital,
        day=words.day,
        clock=words.clock,
        bytes=words.size_words,
        run=words.run_words,
        camera=words.camera_words,
        measured=bench.reading_in_words,
        fit=drawing.fit,
        drawn=drawing.drawn,
    )
    app.jinja_env.globals.update(
        OUTCOME=words.OUTCOME_WORDS,
        SEEN=words.SEEN_WORDS,
        SEEN_SHORT=words.SEEN_SHORT,
        STATE=words.STATE_WORDS,
        DUTY=words.DUTY_WORDS,
        DOING=words.DOING,
        KEYS=words.KEYS,
        TAKEN_FROM=words.TAKEN_FROM,
        static=_versioned(Path(app.static_folder or "")),
    )

    @app.context_processor
    def _head() -> dict[str, object]:
        said = words.SAID.get(request.args.get("said", ""))
        survey = app.extensions["survey"]
        back = again = None
        with suppress(Refusal):  # a history that cannot be read must not keep a page from saying so
            back, again = bench.next_turns(survey)
        return {"machine": bench.machine(survey), "said": said, "undoable": back, "redoable": again}


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
    if wants_json():
        return jsonify(says=sentence, next=next_step.sentence)
    only_looked = request.method == "GET" and status == 404
    return render_template(
        "sorry.html", only_looked=only_looked, sentence=sentence, next_step=next_step, back=way_back()
    )
