"""Outwork: what is away, what can go to whom next, and each batch with its docket."""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from flask import Blueprint, Response, render_template, request, url_for
from werkzeug.wrappers import Response as Answer

from survey.errors import BadValue, NoSuchThing
from survey.machine.verbs import get_machine
from survey.model.outwork import HYDROGEN_WORDS, THREADS_WORDS
from survey.model.paper import PAPERS
from survey.outwork.checks import ANSWER_WORDS, select_open_checks
from survey.outwork.docket_verbs import list_outwork_lines, render_docket, write_docket
from survey.outwork.verbs import (
    add_to_batch,
    change_batch,
    change_item,
    close_batch,
    describe_outwork,
    get_batch,
    get_trades,
    list_batches,
    list_departure_checks,
    list_overdue_batches,
    list_parts_to_examine,
    list_returns,
    make_batch,
    receive_item,
    remove_batch,
    remove_item,
    send_batch,
    suggest_batches,
)
from survey.parts.verbs import get_part, list_parts
from survey.photos.verbs import list_photos
from survey.settings import load_settings
from survey.store.survey import get_local_day
from survey.words import format_part_name
from web import forms
from web.current import current_survey, make_picture_url
from web.responses import redirect_saying

pages = Blueprint("outwork", __name__, url_prefix="/plan/outwork")

_TERMS = ("who", "contact", "promised", "carriage", "insured", "low", "likely", "high", "paid", "note")
_ITEM_TEXTS = ("tag", "finish", "plug", "keep_off", "note")
_TYPES = {"pdf": "application/pdf", "html": "text/html"}


@pages.get("/")
def listed() -> str:
    """What is away, overdue and short; what is being made up; which part is for whom next."""
    survey = current_survey()
    lines = {line.batch: line for line in list_outwork_lines(survey) if line.batch is not None}
    batches = {one.id: one for one in list_batches(survey)}
    return render_template(
        "outwork/outwork.html",
        standing=describe_outwork(survey),
        out=[(batches[number], line) for number, line in lines.items() if batches[number].state == "out"],
        drafts=[(batches[number], line) for number, line in lines.items() if batches[number].state == "draft"],
        back=[(batches[number], line) for number, line in lines.items() if batches[number].state == "back"],
        late={one.id for one in list_overdue_batches(survey)},
        owed=[(get_part(survey, part), says) for part, says in list_parts_to_examine(survey).items()],
        suggested=suggest_batches(survey),
        trades=get_trades().trades,
        part_name=format_part_name,
    )


@pages.get("/<int:batch_id>")
def one(batch_id: int) -> str:
    """A batch: what is in it, what is open before it leaves, and its return."""
    survey = current_survey()
    batch, checks = get_batch(survey, batch_id), list_departure_checks(survey, batch_id)
    return render_template(
        "outwork/batch.html",
        batch=batch,
        line=next(line for line in list_outwork_lines(survey) if line.batch == batch_id),
        parts={item.part: get_part(survey, item.part) for item in batch.items},
        photos={photo.id: photo for photo in list_photos(survey)} if batch.items else {},
        checks={item.id: [check for check in checks if check.item == item.id] for item in batch.items},
        terms=[check for check in checks if check.item is None],
        held=select_open_checks(checks),
        returned={one.item: one.found for one in list_returns(survey, batch_id)},
        hard={check.item for check in checks if check.id == "hydrogen"},
        others=[other for other in list_parts(survey) if all(other.part.id != item.part for item in batch.items)],
        currency=get_machine(survey).currency,
        today=get_local_day(),
        part_name=format_part_name,
        answers=ANSWER_WORDS,
        hydrogen=HYDROGEN_WORDS,
        threads=THREADS_WORDS,
        paper=load_settings().paper,
    )


@pages.post("/new")
def new() -> Answer:
    """Make up a batch for a trade, with the parts that were ticked."""
    chosen = [forms.number({"part": said}, "part") for said in request.form.getlist("part")]
    made = make_batch(
        current_survey(), forms.text(request.form, "trade"), chosen, who=forms.text(request.form, "who")
    )  # fmt: skip
    return redirect_saying("outwork.one", "added-batch", batch_id=made.id)


@pages.post("/<int:batch_id>/say")
def say(batch_id: int) -> Answer:
    """Say who gets it, what it costs, when it is promised, and what the trade asks."""
    form = request.form
    fields: dict[str, Any] = {name: forms.text(form, name) for name in _TERMS if name in form}
    if "agreed" in form:
        fields["agreed"] = forms.word(form, "agreed", ("yes", "no")) == "yes"
    fields["answers"] = dict(zip(form.getlist("ask"), form.getlist("told"), strict=False))
    change_batch(current_survey(), batch_id, **fields)
    return redirect_saying("outwork.one", "noted", "terms", batch_id=batch_id)


@pages.post("/<int:batch_id>/add")
def add(batch_id: int) -> Answer:
    """Put a part into it."""
    item = add_to_batch(current_survey(), batch_id, forms.number(request.form, "part"))
    return redirect_saying("outwork.one", "noted", f"item-{item.id}", batch_id=batch_id)


