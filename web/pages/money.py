"""Money: what it costs line by line, what is paid, what it may be worth, what its parts would fetch."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, Response, render_template, request
from markupsafe import Markup
from werkzeug.wrappers import Response as Answer

from survey import bench
from web import forms
from web.answers import see
from web.desk import the_survey

pages = Blueprint("money", __name__, url_prefix="/plan/money")

# Field of the form -> field of the line.
_LINE = {
    "what": "what", "sort": "kind", "low": "low", "likely": "likely", "high": "high", "stands": "state", "note": "note",
}  # fmt: skip


@pages.get("/")
def listed() -> str:
    """What it costs line by line, the sums and how they were got, worth, and what the parts would fetch."""
    survey = the_survey()
    found = bench.money(survey)
    drawing = bench.money_drawing(survey, found)
    return render_template(
        "money.html",
        told=bench.reckoning_words(survey, found),
        lines={line.key: line for line in found.money.lines},
        drawing=drawing,
        svg=Markup(drawing.svg) if drawing else "",  # of our own making: figures, and no word of anybody's
        kinds=bench.LINE_KINDS,
        states=bench.LINE_WORDS,
        contingency=found.money.contingency,
        currency=found.currency,
        today=found.today,
        sales={line.said.part: line.said for line in (*found.breaking.counted, *found.breaking.held)},
        parts=bench.parts(survey),
    )


@pages.post("/lines")
def add() -> Answer:
    """Write down something that costs."""
    said = {name: forms.text(request.form, field) for field, name in _LINE.items() if request.form.get(field)}
    line = bench.add_money_line(the_survey(), said.pop("what", ""), **said)
    return see("money.listed", "noted", line.key)


@pages.post("/lines/<int:line_id>")
def change(line_id: int) -> Answer:
    """Say something else of a line of the owner's own."""
    said = {name: forms.text(request.form, field) for field, name in _LINE.items() if field in request.form}
    line = bench.change_money_line(the_survey(), line_id, **said)
    return see("money.listed", "noted", line.key)


@pages.post("/lines/<int:line_id>/remove")
def remove(line_id: int) -> Answer:
    """Put a line of the owner's own aside."""
    bench.remove_money_line(the_survey(), line_id)
    return see("money.listed", "removed", "lines")


@pages.post("/pay")
def pay() -> Answer:
    """Say what was paid for a line."""
    form = request.form
    line = bench.pay(
        the_survey(), forms.text(form, "line"), forms.text(form, "spent"), spent_at=forms.text(form, "spent_at"),
        receipt=forms.text(form, "receipt"), settled=forms.word(form, "settled", ("yes", "no")) != "no",
    )  # fmt: skip
    return see("money.listed", "noted", line.key)


@pages.post("/contingency")
def contingency() -> Answer:
    """Say one's own per cent on what is still to be paid."""
    bench.set_contingency(the_survey(), forms.text(request.form, "percent"))
    return see("money.listed", "noted", "sums")


@pages.post("/comparisons")
def compare() -> Answer:
    """Write down what a like machine was sold or offered for."""
    form = request.form
    said = {name: forms.text(form, name) for name in ("condition", "where", "low", "high", "note")}
    sold = forms.word(form, "sold", ("yes", "no")) != "no"
    bench.add_comparison(
        the_survey(),
        forms.text(form, "what"),
        forms.text(form, "seen_on"),
        forms.text(form, "price"),
        sold=sold,
        **said,
    )
    return see("money.listed", "noted", "worth")


@pages.post("/comparisons/<int:comparison_id>/remove")
def delete_comparison(comparison_id: int) -> Answer:
    """Put a comparison aside."""
    bench.remove_comparison(the_survey(), comparison_id)
    return see("money.listed", "removed", "worth")


@pages.post("/parts")
def sale() -> Answer:
    """Say what a part would fetch by itself, or why it is held back; nothing said takes it back."""
    form = request.form
    said = {name: forms.text(form, name) for name in ("low", "likely", "high", "held", "note")}
    bench.set_sale_price(the_survey(), forms.number(form, "part"), **said)
    return see("money.listed", "noted", "parts")


@pages.get("/take")
def take() -> Response:
    """Every line of money as a table."""
    with TemporaryDirectory(prefix="teachest-") as room:
        written = bench.money_table(the_survey(), Path(room) / "money.csv").read_bytes()
    answer = Response(written, mimetype="text/csv")
    answer.headers["Content-Disposition"] = "attachment; filename=money.csv"
    return answer
