"""Rules: every table, reading and finding, readable, each row with its own address."""

from __future__ import annotations

from flask import Blueprint, render_template
from werkzeug.wrappers import Response

from survey import bench
from survey.errors import NoSuchThing
from web.answers import see
from web.desk import kinds_by_id
from web.show.when import when_words

pages = Blueprint("rules", __name__, url_prefix="/rules")


@pages.get("/")
def index() -> str:
    """What there is to read."""
    return render_template("rules.html", book=bench.rulebook(), kinds=bench.finding_kinds())


@pages.get("/tables/<name>")
def table(name: str) -> str:
    """One table, row by row."""
    book = bench.rulebook()
    found = next((one for one in book.tables if one.name == name), None)
    if found is None:
        raise NoSuchThing(f"There is no rule table {name!r}.", "The tables are listed under Rules.")
    rows = [(row, when_words(row, kinds_by_id())) for row in found.rows]
    return render_template("rule_table.html", table=found, rows=rows)


@pages.get("/row/<rule>")
def row(rule: str) -> Response:
    """From a rule's id to its row."""
    found = bench.rulebook().row(rule)
    if found is None:
        raise NoSuchThing(f"There is no rule {rule!r}.", "The tables are listed under Rules.")
    return see("rules.table", "", rule, name=found.table)


@pages.get("/readings")
def readings() -> str:
    """What is measured, how, and the limits it is held against."""
    return render_template(
        "rule_readings.html",
        kinds=list(bench.rulebook().readings.values()),
        within=bench.within_in_words,
        finding_kinds=kinds_by_id(),
    )


@pages.get("/findings")
def findings() -> str:
    """The finding kinds and their four steps."""
    groups: dict[str, list[object]] = {}
    for kind in bench.finding_kinds():
        groups.setdefault(kind.group, []).append(kind)
    return render_template("rule_findings.html", groups=groups, total=len(bench.finding_kinds()))
