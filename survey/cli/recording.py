"""Commands that write: a new survey, parts, findings, what is missing, own grades."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

import click

from survey.cli.common import (
    expand_path,
    folder_argument,
    json_option,
    open_folder,
    outcome_words,
    print_json,
    warn_of_network_folder,
)
from survey.cli.listing import json_of, say_each
from survey.errors import BadValue
from survey.machine.verbs import add_number, change_machine, get_machine
from survey.model.grading import GRADES, SEEN, Grade, Seen
from survey.model.parts import GradedPart
from survey.model.schedule import POSITION_STATES, Component, PositionState
from survey.parts.finding_verbs import add_finding, add_look, add_reading, compare_readings
from survey.parts.verbs import add_part, change_part, get_part, remove_part, set_own_grade
from survey.photos.verbs import place_photo
from survey.schedule.verbs import (
    add_component,
    get_component,
    get_default_duty,
    get_extra_component,
    list_components,
    remove_component,
    set_position,
    set_quantity,
)
from survey.settings import load_settings
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.words import format_count

SHOWN = ("name", "kind", "maker", "model", "year", "engine", "bought", "surveyor", "note")

SEEN_OPTION = click.option(
    "--seen", type=click.Choice(SEEN), help="How it was looked at; unsaid, a coated safety part counts as paint."
)


def point(ctx: click.Context, option: click.Parameter, text: str | None) -> tuple[float, float] | None:
    """``X,Y`` as fractions of the upright picture."""
    if text is None:
        return None
    try:
        x, y = (float(number) for number in text.split(","))
    except ValueError:
        raise click.BadParameter("write two fractions of the picture, for example 0.52,0.31", ctx, option) from None
    return x, y


@click.command(epilog='Example: teachest new my-machine --kind lightweight --name "Dairy find"')
@folder_argument
@click.option(
    "--kind", help="Which catalogue to start from: see teachest kinds. Unless said, lightweight or the setting."
)
@click.option("--name", required=True, help="What you call the machine.")
@json_option
def new(folder: Path, kind: str | None, name: str, as_json: bool) -> None:
    """Make a survey folder with its schedule from a catalogue."""
    settings = load_settings()
    kind = kind or settings.kind
    with make_survey(folder, kind, name, by=settings.surveyor) as survey:
        components = len(list_components(survey))
    warn_of_network_folder(folder)
    if as_json:
        print_json({"folder": str(folder), "kind": kind, "name": name, "components": components})
        return
    click.echo(f"{folder} is ready: a schedule of {components} components, kind {kind}.")
    click.echo(f"Next: teachest intake {expand_path(folder)} PHOTOS")


@click.command(epilog='Example: teachest machine my-machine --year 1957 --number "frame, headstock=HP 1057 *"')
@folder_argument
@click.option("--name", help="What you call it.")
@click.option("--maker", help="Maker.")
@click.option("--model", help="Model.")
@click.option("--year", help="Year, or your guess.")
@click.option("--engine", help="Engine, for example: 147 cc two-stroke.")
@click.option("--bought", help="When, from whom, what was said.")
@click.option("--surveyor", help="Who looks.")
@click.option("--note", help="Anything else.")
@click.option(
    "--number", "numbers", multiple=True, metavar="PLACE=TEXT", help="A number exactly as stamped; repeat for more."
)
@json_option
def machine(folder: Path, numbers: tuple[str, ...], as_json: bool, **fields: str | None) -> None:
    """Write down what the machine is and its numbers as stamped; without options, show it."""
    with open_folder(folder) as survey, survey.together():
        change_machine(survey, **{name: text for name, text in fields.items() if text is not None})
        for number in numbers:
            place, mark, text = number.partition("=")
            if not mark:
                raise BadValue(f"{number!r} has no '='.", 'Write the place, then =, then the number: "frame=HP 1057".')
            add_number(survey, place, text)
        shown = get_machine(survey)
    if as_json:
        stamps = [json_of(number, "number=id", "place", "text", "note") for number in shown.numbers]
        print_json({**json_of(shown, *SHOWN), "numbers": stamps})
        return
    for name in SHOWN:
        if getattr(shown, name):
            click.echo(f"{name}: {getattr(shown, name)}")
    for stamped in shown.numbers:
        click.echo(f"{stamped.place}: {stamped.text}")


@click.command(epilog="Example: teachest part my-machine --component B170 --photo 12 --photo 13")
@folder_argument
@click.option("--component", "component_id", help="What it is, an id of the schedule; leave out while unknown.")
@click.option("--photo", "photos", type=int, multiple=True, help="A photo that shows it; repeat for more.")
@click.option("--part", "part_id", type=int, help="Change this part instead of recording a new one.")
@click.option("--quantity", type=int, help="How many are in hand.")
@click.option("--label", help="Your own name for it.")
@click.option("--inside", type=int, help="The part it sits in.")
@click.option("--material", help="Material family, if it differs from the schedule's.")
@click.option("--box", help="Where it is.")
@click.option("--note", help="Anything else.")
@click.option("--remove", is_flag=True, help="With --part: it was recorded by mistake; the history keeps it.")
@json_option
def part(
    folder: Path, component_id: str | None, photos: tuple[int, ...], part_id: int | None, remove: bool, as_json: bool,
    **fields: Any,
) -> None:  # fmt: skip
    """Record a part, known or unknown yet, with its photos; or change one with --part."""
    said = {name: value for name, value in fields.items() if value is not None}
    with open_folder(folder) as survey, survey.together():
        if remove:
            _remove(survey, part_id, as_json)
            return
        if part_id is None:
            part_id = add_part(survey, component_id, photos=photos, **said).id
        else:
            component = {} if component_id is None else {"component": component_id}
            change_part(survey, part_id, **component, **said)
            for photo_id in photos:
                place_photo(survey, photo_id, part_id)
        one = get_part(survey, part_id)
    if as_json:
        print_json({"part": part_id})
        return
    click.echo(f"Part {part_id}: {get_part_name(one)}, {format_count(len(one.part.photos), 'photo')}.")
    place = f"{expand_path(folder)} {part_id}"
    click.echo(f"Next: teachest find {place} KIND STEP, or teachest sound {place}")


@click.command(
    epilog="Example: teachest find my-machine 4 crack 3 --seen bare --photo 12 --at 0.52,0.31 --note 'at the weld'"
)
@folder_argument
@click.argument("part_id", metavar="PART", type=int)
@click.argument("kind")
@click.argument("step", type=int)
@SEEN_OPTION
@click.option("--photo", type=int, help="The photo that shows it.")
@click.option("--at", "points", metavar="X,Y", callback=point, help="Where on the photo, in fractions: a pin.")
@click.option("--to", "corner", metavar="X,Y", callback=point, help="With --at: the other corner of a box.")
@click.option("--note", default="", help="In your own words.")
@json_option
def find(
    folder: Path, part_id: int, kind: str, step: int, seen: Seen | None, photo: int | None,
    points: tuple[float, float] | None, corner: tuple[float, float] | None, note: str, as_json: bool,
) -> None:  # fmt: skip
    """Record a finding on a part: its kind, its step 1 to 4, how it was looked at, where on which photo."""
    drawn = [one for one in (points, corner) if one is not None]
    with open_folder(folder) as survey:
        found = add_finding(
            survey, part_id, kind, step, seen=seen, note=note, photo=photo,
            shape="pin" if corner is None else "box", points=drawn,
        )  # fmt: skip
        one = get_part(survey, part_id)
    if as_json:
        print_json({**json_of(found, "finding=id", "part", "kind", "step", "seen"), **verdict_json(one)})
        return
    click.echo(f"Finding {found.id} on part {part_id}: {kind} step {step}, seen {_manner(seen, found.seen)}.")
    _say_standing(one)


@click.command(epilog="Example: teachest sound my-machine 4 --seen bare --photo 12")
@folder_argument
@click.argument("part_id", metavar="PART", type=int)
@SEEN_OPTION
@click.option("--photo", type=int, help="The photo that shows it.")
@click.option("--note", default="", help="In your own words.")
@json_option
def sound(folder: Path, part_id: int, seen: Seen | None, photo: int | None, note: str, as_json: bool) -> None:
    """Record that a part was looked over and nothing wrong was seen."""
    with open_folder(folder) as survey:
        look = add_look(survey, part_id, seen=seen, note=note, photo=photo)
        one = get_part(survey, part_id)
    if as_json:
        print_json({**json_of(look, "look=id", "part", "seen"), **verdict_json(one)})
        return
    click.echo(f"Part {part_id}: nothing wrong seen, {_manner(seen, look.seen)}.")
    _say_standing(one)


@click.command(
    context_settings={"ignore_unknown_options": True},  # "-3 mm" is a value, and refused as one
    epilog="Example: teachest reading my-machine 7 rim-lateral '3.2 mm' --tool 'dial gauge'",
)
@folder_argument
@click.argument("part_id", metavar="PART", type=int)
@click.argument("name", required=False)
@click.argument("value", required=False)
@click.option("--tool", default="", help="What it was measured with.")
@json_option
def reading(folder: Path, part_id: int, name: str | None, value: str | None, tool: str, as_json: bool) -> None:
    """Record a measured value on a part; without NAME and VALUE, list the readings one takes on it."""
    if name is not None and value is None:
        raise click.UsageError("Give the value after the reading's name.")
    with open_folder(folder) as survey:
        if name is None or value is None:
            _list_readings(survey, part_id, as_json)
            return
        taken = add_reading(survey, part_id, name, value, tool)
        one = get_part(survey, part_id)
    if as_json:
        print_json({**json_of(taken, "reading=id", "part", "name", "value", "unit"), **verdict_json(one)})
        return
    click.echo(f"Reading on part {part_id}: {name} {taken.value:g} {taken.unit} (written {taken.written}).")
    _say_standing(one)


@click.command(epilog="Example: teachest missing my-machine B146a --state missing --note 'needle gone, seat is there'")
@folder_argument
@click.argument("component")
@click.option(
    "--state", type=click.Choice(POSITION_STATES), default="missing", show_default=True, help="What is the matter."
)
@click.option("--clear", is_flag=True, help="Take back what was said.")
@click.option("--note", default="", help="In your own words.")
@json_option
def missing(folder: Path, component: str, state: PositionState, clear: bool, note: str, as_json: bool) -> None:
    """Say that a position is missing, here but wrong, inside and unseen, not fitted, or not looked for."""
    said = None if clear else state
    with open_folder(folder) as survey:
        set_position(survey, component, said, note)
        label = get_component(survey, component).label
    if as_json:
        print_json({"component": component, "label": label, "state": said})
        return
    click.echo(f"{component} {label}: {said or 'nothing said'}.")


@click.command(epilog="Example: teachest override my-machine 4 repair --reason 'the brazier has seen it'")
@folder_argument
@click.argument("part_id", metavar="PART", type=int)
@click.argument("grade", type=click.Choice(GRADES), required=False)
@click.option("--reason", default="", help="Why you differ from the rules.")
@click.option("--clear", is_flag=True, help="Take your own grade back.")
@json_option
def override(folder: Path, part_id: int, grade: Grade | None, reason: str, clear: bool, as_json: bool) -> None:
    """Set your own grade on a part with a reason; the ruling stays visible beside it."""
    if grade is None and not clear:
        raise click.UsageError("Say a grade, or --clear.")
    with open_folder(folder) as survey:
        set_own_grade(survey, part_id, None if clear else grade, reason)
        one = get_part(survey, part_id)
    if as_json:
        print_json({"part": part_id, "override": override_json(one), **verdict_json(one)})
        return
    _say_standing(one)


@click.command(epilog="Example: teachest component my-machine P01 'Parcel carrier' --assembly Carrier --class stay")
@folder_argument
@click.argument("component_id", metavar="ID")
@click.argument("label", required=False)
@click.option("--assembly", default="Own additions", show_default=True, help="Where it belongs.")
@click.option("--inside", help="The component it sits in.")
@click.option("--quantity", type=int, help="How many a complete machine has.")
@click.option(
    "--duty", help="safety, running, cosmetic or paperwork; unless said, the gravest a part of its class can have."
)
@click.option(
    "--class", "part_class", default="stay", show_default=True, help="A class word: see teachest rules --words."
)
@click.option("--material", default="steel", show_default=True, help="A material family: see teachest rules --words.")
@click.option("--remove", is_flag=True, help="Put a position aside that was added by mistake; see teachest bin.")
@json_option
def component(
    folder: Path, component_id: str, label: str | None, assembly: str, inside: str | None, quantity: int | None,
    duty: str | None, part_class: str, material: str, remove: bool, as_json: bool,
) -> None:  # fmt: skip
    """Add your own component, take one of the catalogue's extras by ID alone, set a quantity, or put one aside."""
    with open_folder(folder) as survey:
        if remove:
            shown = get_component(survey, component_id)
            remove_component(survey, component_id)
        elif label is not None:
            known = cast(Any, duty or get_default_duty(part_class))
            own = Component(component_id, label, assembly, inside, quantity or 1, known, part_class, material, own=True)
            shown = add_component(survey, own)
        elif quantity is not None:
            shown = set_quantity(survey, component_id, quantity)
        else:
            shown = add_component(survey, get_extra_component(survey, component_id))
    if as_json:
        print_json(json_of(shown, "component=id", "label", "quantity"))
        return
    said = "put aside" if remove else f"{shown.quantity} on a complete machine"
    click.echo(f"{shown.id} {shown.label}: {said}.")


