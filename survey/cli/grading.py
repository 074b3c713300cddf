"""``teachest rules``: the rule tables, the findings and the words, readably."""

from __future__ import annotations

from typing import Any

import click

from survey.cli.common import json_option, outcome_words, print_json, print_table
from survey.cli.listing import Column, Listing, json_of
from survey.errors import NoSuchThing
from survey.grading.explain import describe_row_when
from survey.grading.rows import Row
from survey.grading.verbs import get_rulebook, get_vocabulary
from survey.parts.finding_verbs import list_finding_kinds


@click.command(epilog="Example: teachest rules crack-handlebar")
@click.argument("rule", required=False)
@click.option("--table", help="Only this table.")
@click.option("--findings", is_flag=True, help="The finding kinds and their four steps instead.")
@click.option("--words", is_flag=True, help="The closed words: classes, materials, duties.")
@json_option
def rules(rule: str | None, table: str | None, findings: bool, words: bool, as_json: bool) -> None:
    """Show the rules by which parts are graded: every row with its reason, source and argument."""
    if findings:
        _findings(as_json)
    elif words:
        _words(as_json)
    else:
        _rows(rule, table, as_json)


def _rows(rule: str | None, table: str | None, as_json: bool) -> None:
    book = get_rulebook()
    chosen = [row for row in book.rows if rule in (None, row.id) and table in (None, row.table)]
    if not chosen:
        raise NoSuchThing(
            f"There is no rule or table {rule or table!r}.", "Tables: " + ", ".join(t.name for t in book.tables) + "."
        )
    if as_json:
        print_json([_row_json(row) for row in chosen])
        return
    click.echo(f"Rules {book.version}: {len(chosen)} of {len(book.rows)} rows.")
    for one in book.tables:
        rows = [row for row in chosen if row.table == one.name]
        if not rows:
            continue
        click.echo(f"\n{one.title}\n{one.about}")
        for row in rows:
            _say_row(row)


def _say_row(row: Row) -> None:
    click.echo(f"\n  {row.id}: {outcome_words(row.then)}")
    click.echo(f"    when: {describe_row_when(row) or 'always'}")
    click.echo(f"    because: {row.because}")
    for name in ("remedy", "trade", "caution"):
        if getattr(row, name):
            click.echo(f"    {name}: {getattr(row, name)}")
    if row.argument:
        click.echo(f"    restorers dispute this: {row.argument}")
    click.echo(f"    source: {row.source} ({row.sure})")


def _row_json(row: Row) -> dict[str, Any]:
    return {
        "rule": row.id,
        "grade": row.then,
        "when": {column: sorted(map(str, words)) for column, words in row.when.items()},
        **json_of(row, "table", "because", "remedy", "trade", "caution", "source", "sure", "argument"),
        "disputed": bool(row.argument),
    }


_STEPS = Listing(
    Column("step", head="step"), Column("name", head="name"), Column("looks_like", head="what you see or measure")
)  # fmt: skip


def _findings(as_json: bool) -> None:
    kinds = list_finding_kinds()
    if as_json:
        print_json([
            {**json_of(kind, "kind=id", "label", "group", "speaks_of"),
             "steps": [_STEPS.as_json(step) for step in kind.steps]} for kind in kinds
        ])  # fmt: skip
        return
    for kind in kinds:
        _STEPS.say_table(f"{kind.id}: {kind.label}", kind.steps)


def _words(as_json: bool) -> None:
    found = get_vocabulary()
    piles = json_of(found, "class=class_", "material", "duty", "seen", "outcome")
    if as_json:
        print_json({name: dict(pile) for name, pile in piles.items()})
        return
    for name, pile in piles.items():
        print_table(name, ["word", "meaning"], pile.items())
