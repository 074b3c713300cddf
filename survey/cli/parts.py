"""Commands that only look: kinds, schedule, parts, why, gaps, check."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey.cli.common import (
    folder_argument,
    json_option,
    open_folder,
    outcome_words,
    print_json,
    warn_of_network_folder,
)
from survey.cli.grading import rules
from survey.cli.listing import Column, Listing, json_of
from survey.cli.next_steps import next_step_words
from survey.cli.recording import get_part_name, override_json, verdict_json
from survey.cli.schedule import gaps
from survey.errors import NoSuchThing
from survey.grading.verbs import get_rulebook
from survey.model.grading import HARDEST_FIRST, Ruling
from survey.model.parts import GradedPart
from survey.parts.verbs import get_part, list_parts
from survey.photos.verbs import list_photos
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import repair_survey
from survey.schedule.verbs import list_components, list_kinds
from survey.words import format_count


@click.command(epilog="Example: teachest kinds")
@json_option
def kinds(as_json: bool) -> None:
    """List the catalogues a survey can start from."""
    _KINDS.say("Kinds", list_kinds(), as_json)


@click.command(epilog="Example: teachest schedule my-machine --assembly 'Front wheel'")
@folder_argument
@click.option("--assembly", help="Only this assembly.")
@json_option
def schedule(folder: Path, assembly: str | None, as_json: bool) -> None:
    """Show what a complete machine of this survey has."""
    with open_folder(folder) as survey:
        whole = list_components(survey)
    found = [one for one in whole if assembly is None or one.assembly.lower() == assembly.lower()]
    if not found:
        names = dict.fromkeys(one.assembly for one in whole)
        raise NoSuchThing(f"There is no assembly {assembly!r} in the schedule.", "There are: " + ", ".join(names) + ".")
    if as_json:
        print_json([_SCHEDULE.as_json(one) for one in found])
        return
    for name in dict.fromkeys(one.assembly for one in found):
        _SCHEDULE.say_table(name, [one for one in found if one.assembly == name])


@click.command(epilog="Example: teachest parts my-machine --outcome replace")
@folder_argument
@click.option("--outcome", type=click.Choice(HARDEST_FIRST), help="Only parts of this grade, or that wait for this.")
@json_option
def parts(folder: Path, outcome: str | None, as_json: bool) -> None:
    """List every part with its grade, or what is owed, and why."""
    with open_folder(folder) as survey:
        found = [one for one in list_parts(survey) if outcome in (None, one.verdict.outcome)]
    if as_json:
        print_json([part_json(one) for one in found])
        return
    _PARTS.say_table(format_count(len(found), "part"), found)


@click.command(epilog="Example: teachest why my-machine 4")
@folder_argument
@click.argument("part_id", metavar="PART", type=int)
@json_option
def why(folder: Path, part_id: int, as_json: bool) -> None:
    """Show which rules fired on a part: every reason, remedy and caution, hardest first."""
    with open_folder(folder) as survey:
        one = get_part(survey, part_id)
    version = get_rulebook().version
    if as_json:
        print_json({**part_json(one), "rules_version": version})
        return
    click.echo(f"Part {part_id}: {get_part_name(one)}: {outcome_words(one.verdict.outcome)}")
    if one.own_grade:
        click.echo(f"Your own grade: {one.own_grade.grade}: {one.own_grade.reason}")
    for ruling in one.verdict.rulings:
        click.echo("")
        click.echo("\n".join(_ruling_lines(ruling)))
    click.echo(f"\nRules {version}. The owner's visual record; no engineer's inspection.")


@click.command(epilog="Example: teachest check my-machine --mend")
@folder_argument
@click.option("--mend", is_flag=True, help="First rebuild what can be: smaller pictures, photos that no row names.")
@json_option
def check(folder: Path, mend: bool, as_json: bool) -> None:
    """Read everything over: database, originals, rules; name every damaged thing. Exit 1 if there is one."""
    with open_folder(folder) as survey:
        warn_of_network_folder(folder)
        mended = repair_survey(survey) if mend else None
        problems = check_survey(survey)
        photos = 0 if problems else len(list_photos(survey))
    if as_json:
        print_json([{"where": p.where, "what": p.what, "next_step": next_step_words(p.next_step)} for p in problems])
    else:
        if mended:
            click.echo(
                f"Mended: {format_count(mended.pictures, 'picture')} made,"
                f" {format_count(mended.adopted, 'photo')} taken up."
            )
        for problem in problems:
            click.echo(f"{problem.where}: {problem.what}. {next_step_words(problem.next_step)}")
        if not problems:
            click.echo(f"All is whole: the database, {format_count(photos, 'original')}, and the rules.")
    if problems:
        raise click.exceptions.Exit(1)


def part_json(one: GradedPart) -> dict[str, Any]:
    """A part with its verdict as JSON."""
    return {
        **_PARTS.as_json(one),
        **verdict_json(one),
        "override": override_json(one),
        "rulings": [
            json_of(ruling, "rule", "grade=outcome", "because", "remedy", "caution", "source", "sure", "disputed",
                    "argument", "trade") for ruling in one.verdict.rulings
        ],
        "findings": [
            json_of(finding, "kind", "step", "seen", "photos", "finding=id", "note") for finding in one.findings
        ],
        "looks": [json_of(look, "seen", "photos") for look in one.looks],
        "readings": [json_of(reading, "name", "value", "unit", "written") for reading in one.readings],
        **json_of(one.part, "photos", "quantity", "inside", "box", "note"),
    }  # fmt: skip


def _ruling_lines(ruling: Ruling) -> list[str]:
    fired = f" on {ruling.finding[0]} step {ruling.finding[1]}, seen {ruling.finding[2]}" if ruling.finding else ""
    lines = [f"{outcome_words(ruling.outcome)}  {ruling.rule}{fired}", f"  because: {ruling.because}"]
    for name, text in (("remedy", ruling.remedy), ("who", ruling.trade), ("caution", ruling.caution)):
        if text:
            lines.append(f"  {name}: {text}")
    if ruling.disputed:
        lines.append(f"  restorers dispute this: {ruling.argument}")
    lines.append(f"  source: {ruling.source} ({ruling.sure})")
    return lines


_KINDS = Listing(
    Column("kind", head="kind"), Column("title", head="title"),
    Column("components", lambda one: len(one.components), "components"),
)  # fmt: skip
_SCHEDULE = Listing(
    Column("component", "id", "component"), Column("label", head="label"), "assembly",
    Column("", "quantity", "quantity"), Column("inside", head="inside"), "quantity", Column("duty", head="duty"),
    Column("class", "part_class", "class"), Column("material", head="material"),
)  # fmt: skip
_PARTS = Listing(
    Column("part", "part.id", "part"), Column("component", "part.component"),
    Column("label", get_part_name, "what",
           lambda one: get_part_name(one) + (f" x {one.part.quantity}" if one.part.quantity > 1 else "")),
    Column("class", lambda one: one.component and one.component.part_class),
    Column("duty", lambda one: one.component and one.component.duty),
    Column("", lambda one: outcome_words(one.verdict.outcome), "grade"),
    Column("", lambda one: f"own: {one.own_grade.grade}" if one.own_grade else "", "own grade"),
    Column("", lambda one: one.verdict.rulings[0].because, "because"), Column("", "part.box", "box"),
)  # fmt: skip

COMMANDS = (kinds, schedule, parts, why, gaps, rules, check)