@pages.post("/<int:batch_id>/remove")
def remove(batch_id: int) -> Answer:
    """Put a batch that has not left into the bin."""
    remove_batch(current_survey(), batch_id)
    return redirect_saying("outwork.listed", "removed")


@pages.post("/<int:batch_id>/send")
def send(batch_id: int) -> Answer:
    """It leaves."""
    day, signed, anyway = (forms.text(request.form, name) for name in ("day", "signed", "anyway"))
    send_batch(current_survey(), batch_id, day=day, signed=signed, anyway=anyway)
    return redirect_saying("outwork.one", "sent-out", batch_id=batch_id)


@pages.post("/<int:batch_id>/close")
def close(batch_id: int) -> Answer:
    """All of it is back and accounted for."""
    day, signed = (forms.text(request.form, name) for name in ("day", "signed"))
    close_batch(current_survey(), batch_id, day=day, signed=signed)
    return redirect_saying("outwork.one", "noted", batch_id=batch_id)


@pages.post("/<int:batch_id>/items/<int:item_id>/say")
def say_item(batch_id: int, item_id: int) -> Answer:
    """Say what is to be done to an item, its sizes, its sides, and what was looked at."""
    form = request.form
    fields: dict[str, Any] = {name: forms.text(form, name) for name in _ITEM_TEXTS if name in form}
    if "count" in form:
        fields["count"] = forms.quantity(form, "count")
    if "hydrogen" in form:
        fields["hydrogen"] = forms.text(form, "hydrogen")
    if "one_side" in form:
        fields["photos"] = (forms.maybe_number(form, "one_side"), forms.maybe_number(form, "other_side"))
    fields["before"] = _sizes()
    fields["said"] = dict(zip(form.getlist("check"), form.getlist("answer"), strict=False))
    change_item(current_survey(), _on(batch_id, item_id), **fields)
    return redirect_saying("outwork.one", "noted", f"item-{item_id}", batch_id=batch_id)


@pages.post("/<int:batch_id>/items/<int:item_id>/remove")
def delete_item(batch_id: int, item_id: int) -> Answer:
    """Take a part out of it."""
    remove_item(current_survey(), _on(batch_id, item_id))
    return redirect_saying("outwork.one", "removed", batch_id=batch_id)


@pages.post("/<int:batch_id>/items/<int:item_id>/back")
def back(batch_id: int, item_id: int) -> Answer:
    """Look an item over on its return."""
    form = request.form
    came_back = forms.maybe_number(form, "came_back")
    if came_back is None:
        raise BadValue("Nobody said how many came back.", "Count them, and write nought if none did.")
    receive_item(
        current_survey(), _on(batch_id, item_id), came_back, after=_sizes(),
        **{name: forms.text(form, name) for name in ("day", "threads", "damage", "short_note")},
    )  # fmt: skip
    return redirect_saying("outwork.one", "noted", f"item-{item_id}", batch_id=batch_id)


@pages.get("/<int:batch_id>/docket")
def docket(batch_id: int) -> str:
    """The docket, to read and to print."""
    full = forms.word(request.args, "numbers", ("full",)) == "full"
    whole = render_docket(current_survey(), batch_id, make_picture_url, url_for("report.style"), full)
    icon = f'<link rel="icon" type="image/svg+xml" href="{url_for("static", filename="icon.svg")}">'
    whole = whole.replace("</head>", icon + "\n</head>", 1)
    back_to = url_for("outwork.one", batch_id=batch_id)
    way_back = render_template("shared/_way_back.html", back_to=back_to, back_name=f"batch {batch_id}")
    return whole.replace("<body>", "<body>\n" + way_back, 1)


@pages.get("/<int:batch_id>/take/<any(pdf, html):kind>")
def take(batch_id: int, kind: str) -> Response:
    """The docket as a file."""
    paper = forms.word(request.args, "paper", PAPERS) or load_settings().paper
    full = forms.word(request.args, "numbers", ("full",)) == "full"
    trade = re.sub(r"[^a-z]+", "-", get_batch(current_survey(), batch_id).trade.id)
    with TemporaryDirectory(prefix="teachest-") as room:
        to = Path(room) / f"docket.{kind}"
        written = write_docket(current_survey(), batch_id, to, paper, full_numbers=full).read_bytes()
    answer = Response(written, mimetype=_TYPES[kind])
    answer.headers["Content-Disposition"] = f"attachment; filename=docket-{batch_id}-{trade}.{kind}"
    return answer


def _sizes() -> dict[str, str]:
    named = zip(request.form.getlist("size_name"), request.form.getlist("size"), strict=False)
    return {name: size for name, size in named if name.strip()}


def _on(batch_id: int, item_id: int) -> int:
    if all(item.id != item_id for item in get_batch(current_survey(), batch_id).items):
        raise NoSuchThing(f"Batch {batch_id} has no item {item_id}.", "Go back to the batch and look again.")
    return item_id
