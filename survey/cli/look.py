"""Commands that only look: kinds, schedule, parts, why, gaps, check."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey import bench
from survey.cli.common import (
    folder_argument,
    json_option,
    mind_place,
    opened,
    outcome_words,
    say_json,
    say_table,
)
from survey.cli.gaps import gaps
from survey.cli.next_steps import next_step_words
from survey.cli.record import name_of, override_json, standing_json
from survey.cli.rules import rules
from survey.errors import NoSuchThing
from survey.model import HARDEST_FIRST, Component, GradedPart, Ruling


@click.command(epilog="Example: teachest kinds")
@json_option
def kinds(as_json: bool) -> None:
    """List the catalogues a survey can start from."""
    found = bench.kinds()
    if as_json:
        say_json([{"kind": one.kind, "title": one.title, "components": len(one.components)} for one in found])
        return
    say_table("Kinds", ["kind", "title", "components"], [[c.kind, c.title, str(len(c.components))] for c in found])


@click.command(epilog="Example: teachest schedule my-machine --assembly 'Front wheel'")
@folder_argument
@click.option("--assembly", help="Only this assembly.")
@json_option
def schedule(folder: Path, assembly: str | None, as_json: bool) -> None:
    """Show what a complete machine of this survey has."""
    with opened(folder) as survey:
        whole = bench.schedule(survey)
    found = [one for one in whole if assembly is None or one.assembly.lower() == assembly.lower()]
    if not found:
        names = dict.fromkeys(one.assembly for one in whole)
        raise NoSuchThing(f"There is no assembly {assembly!r} in the schedule.", "There are: " + ", ".join(names) + ".")
    if as_json:
        say_json([_component_json(one) for one in found])
        return
    for name in dict.fromkeys(one.assembly for one in found):
        rows = [
            [c.id, c.label, str(c.quantity), c.inside or "", c.duty, c.part_class, c.material]
            for c in found
            if c.assembly == name
        ]
        say_table(name, ["component", "label", "quantity", "inside", "duty", "class", "material"], rows)


@click.command(epilog="Example: teachest parts my-machine --outcome replace")
@folder_argument
@click.option("--outcome", type=click.Choice(HARDEST_FIRST), help="Only parts of this grade, or that wait for this.")
@json_option
def parts(folder: Path, outcome: str | None, as_json: bool) -> None:
    """List every part with its grade, or what is owed, and why."""
    with opened(folder) as survey:
        found = [one for one in bench.parts(survey) if outcome in (None, one.verdict.outcome)]
    if as_json:
        say_json([part_json(one) for one in found])
        return
    rows = [
        [
            str(one.part.id),
            name_of(one) + (f" x {one.part.quantity}" if one.part.quantity > 1 else ""),
            outcome_words(one.verdict.outcome),
            f"own: {one.own_grade.grade}" if one.own_grade else "",
            one.verdict.rulings[0].because,
            one.part.box,
        ]
        for one in found
    ]
    say_table(bench.many(len(found), "part"), ["part", "what", "grade", "own grade", "because", "box"], rows)


@click.command(epilog="Example: teachest why my-machine 4")
@folder_argument
@click.argument("part_id", metavar="PART", type=int)
@json_option
def why(folder: Path, part_id: int, as_json: bool) -> None:
    """Show which rules fired on a part: every reason, remedy and caution, hardest first."""
    with opened(folder) as survey:
        one = bench.part(survey, part_id)
    version = bench.rulebook().version
    if as_json:
        say_json({**part_json(one), "rules_version": version})
        return
    click.echo(f"Part {part_id}: {name_of(one)}: {outcome_words(one.verdict.outcome)}")
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
    with opened(folder) as survey:
        mind_place(folder)
        mended = bench.mend(survey) if mend else None
        problems = bench.check(survey)
        photos = 0 if problems else len(bench.photos(survey))
    if as_json:
        say_json([{"where": p.where, "what": p.what, "next_step": next_step_words(p.next_step)} for p in problems])
    else:
        if mended:
            click.echo(
                f"Mended: {bench.many(mended.pictures, 'picture')} made,"
                f" {bench.many(mended.adopted, 'photo')} taken up."
            )
        for problem in problems:
            click.echo(f"{problem.where}: {problem.what}. {next_step_words(problem.next_step)}")
        if not problems:
            click.echo(f"All is whole: the database, {bench.many(photos, 'original')}, and the rules.")
    if problems:
        raise click.exceptions.Exit(1)


def part_json(one: GradedPart) -> dict[str, Any]:
    """A part with its verdict as JSON."""
    shown = one.component
    return {
        "part": one.part.id,
        "component": one.part.component,
        "label": name_of(one),
        "class": shown.part_class if shown else None,
        "duty": shown.duty if shown else None,
        **standing_json(one),
        "override": override_json(one),
        "rulings": [_ruling_json(ruling) for ruling in one.verdict.rulings],
        "findings": [
            {"kind": f.kind, "step": f.step, "seen": f.seen, "photos": list(f.photos), "finding": f.id, "note": f.note}
            for f in one.findings
        ],
        "looks": [{"seen": look.seen, "photos": list(look.photos)} for look in one.looks],
        "readings": [{"name": r.name, "value": r.value, "unit": r.unit, "written": r.written} for r in one.readings],
        "photos": list(one.part.photos),
        "quantity": one.part.quantity,
        "inside": one.part.inside,
        "box": one.part.box,
        "note": one.part.note,
    }


def _ruling_json(ruling: Ruling) -> dict[str, Any]:
    return {
        "rule": ruling.rule,
        "grade": ruling.outcome,
        "because": ruling.because,
        "remedy": ruling.remedy,
        "caution": ruling.caution,
        "source": ruling.source,
        "sure": ruling.sure,
        "disputed": ruling.disputed,
        "argument": ruling.argument,
        "trade": ruling.trade,
    }


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


def _component_json(one: Component) -> dict[str, Any]:
    return {
        "component": one.id,
        "label": one.label,
        "assembly": one.assembly,
        "inside": one.inside,
        "quantity": one.quantity,
        "duty": one.duty,
        "class": one.part_class,
        "material": one.material,
    }


COMMANDS = (kinds, schedule, parts, why, gaps, rules, check)
