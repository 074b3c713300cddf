"""Money: what it costs line by line, what is paid, what it may be worth, what its parts would fetch."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from flask import Blueprint, Response, render_template, request
from markupsafe import Markup
from werkzeug.wrappers import Response as Answer

from survey.model.money import LINE_KINDS, LINE_WORDS
from survey.money.verbs import (
    add_money_line,
    change_money_line,
    describe_reckoning,
    draw_reckoning,
    get_reckoning,
    record_payment,
    remove_money_line,
    set_contingency,
    write_money_table,
)
from survey.money.worth_verbs import add_comparison, remove_comparison, set_sale_price
from survey.parts.verbs import list_parts
from web import forms
from web.current import current_survey
from web.responses import redirect_saying

pages = Blueprint("money", __name__, url_prefix="/plan/money")

# Field of the form -> field of the line.
_LINE = {
    "what": "what", "sort": "kind", "low": "low", "likely": "likely", "high": "high", "stands": "state", "note": "note",
}  # fmt: skip


@pages.get("/")
def listed() -> str:
    """What it costs line by line, the sums and how they were got, worth, and what the parts would fetch."""
    survey = current_survey()
    found = get_reckoning(survey)
    drawing = draw_reckoning(survey, found)
    return render_template(
        "money/money.html",
        told=describe_reckoning(survey, found),
        lines={line.key: line for line in found.money.lines},
        drawing=drawing,
        svg=Markup(drawing.svg) if drawing else "",  # of our own making: figures, and no word of anybody's
        kinds=LINE_KINDS,
        states=LINE_WORDS,
        contingency=found.money.contingency,
        currency=found.currency,
        today=found.today,
        sales={line.said.part: line.said for line in (*found.breaking.counted, *found.breaking.held)},
        parts=list_parts(survey),
    )


@pages.post("/lines")
def add() -> Answer:
    """Write down something that costs."""
    said = {name: forms.text(request.form, field) for field, name in _LINE.items() if request.form.get(field)}
    line = add_money_line(current_survey(), said.pop("what", ""), **said)
    return redirect_saying("money.listed", "noted", line.key)


@pages.post("/lines/<int:line_id>")
def change(line_id: int) -> Answer:
    """Say something else of a line of the owner's own."""
    said = {name: forms.text(request.form, field) for field, name in _LINE.items() if field in request.form}
    line = change_money_line(current_survey(), line_id, **said)
    return redirect_saying("money.listed", "noted", line.key)


@pages.post("/lines/<int:line_id>/remove")
def remove(line_id: int) -> Answer:
    """Put a line of the owner's own aside."""
    remove_money_line(current_survey(), line_id)
    return redirect_saying("money.listed", "removed", "lines")


@pages.post("/pay")
def pay() -> Answer:
    """Say what was paid for a line."""
    form = request.form
    line = record_payment(
        current_survey(), forms.text(form, "line"), forms.text(form, "spent"), spent_at=forms.text(form, "spent_at"),
        receipt=forms.text(form, "receipt"), settled=forms.word(form, "settled", ("yes", "no")) != "no",
    )  # fmt: skip
    return redirect_saying("money.listed", "noted", line.key)


@pages.post("/contingency")
def contingency() -> Answer:
    """Say one's own per cent on what is still to be paid."""
    set_contingency(current_survey(), forms.text(request.form, "percent"))
    return redirect_saying("money.listed", "noted", "sums")


@pages.post("/comparisons")
def compare() -> Answer:
    """Write down what a like machine was sold or offered for."""
    form = request.form
    said = {name: forms.text(form, name) for name in ("condition", "where", "low", "high", "note")}
    sold = forms.word(form, "sold", ("yes", "no")) != "no"
    add_comparison(
        current_survey(),
        forms.text(form, "what"),
        forms.text(form, "seen_on"),
        forms.text(form, "price"),
        sold=sold,
        **said,
    )
    return redirect_saying("money.listed", "noted", "worth")


@pages.post("/comparisons/<int:comparison_id>/remove")
def delete_comparison(comparison_id: int) -> Answer:
    """Put a comparison aside."""
    remove_comparison(current_survey(), comparison_id)
    return redirect_saying("money.listed", "removed", "worth")


@pages.post("/parts")
def sale() -> Answer:
    """Say what a part would fetch by itself, or why it is held back; nothing said takes it back."""
    form = request.form
    said = {name: forms.text(form, name) for name in ("low", "likely", "high", "held", "note")}
    set_sale_price(current_survey(), forms.number(form, "part"), **said)
    return redirect_saying("money.listed", "noted", "parts")


@pages.get("/take")
def take() -> Response:
    """Every line of money as a table."""
    with TemporaryDirectory(prefix="teachest-") as room:
        written = write_money_table(current_survey(), Path(room) / "money.csv").read_bytes()
    answer = Response(written, mimetype="text/csv")
    answer.headers["Content-Disposition"] = "attachment; filename=money.csv"
    return answer
