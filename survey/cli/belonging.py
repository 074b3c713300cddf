"""``teachest belongs``: whether parts are of this machine, what speaks for and against, and what can be passed on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from survey.belonging.verbs import (
    BelongingPart,
    add_evidence,
    get_belonging,
    get_belonging_scale,
    keep_as_pattern,
    list_belongings,
    list_parts_to_pass_on,
    remove_evidence,
)
from survey.cli.common import folder_argument, json_option, open_folder, print_json
from survey.cli.listing import Column, Listing, json_of, say_each
from survey.store.survey import Survey
from survey.words import format_part_name


@click.command(epilog="Example: teachest belongs my-machine 7 --because other-colour --note 'maroon under the green'")
@folder_argument
@click.argument("part_id", metavar="[PART]", type=int, required=False)
@click.option("--because", metavar="KIND", help="Record that this speaks for or against the part. See --kinds.")
@click.option("--note", default="", help="With --because: what was seen, in your own words.")
@click.option("--who", default="", help="With --because: who said it.")
@click.option("--photo", type=int, help="With --because: the photo that shows it.")
@click.option("--remove", type=int, metavar="NUMBER", help="Put this evidence aside; the history keeps it.")
@click.option("--pattern", metavar="COMPONENT", help="Keep the part as a pattern for this component.")
@click.option("--no-pattern", is_flag=True, help="Keep the part as a pattern no longer.")
@click.option("--pass-on", is_flag=True, help="Show the parts of other machines, and which are held back.")
@click.option("--kinds", is_flag=True, help="Show every kind of evidence with its weight, and the answers.")
@json_option
def belongs(
    folder: Path, part_id: int | None, because: str | None, remove: int | None, pattern: str | None, no_pattern: bool,
    pass_on: bool, kinds: bool, as_json: bool, **said: Any,
) -> None:  # fmt: skip
    """Say of each part whether it is of this machine, with the sum; or record what speaks for or against one."""
    if kinds:
        _say_kinds(as_json)
        return
    with open_folder(folder) as survey:
        if part_id is None and (because or pattern or no_pattern):
            raise click.UsageError("Say of which part.")
        if remove is not None:
            remove_evidence(survey, remove)
        if part_id is not None and because:
            add_evidence(survey, part_id, because, **said)
        elif any(value not in (None, "") for value in said.values()):
            raise click.UsageError("Say with --because what it is that was seen or said.")
        if part_id is not None and (pattern or no_pattern):
            keep_as_pattern(survey, part_id, pattern)
        found = _asked(survey, part_id, pass_on)
    none = "No part is of another machine." if pass_on else "Nothing was said of any part yet."
    say_each(found, as_json, _json, _lines, none)


def _asked(survey: Survey, part_id: int | None, pass_on: bool) -> list[BelongingPart]:
    """The part asked for, those to pass on, or all of which something is known."""
    if part_id is not None:
        return [get_belonging(survey, part_id)]
    if pass_on:
        return list(list_parts_to_pass_on(survey))
    return [one for one in list_belongings(survey) if one.weighed.counted or one.conflicts or one.pattern]


def _lines(one: BelongingPart) -> Iterator[str]:
    yield f"Part {one.part.part.id}, {format_part_name(one.part)}: {one.weighed.verdict.label.lower()}."
    if one.arithmetic:
        yield f"   {one.arithmetic}"
    for said in one.said:
        told = " ".join(filter(None, (said.note, f"(says {said.who})" if said.who else "")))
        yield f"   {said.id}. {get_belonging_scale().kinds[said.kind].label}{': ' + told if told else ''}"
    yield from (f"   Cannot all be so: {conflict}" for conflict in one.conflicts)
    yield from (f"   Both were said: {look.ask}." for look in one.weighed.torn)
    if one.settles:
        yield f"   This would settle it: {one.settles}"
    if one.pattern:
        yield f"   Kept as a pattern for {one.pattern.label}."
    if one.other_machine:
        yield f"   {'Held back: ' + one.held if one.held else 'It can be passed on'}."
    if one.caution:
        yield f"   Caution: {one.caution}"


_SIGNS = {"for": "+{}", "against": "−{}", "period": "period"}
_KINDS = Listing(
    Column("kind", "id", "kind"), "look", "side",
    Column("weight", head="points", text=lambda one: _SIGNS[one.side].format(one.weight)), "proves",
    Column("label", head="what"), Column("why", head="because"), "source",
    Column("sure", head="who says so", text=lambda one: f"{one.source}; points {one.sure}"),
)  # fmt: skip
_ANSWERS = Listing(Column("answer", "id"), Column("label", head=""), Column("about", head=""))


def _say_kinds(as_json: bool) -> None:
    scale = get_belonging_scale()
    kinds, answers = list(scale.kinds.values()), list(scale.verdicts.values())
    if as_json:
        print_json({
            "kinds": [_KINDS.as_json(kind) for kind in kinds],
            "looks": [json_of(look, "look=id", "ask", "careful") for look in scale.looks],
            "answers": [_ANSWERS.as_json(answer) for answer in answers],
        })  # fmt: skip
        return
    _KINDS.say_table("What speaks for or against a part (--because)", kinds)
    _ANSWERS.say_table("Answers", answers)


def _json(one: BelongingPart) -> dict[str, Any]:
    found = one.weighed
    return {
        "part": one.part.part.id, "name": format_part_name(one.part), "answer": found.verdict.id,
        "says": found.verdict.label,
        "total": found.total, "arithmetic": one.arithmetic, "settles": found.settles.id if found.settles else None,
        "settles_says": one.settles, "conflicts": list(one.conflicts), "torn": [look.id for look in found.torn],
        "evidence": [json_of(said, "number=id", "kind", "note", "who", "photo", "by", "at") for said in one.said],
        "counted": [json_of(kind, "kind=id", "side", "weight") for kind in found.counted],
        "pattern": one.pattern.id if one.pattern else None, "held": one.held,
        "pass_on": one.other_machine and not one.held, "caution": one.caution,
    }  # fmt: skip


COMMANDS = (belongs,)
