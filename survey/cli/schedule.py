"""``teachest gaps``: what is missing first, then what nobody has seen or looked for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import click

from survey.cli.common import folder_argument, json_option, open_folder, print_json, print_table
from survey.cli.listing import Column, Listing
from survey.model.schedule import DUTIES, Gap
from survey.schedule.verbs import list_gaps
from survey.words import STATE_WORDS, format_count

_REAL = ("missing", "wrong", "short")


@click.command(epilog="Example: teachest gaps my-machine --duty safety")
@folder_argument
@click.option("--duty", type=click.Choice(DUTIES), help="Only components of this duty.")
@click.option("--all", "every", is_flag=True, help="List also every position that nobody has looked for.")
@json_option
def gaps(folder: Path, duty: str | None, every: bool, as_json: bool) -> None:
    """List what is missing, wrong or short; then what sits unseen inside; then count what was not looked for."""
    with open_folder(folder) as survey:
        found = [gap for gap in list_gaps(survey) if duty in (None, gap.component.duty)]
    if as_json:
        print_json([_GAPS.as_json(gap) for gap in found])
        return
    real = sorted((gap for gap in found if gap.state in _REAL), key=lambda gap: DUTIES.index(gap.component.duty))
    _say(f"{format_count(len(real), 'gap')}: missing, wrong or short", real)
    _say("Inside and not seen yet", [gap for gap in found if gap.state == "unseen"])
    open_still = [gap for gap in found if gap.state == "not-looked"]
    if every:
        _say("Not looked for yet, so nobody knows", open_still)
    elif open_still:
        by_assembly = Counter(gap.component.assembly for gap in open_still)
        rows = [[name, str(count)] for name, count in by_assembly.items()]
        print_table(f"{format_count(len(open_still), 'position')} not looked for yet", ["assembly", "positions"], rows)
        click.echo(f"See each with: teachest gaps {folder} --all")
    if not found:
        click.echo("No gaps.")


def _say(title: str, found: Sequence[Gap]) -> None:
    if found:
        _GAPS.say_table(title, found)
        click.echo("")


def _inside(gap: Gap) -> str:
    inside = gap.component.inside or ""
    return f"{inside} (which is here)" if gap.inside_present else inside


_GAPS = Listing(
    Column("component", "component.id", "component"), Column("label", "component.label", "label"),
    Column("", "component.assembly", "assembly"), Column("", "component.duty", "duty"),
    Column("state", head="state", text=lambda gap: STATE_WORDS[gap.state].lower()),
    Column("inside", "component.inside"), Column("quantity", "component.quantity"),
    Column("found", head="found", text=lambda gap: f"{gap.found} of {gap.component.quantity}"),
    Column("", _inside, "inside"), "inside_present", "through",
    Column("note", head="note", text=lambda gap: gap.note or (f"goes with {gap.through}" if gap.through else "")),
)  # fmt: skip