def get_part_name(one: GradedPart) -> str:
    """What to call a part: its own label, its component's, or unknown."""
    return one.part.label or (one.component.label if one.component else "unknown yet")


def override_json(one: GradedPart) -> dict[str, str] | None:
    """The owner's own grade as JSON."""
    own = one.own_grade
    return None if own is None else json_of(own, "grade", "reason", "by", "at")


def verdict_json(one: GradedPart) -> dict[str, str | None]:
    """Grade or what is owed, as JSON."""
    return json_of(one.verdict, "grade", "waiting")


def _manner(said: Seen | None, recorded: Seen) -> str:
    """How it was looked at, and whether that was said or taken for granted."""
    if said:
        return recorded
    return f"{recorded} (assumed; say --seen bare if nothing was over it)" if recorded == "paint" else "bare (assumed)"


def _say_standing(one: GradedPart) -> None:
    hardest = one.verdict.rulings[0]
    click.echo(f"{get_part_name(one)}: {outcome_words(one.verdict.outcome)}: {hardest.because}")
    if one.own_grade:
        click.echo(f"Your own grade: {one.own_grade.grade}: {one.own_grade.reason}")
    if hardest.caution:
        click.echo(f"Caution: {hardest.caution}")


def _remove(survey: Survey, part_id: int | None, as_json: bool) -> None:
    if part_id is None:
        raise click.UsageError("Say which with --part.")
    remove_part(survey, part_id)
    if as_json:
        print_json({"part": part_id, "removed": True})
    else:
        click.echo(f"Part {part_id} is put aside; its photos wait again.")


def _list_readings(survey: Survey, part_id: int, as_json: bool) -> None:
    names = ("reading", "label", "unit", "value", "state", "limit", "source", "how")
    held = compare_readings(survey, part_id)
    none = "No reading is defined for such a part."
    say_each(held, as_json, lambda one: json_of(one, *names), _reading_lines, none)


def _reading_lines(one: Any) -> list[str]:
    value = "not taken" if one.value is None else f"{one.value:g} {one.unit}"
    return [f"{one.reading}: {one.label}: {value}. Limit: {one.limit}. {one.how}"]


COMMANDS = (new, machine, part, find, sound, reading, missing, override, component)
