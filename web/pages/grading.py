"""Rules: every table, reading and finding, readable, each row with its own address."""

from __future__ import annotations

from flask import Blueprint, render_template
from werkzeug.wrappers import Response

from survey.errors import NoSuchThing
from survey.grading.explain import describe_interval
from survey.grading.verbs import get_rulebook
from survey.parts.finding_verbs import list_finding_kinds
from web.current import list_kinds_by_id
from web.presenters.grading import describe_when
from web.responses import redirect_saying

pages = Blueprint("rules", __name__, url_prefix="/rules")


@pages.get("/")
def index() -> str:
    """What there is to read."""
    return render_template("grading/rules.html", book=get_rulebook(), kinds=list_finding_kinds())


@pages.get("/tables/<name>")
def table(name: str) -> str:
    """One table, row by row."""
    book = get_rulebook()
    found = next((one for one in book.tables if one.name == name), None)
    if found is None:
        raise NoSuchThing(f"There is no rule table {name!r}.", "The tables are listed under Rules.")
    rows = [(row, describe_when(row, list_kinds_by_id())) for row in found.rows]
    return render_template("grading/rule_table.html", table=found, rows=rows)


@pages.get("/row/<rule>")
def row(rule: str) -> Response:
    """From a rule's id to its row."""
    found = get_rulebook().row(rule)
    if found is None:
        raise NoSuchThing(f"There is no rule {rule!r}.", "The tables are listed under Rules.")
    return redirect_saying("rules.table", "", rule, name=found.table)


@pages.get("/readings")
def readings() -> str:
    """What is measured, how, and the limits it is held against."""
    return render_template(
        "grading/rule_readings.html",
        kinds=list(get_rulebook().readings.values()),
        within=describe_interval,
        finding_kinds=list_kinds_by_id(),
    )


@pages.get("/findings")
def findings() -> str:
    """The finding kinds and their four steps."""
    groups: dict[str, list[object]] = {}
    for kind in list_finding_kinds():
        groups.setdefault(kind.group, []).append(kind)
    return render_template("grading/rule_findings.html", groups=groups, total=len(list_finding_kinds()))
