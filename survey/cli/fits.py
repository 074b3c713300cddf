"""``teachest fit``: how parts went together dry, the spacers they ask for, and how far the loose build has got."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder, print_json
from survey.cli.listing import json_of, say_each
from survey.fits.joints import JOINT_WORDS, Progress, describe_progress
from survey.fits.spacers import Spacer, describe_spacer
from survey.fits.verbs import (
    TrialFit,
    add_fit,
    change_fit,
    compute_spacer,
    describe_joint,
    describe_trial,
    list_fits,
    list_progress,
    remove_fit,
)
from survey.model.fits import FIT_RESULTS, FIT_SIDES
from survey.store.survey import Survey


@click.command(
    epilog="Example: teachest fit my-machine 7 9 --result packing --packed 'two tin washers' --side near"
    " --gap '112.4 mm' --width '110.0 mm ± 0.1 mm'"
)
@folder_argument
@click.argument("part_id", metavar="[PART]", type=int, required=False)
@click.argument("other_id", metavar="[OTHER]", type=int, required=False)
@click.option("--result", type=click.Choice(FIT_RESULTS), help="How the other part went to the first.")
@click.option("--packed", help="What was between the two.")
@click.option("--side", type=click.Choice([side for side in FIT_SIDES if side]), help="On which side.")
@click.option("--gap", help="The first part's size where it takes the other, such as '112.4 mm ± 0.1 mm'.")
@click.option("--width", help="The other part's size there.")
@click.option("--note", help="Anything else.")
@click.option("--photo", "photos", type=int, multiple=True, help="A photo that shows it; repeat.")
@click.option("--number", "fit_id", type=int, help="Say something else of this trial fit.")
@click.option("--remove", is_flag=True, help="With --number: it was recorded by mistake; the history keeps it.")
@click.option("--spacer", "measured", nargs=2, metavar="GAP WIDTH", help="Only work out the spacer for two lengths.")
@click.option("--joints", is_flag=True, help="Show every joint and how far the loose build of each assembly has got.")
@json_option
def fit(
    folder: Path, part_id: int | None, other_id: int | None, fit_id: int | None, remove: bool, joints: bool,
    measured: tuple[str, str] | None, as_json: bool, **said: Any,
) -> None:  # fmt: skip
    """Record how two parts went together; or list the trial fits, of one part or of all, the latest first."""
    if measured is not None:
        spacer = compute_spacer(*measured, 2 if said["side"] == "both" else 1)
        if as_json:
            print_json(_spacer_json(spacer))
        else:
            click.echo(describe_spacer(spacer))
        return
    fields = {name: value for name, value in said.items() if value not in (None, ())}
    with open_folder(folder) as survey:
        if remove or fit_id is not None:
            _change(survey, fit_id, fields, remove)
        elif fields:
            _add(survey, part_id, other_id, fields)
        if joints:
            say_each(list_progress(survey), as_json, _progress_json, _progress_lines)
            return
        found = [one for one in list_fits(survey, part_id) if other_id is None or other_id in one.said.pair]
    say_each(found, as_json, _json, _lines, "No trial fit is recorded.")


def _add(survey: Survey, part_id: int | None, other_id: int | None, fields: dict[str, Any]) -> None:
    if part_id is None or other_id is None:
        raise click.UsageError("Name both parts: the one that takes the other first.")
    if "result" not in fields:
        raise click.UsageError("Say with --result how they went together.")
    add_fit(survey, part_id, other_id, **fields)


def _change(survey: Survey, fit_id: int | None, fields: dict[str, Any], remove: bool) -> None:
    if fit_id is None:
        raise click.UsageError("Say which with --number.")
    if remove:
        remove_fit(survey, fit_id)
    elif fields:
        change_fit(survey, fit_id, **fields)


def _lines(one: TrialFit) -> Iterator[str]:
    said = one.said
    later = "" if one.counts else " (a later trial of the two counts)"
    joint, how = describe_joint(one), describe_trial(one)
    yield f"{said.id}. Part {said.other} to part {said.part}, {joint}: {how}{later}"
    if one.packs:
        yield "   Only packed for now: write it off once a made spacer is in."
    if said.note:
        yield f"   {said.note}"


def _progress_lines(one: Progress) -> Iterator[str]:
    yield f"{one.assembly}: {describe_progress(one)}"
    for joint in one.joints:
        if joint.state != "waits":
            yield f"   {joint.goes_in.label} to {joint.takes.label}: {JOINT_WORDS[joint.state].lower()}"


def _spacer_json(found: Spacer) -> dict[str, Any]:
    return {
        "outcome": found.outcome, "says": describe_spacer(found), "left_mm": float(found.left_mm),
        "within_mm": round(found.within_mm, 4), "sides": found.sides, "each_mm": float(found.each_mm),
        "each_within_mm": round(found.each_within_mm, 4), "gap": found.gap.size.written,
        "width": found.width.size.written,
        "uncertainty_said": found.said,
    }  # fmt: skip


def _json(one: TrialFit) -> dict[str, Any]:
    said = one.said
    return {
        **json_of(said, "number=id", "part", "other"), "names": describe_joint(one), "result": said.result,
        "says": describe_trial(one), "counts": one.counts, **json_of(said, "packed", "side", "gap", "width"),
        "spacer": _spacer_json(one.spacer) if one.spacer else None, **json_of(said, "note", "photos", "by", "at"),
    }  # fmt: skip


def _progress_json(one: Progress) -> dict[str, Any]:
    return {
        "assembly": one.assembly, "positions": one.positions.asked, "filled": one.positions.here,
        "joints_expected": len(one.joints), "tried": one.tried,
        "by_state": {state: one.counts.get(state, 0) for state in JOINT_WORDS},
        "joints": [{"takes": joint.takes.id, "goes_in": joint.goes_in.id, "state": joint.state,
                    "fits": [fit.id for fit in joint.fits], "untried_parts": list(joint.untried),
                    "because": joint.joint.because, "source": joint.joint.source} for joint in one.joints],
    }  # fmt: skip


COMMANDS = (fit,)
