"""Outwork: what is away, what can go to whom next, and each batch with its docket."""

from __future__ import annotations

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from flask import Blueprint, Response, render_template, request, url_for
from werkzeug.wrappers import Response as Answer

from survey import bench
from survey.errors import BadValue, NoSuchThing
from survey.model import PAPERS
from survey.settings import load_settings
from web import forms
from web.answers import see
from web.desk import picture_address, the_survey

pages = Blueprint("outwork", __name__, url_prefix="/plan/outwork")

_TERMS = ("who", "contact", "promised", "carriage", "insured", "low", "likely", "high", "paid", "note")
_ITEM_TEXTS = ("tag", "finish", "plug", "keep_off", "note")
_TYPES = {"pdf": "application/pdf", "html": "text/html"}


@pages.get("/")
def listed() -> str:
    """What is away, overdue and short; what is being made up; which part is for whom next."""
    survey = the_survey()
    lines = {line.batch: line for line in bench.outwork_lines(survey) if line.batch is not None}
    batches = {one.id: one for one in bench.batches(survey)}
    return render_template(
        "outwork.html",
        standing=bench.outwork_in_words(survey),
        out=[(batches[number], line) for number, line in lines.items() if batches[number].state == "out"],
        drafts=[(batches[number], line) for number, line in lines.items() if batches[number].state == "draft"],
        back=[(batches[number], line) for number, line in lines.items() if batches[number].state == "back"],
        late={one.id for one in bench.overdue(survey)},
        owed=[(bench.part(survey, part), says) for part, says in bench.to_examine(survey).items()],
        suggested=bench.suggested_batches(survey),
        trades=bench.trades().trades,
        part_name=bench.part_name,
    )


@pages.get("/<int:batch_id>")
def one(batch_id: int) -> str:
    """A batch: what is in it, what is open before it leaves, and its return."""
    survey = the_survey()
    batch, checks = bench.batch(survey, batch_id), bench.out_checks(survey, batch_id)
    return render_template(
        "batch.html",
        batch=batch,
        line=next(line for line in bench.outwork_lines(survey) if line.batch == batch_id),
        parts={item.part: bench.part(survey, item.part) for item in batch.items},
        photos={photo.id: photo for photo in bench.photos(survey)} if batch.items else {},
        checks={item.id: [check for check in checks if check.item == item.id] for item in batch.items},
        terms=[check for check in checks if check.item is None],
        held=bench.open_checks(checks),
        returned={one.item: one.found for one in bench.returns(survey, batch_id)},
        hard={check.item for check in checks if check.id == "hydrogen"},
        others=[other for other in bench.parts(survey) if all(other.part.id != item.part for item in batch.items)],
        currency=bench.machine(survey).currency,
        today=bench.local_day(),
        part_name=bench.part_name,
        answers=bench.ANSWER_WORDS,
        hydrogen=bench.HYDROGEN_WORDS,
        threads=bench.THREADS_WORDS,
        paper=load_settings().paper,
    )


@pages.post("/new")
def new() -> Answer:
    """Make up a batch for a trade, with the parts that were ticked."""
    chosen = [forms.number({"part": said}, "part") for said in request.form.getlist("part")]
    made = bench.make_batch(
        the_survey(), forms.text(request.form, "trade"), chosen, who=forms.text(request.form, "who")
    )  # fmt: skip
    return see("outwork.one", "added-batch", batch_id=made.id)


@pages.post("/<int:batch_id>/say")
def say(batch_id: int) -> Answer:
    """Say who gets it, what it costs, when it is promised, and what the trade asks."""
    form = request.form
    fields: dict[str, Any] = {name: forms.text(form, name) for name in _TERMS if name in form}
    if "agreed" in form:
        fields["agreed"] = forms.word(form, "agreed", ("yes", "no")) == "yes"
    fields["answers"] = dict(zip(form.getlist("ask"), form.getlist("told"), strict=False))
    bench.change_batch(the_survey(), batch_id, **fields)
    return see("outwork.one", "noted", "terms", batch_id=batch_id)


@pages.post("/<int:batch_id>/add")
def add(batch_id: int) -> Answer:
    """Put a part into it."""
    item = bench.add_to_batch(the_survey(), batch_id, forms.number(request.form, "part"))
    return see("outwork.one", "noted", f"item-{item.id}", batch_id=batch_id)


