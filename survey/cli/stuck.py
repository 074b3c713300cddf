"""``teachest stuck``: what is seized or snapped, how hard it is to get out, and what to try next."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder, print_json
from survey.cli.listing import Column, Listing, json_of, say_each
from survey.store.survey import Survey
from survey.stuck.verbs import (
    StuckThing,
    add_stuck,
    change_stuck,
    get_removal_scale,
    list_stuck,
    make_stuck_line,
    remove_stuck,
)


@click.command(
    epilog="Example: teachest stuck my-machine 7 --what 'exhaust stud' --is steel-in-alloy --is flush --tried oil"
)
@folder_argument
@click.argument("part_id", metavar="[PART]", type=int, required=False)
@click.option("--what", help="Record a stuck thing on the part: what it is, in a few words.")
@click.option("--number", "stuck_id", type=int, help="Say something else of this stuck thing.")
@click.option("--thing", help="What sort of thing: fastener (unless said), spindle or tube.")
@click.option("--is", "conditions", multiple=True, metavar="WORD", help="What is seen of it; repeat. See --scale.")
@click.option("--tried", multiple=True, metavar="WORD", help="What was tried in vain; repeat. See --scale.")
@click.option("--holds", help="What waits for it, in your own words.")
@click.option("--note", help="Anything else.")
@click.option("--out", is_flag=True, default=None, help="With --number: it is out.")
@click.option("--remove", is_flag=True, help="With --number: it was recorded by mistake; the history keeps it.")
@click.option("--scale", is_flag=True, help="Show every word with its points, the ways and the bands.")
@json_option
def stuck(
    folder: Path, part_id: int | None, what: str | None, stuck_id: int | None, remove: bool, scale: bool, as_json: bool,
    **said: Any,
) -> None:  # fmt: skip
    """List what is seized or snapped, hardest first; or record it on a part, with what to try next."""
    if scale:
        _say_scale(as_json)
        return
    fields = {name: value for name, value in said.items() if value not in (None, ())}
    with open_folder(folder) as survey:
        if remove or (stuck_id is not None and (fields or what)):
            _change(survey, stuck_id, {**fields, **({"what": what} if what else {})}, remove)
        elif what is not None:
            if part_id is None:
                raise click.UsageError("Say on which part it is stuck.")
            add_stuck(survey, part_id, what, **fields)
        elif fields:
            raise click.UsageError("Say with --what what is stuck, or with --number which one is meant.")
        found = list_stuck(survey, part_id)
    say_each(found, as_json, _json, _lines, "Nothing is recorded as stuck.")


def _change(survey: Survey, stuck_id: int | None, fields: dict[str, Any], remove: bool) -> None:
    if stuck_id is None:
        raise click.UsageError("Say which with --number.")
    if remove:
        remove_stuck(survey, stuck_id)
    else:
        change_stuck(survey, stuck_id, **fields)


def _lines(one: StuckThing) -> Iterator[str]:
    line = make_stuck_line(one)
    yield f"{one.said.id}. On part {one.said.part}: {line.head}."
    if line.text:
        yield f"   {line.text}"
    if line.caution:
        yield f"   Caution: {line.caution}"


_CONDITIONS = Listing(
    Column("is", "id", "word"), "group", Column("points", head="points", text=lambda one: f"+{one.points}"),
    Column("label", head="what"), Column("why", head="because"), "things", "source",
    Column("sure", head="who says so", text=lambda one: f"{one.source}; points {one.sure}"),
)  # fmt: skip
_WAYS = Listing(
    Column("tried", "id", "word"), "label", Column("about", head="what"), Column("against", head="against it"), "source"
)
_BANDS = Listing(
    Column("least", head="from"), Column("label", head="what it takes"), Column("about", head=""), "sure"
)  # fmt: skip


def _say_scale(as_json: bool) -> None:
    known = get_removal_scale()
    if as_json:
        print_json({
            "conditions": [_CONDITIONS.as_json(one) for one in known.conditions],
            "ways": [_WAYS.as_json(one) for one in known.ways],
            "bands": [_BANDS.as_json(one) for one in known.bands],
        })  # fmt: skip
        return
    _CONDITIONS.say_table("What is seen of it (--is)", known.conditions)
    _WAYS.say_table("Ways, in their order (--tried)", known.ways)
    _BANDS.say_table("Bands", known.bands)


def _json(one: StuckThing) -> dict[str, Any]:
    said, found = one.said, one.score
    return {
        **json_of(said, "number=id", "part", "what", "thing", "out"),
        "points": found.total, "at_least": bool(found.unsaid), "still_to_say": list(found.unsaid),
        "band": found.band.id, "band_says": found.band.label,
        "conditions": [json_of(condition, "is=id", "points", "label") for condition in found.counted],
        "tried": [way.id for way in found.tried], "next": found.next_way.id if found.next_way else None,
        "next_says": found.next_way.about if found.next_way else found.band.about,
        "cautions": [json_of(danger, "text", "source") for danger in found.dangers],
        "holds": said.holds, "steps_waiting": one.waiting.total,
        "steps": [step.id for step in one.waiting.direct], "note": said.note, "by": said.by, "at": said.at,
    }  # fmt: skip


COMMANDS = (stuck,)
