"""Wants: what is to be got, how far each has got, and the sheets to take along."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, Response, render_template, request
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response as Answer

from survey.errors import BadValue
from survey.machine.verbs import get_machine
from survey.model.paper import PAPERS
from survey.model.wants import SCARCITIES, WANT_STATES, WANT_WORDS
from survey.prices import format_price
from survey.settings import load_settings
from survey.wants.sheet_verbs import write_wants_sheet
from survey.wants.verbs import drop_want, group_wants_by_stall, list_wants, set_currency, set_want
from survey.wants.want_lines import WantLine, describe_wants, select_outstanding
from web import forms
from web.current import current_survey
from web.responses import redirect_saying

pages = Blueprint("wants", __name__, url_prefix="/plan/wants")

ARRANGEMENTS = (("stall", "By kind of stall"), ("assembly", "By assembly"))
_BY = tuple(key for key, _ in ARRANGEMENTS)
_TEXTS = ("who", "also", "low", "likely", "high", "note", "scarcity")
_SHEETS = {
    "pocket": ("pocket.pdf", "pocket", "application/pdf"),
    "friend": ("friend.pdf", "friend", "application/pdf"),
    "table": ("wants.csv", "", "text/csv"),
}


@pages.get("/")
def listed() -> str:
    """Everything to get, by kind of stall or by assembly."""
    survey = current_survey()
    lines, by = list_wants(survey), _arrangement(request.args)
    return render_template(
        "wants/wants.html",
        piles=group_wants_by_stall(lines) if by == "stall" else _by_assembly(lines),
        by=by,
        arrangements=ARRANGEMENTS,
        standing=describe_wants(lines),
        to_measure=sum(bool(line.unknown) for line in select_outstanding(lines)),
        states=WANT_WORDS,
        scarcities=SCARCITIES,
        currency=get_machine(survey).currency,
        price_words=format_price,
        anchor=_anchor,
        paper=load_settings().paper,
    )


@pages.post("/state")
def state() -> Answer:
    """Say how far a want has got, at one press."""
    said = forms.word(request.form, "state", WANT_STATES)
    if said is None:
        raise BadValue("Nobody said how far it has got.", "Go back and press one of the five.")
    return _say(state=said)


@pages.post("/say")
def say() -> Answer:
    """Say of a want whom it has to do with, its sizes, its price, what would also do."""
    form: MultiDict[str, str] = request.form
    fields = {name: forms.text(form, name) for name in _TEXTS if name in form}
    sizes = dict(zip(form.getlist("size_name"), form.getlist("size"), strict=False))
    quantity = {"quantity": forms.maybe_number(form, "quantity")} if "quantity" in form else {}
    return _say(**fields, **quantity, sizes={name: size for name, size in sizes.items() if name.strip()})


@pages.post("/drop")
def drop() -> Answer:
    """Put aside what was said of a want."""
    component, label = _which()
    drop_want(current_survey(), component, label=label)
    return redirect_saying("wants.listed", "removed", by=_arrangement(request.form))


@pages.post("/currency")
def currency() -> Answer:
    """Say in which currency the survey's prices are."""
    set_currency(current_survey(), forms.text(request.form, "currency"))
    return redirect_saying("wants.listed", "noted")


@pages.get("/take/<any(pocket, friend, table):sheet>")
def take(sheet: str) -> Response:
    """The wants as a file: the pocket sheet, a friend's copy, or a table."""
    name, copy, kind = _SHEETS[sheet]
    paper = forms.word(request.args, "paper", PAPERS) or load_settings().paper
    with TemporaryDirectory(prefix="teachest-") as room:
        written = write_wants_sheet(current_survey(), Path(room) / name, copy, paper).read_bytes()
    answer = Response(written, mimetype=kind)
    answer.headers["Content-Disposition"] = f"attachment; filename={name}"
    return answer


def _say(**fields: object) -> Answer:
    component, label = _which()
    said = set_want(current_survey(), component, label=label, **fields)
    return redirect_saying("wants.listed", "noted", said.component or f"own-{said.id}", by=_arrangement(request.form))


def _which() -> tuple[str | None, str]:
    return forms.text(request.form, "component") or None, forms.text(request.form, "label")


def _arrangement(said: Mapping[str, str]) -> str:
    return forms.word(said, "by", _BY) or "stall"


def _anchor(line: WantLine) -> str:
    if line.component is not None:
        return line.component.id
    return f"own-{line.said.id}" if line.said else ""


def _by_assembly(lines: tuple[WantLine, ...]) -> dict[str, tuple[WantLine, ...]]:
    piles: dict[str, list[WantLine]] = {}
    for line in lines:
        piles.setdefault(line.assembly or "Things of your own", []).append(line)
    return {name: tuple(pile) for name, pile in piles.items()}
