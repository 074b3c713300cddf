"""Wants: what is to be got, how far each has got, and the sheets to take along."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, Response, render_template, request
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response as Answer

from survey import bench
from survey.errors import BadValue
from survey.model import PAPERS
from survey.settings import load_settings
from web import forms
from web.answers import see
from web.desk import the_survey

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
    survey = the_survey()
    lines, by = bench.wants(survey), _arrangement(request.args)
    return render_template(
        "wants.html",
        piles=bench.wants_by_stall(lines) if by == "stall" else _by_assembly(lines),
        by=by,
        arrangements=ARRANGEMENTS,
        standing=bench.wants_in_words(lines),
        to_measure=sum(bool(line.unknown) for line in bench.outstanding(lines)),
        states=bench.WANT_WORDS,
        scarcities=bench.SCARCITIES,
        currency=bench.machine(survey).currency,
        price_words=bench.price_words,
        anchor=_anchor,
        paper=load_settings().paper,
    )


@pages.post("/state")
def state() -> Answer:
    """Say how far a want has got, at one press."""
    said = forms.word(request.form, "state", bench.WANT_STATES)
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
    bench.drop_want(the_survey(), component, label=label)
    return see("wants.listed", "removed", by=_arrangement(request.form))


@pages.post("/currency")
def currency() -> Answer:
    """Say in which currency the survey's prices are."""
    bench.set_currency(the_survey(), forms.text(request.form, "currency"))
    return see("wants.listed", "noted")


@pages.get("/take/<any(pocket, friend, table):sheet>")
def take(sheet: str) -> Response:
    """The wants as a file: the pocket sheet, a friend's copy, or a table."""
    name, copy, kind = _SHEETS[sheet]
    paper = forms.word(request.args, "paper", PAPERS) or load_settings().paper
    with TemporaryDirectory(prefix="teachest-") as room:
        written = bench.wants_paper(the_survey(), Path(room) / name, copy, paper).read_bytes()
    answer = Response(written, mimetype=kind)
    answer.headers["Content-Disposition"] = f"attachment; filename={name}"
    return answer


def _say(**fields: object) -> Answer:
    component, label = _which()
    said = bench.set_want(the_survey(), component, label=label, **fields)
    return see("wants.listed", "noted", said.component or f"own-{said.id}", by=_arrangement(request.form))


def _which() -> tuple[str | None, str]:
    return forms.text(request.form, "component") or None, forms.text(request.form, "label")


def _arrangement(said: Mapping[str, str]) -> str:
    return forms.word(said, "by", _BY) or "stall"


def _anchor(line: bench.WantLine) -> str:
    if line.component is not None:
        return line.component.id
    return f"own-{line.said.id}" if line.said else ""


def _by_assembly(lines: tuple[bench.WantLine, ...]) -> dict[str, tuple[bench.WantLine, ...]]:
    piles: dict[str, list[bench.WantLine]] = {}
    for line in lines:
        piles.setdefault(line.assembly or "Things of your own", []).append(line)
    return {name: tuple(pile) for name, pile in piles.items()}