@pages.post("/<int:batch_id>/remove")
def remove(batch_id: int) -> Answer:
    """Put a batch that has not left into the bin."""
    bench.remove_batch(the_survey(), batch_id)
    return see("outwork.listed", "removed")


@pages.post("/<int:batch_id>/send")
def send(batch_id: int) -> Answer:
    """It leaves."""
    day, signed, anyway = (forms.text(request.form, name) for name in ("day", "signed", "anyway"))
    bench.send_batch(the_survey(), batch_id, day=day, signed=signed, anyway=anyway)
    return see("outwork.one", "sent-out", batch_id=batch_id)


@pages.post("/<int:batch_id>/close")
def close(batch_id: int) -> Answer:
    """All of it is back and accounted for."""
    day, signed = (forms.text(request.form, name) for name in ("day", "signed"))
    bench.close_batch(the_survey(), batch_id, day=day, signed=signed)
    return see("outwork.one", "noted", batch_id=batch_id)


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
    bench.change_item(the_survey(), _on(batch_id, item_id), **fields)
    return see("outwork.one", "noted", f"item-{item_id}", batch_id=batch_id)


@pages.post("/<int:batch_id>/items/<int:item_id>/remove")
def delete_item(batch_id: int, item_id: int) -> Answer:
    """Take a part out of it."""
    bench.remove_item(the_survey(), _on(batch_id, item_id))
    return see("outwork.one", "removed", batch_id=batch_id)


@pages.post("/<int:batch_id>/items/<int:item_id>/back")
def back(batch_id: int, item_id: int) -> Answer:
    """Look an item over on its return."""
    form = request.form
    came_back = forms.maybe_number(form, "came_back")
    if came_back is None:
        raise BadValue("Nobody said how many came back.", "Count them, and write nought if none did.")
    bench.take_back(
        the_survey(), _on(batch_id, item_id), came_back, after=_sizes(),
        **{name: forms.text(form, name) for name in ("day", "threads", "damage", "short_note")},
    )  # fmt: skip
    return see("outwork.one", "noted", f"item-{item_id}", batch_id=batch_id)


@pages.get("/<int:batch_id>/docket")
def docket(batch_id: int) -> str:
    """The docket, to read and to print."""
    full = forms.word(request.args, "numbers", ("full",)) == "full"
    whole = bench.docket_html(the_survey(), batch_id, picture_address, url_for("report.style"), full)
    icon = f'<link rel="icon" type="image/svg+xml" href="{url_for("static", filename="icon.svg")}">'
    whole = whole.replace("</head>", icon + "\n</head>", 1)
    back_to = url_for("outwork.one", batch_id=batch_id)
    way_back = render_template("_way_back.html", back_to=back_to, back_name=f"batch {batch_id}")
    return whole.replace("<body>", "<body>\n" + way_back, 1)


@pages.get("/<int:batch_id>/take/<any(pdf, html):kind>")
def take(batch_id: int, kind: str) -> Response:
    """The docket as a file."""
    paper = forms.word(request.args, "paper", PAPERS) or load_settings().paper
    full = forms.word(request.args, "numbers", ("full",)) == "full"
    trade = re.sub(r"[^a-z]+", "-", bench.batch(the_survey(), batch_id).trade.id)
    with TemporaryDirectory(prefix="teachest-") as room:
        to = Path(room) / f"docket.{kind}"
        written = bench.docket(the_survey(), batch_id, to, paper, full_numbers=full).read_bytes()
    answer = Response(written, mimetype=_TYPES[kind])
    answer.headers["Content-Disposition"] = f"attachment; filename=docket-{batch_id}-{trade}.{kind}"
    return answer


def _sizes() -> dict[str, str]:
    named = zip(request.form.getlist("size_name"), request.form.getlist("size"), strict=False)
    return {name: size for name, size in named if name.strip()}


def _on(batch_id: int, item_id: int) -> int:
    if all(item.id != item_id for item in bench.batch(the_survey(), batch_id).items):
        raise NoSuchThing(f"Batch {batch_id} has no item {item_id}.", "Go back to the batch and look again.")
    return item_id
