"""What was done: the history, taking back, doing again."""

from __future__ import annotations

from pathlib import Path

import click

from survey.cli.common import folder_argument, json_option, open_folder
from survey.cli.listing import Column, Listing, say_each
from survey.history.verbs import get_undo_and_redo, list_acts, redo_act, undo_act
from survey.model.history import Act
from survey.parts.verbs import get_part


@click.command(epilog="Example: teachest history my-machine --part 7")
@folder_argument
@click.option("--last", type=click.IntRange(min=1), default=40, show_default=True, help="How many of the latest acts.")
@click.option("--part", "part_id", type=int, help="Only what touched this part.")
@json_option
def history(folder: Path, last: int, part_id: int | None, as_json: bool) -> None:
    """Show what was done, when and by whom, the latest first."""
    with open_folder(folder) as survey:
        if part_id is not None:
            get_part(survey, part_id)
        acts = list_acts(survey, part=part_id, last=last)
    _ACTS.say("History", acts, as_json)


@click.command(epilog="Example: teachest undo my-machine --times 3")
@folder_argument
@click.option("--times", type=click.IntRange(1, 1000), default=1, show_default=True, help="How many acts.")
@json_option
def undo(folder: Path, times: int, as_json: bool) -> None:
    """Take back the latest act: a finding, a placing, a part put aside; photos once taken in stay."""
    with open_folder(folder) as survey:
        acts = [undo_act(survey)]
        acts += [undo_act(survey) for _ in range(times - 1) if get_undo_and_redo(survey)[0]]
    _say(acts, "Taken back", as_json)


@click.command(epilog="Example: teachest redo my-machine")
@folder_argument
@click.option("--times", type=click.IntRange(1, 1000), default=1, show_default=True, help="How many acts.")
@json_option
def redo(folder: Path, times: int, as_json: bool) -> None:
    """Do again what was taken back last."""
    with open_folder(folder) as survey:
        acts = [redo_act(survey)]
        acts += [redo_act(survey) for _ in range(times - 1) if get_undo_and_redo(survey)[1]]
    _say(acts, "Done again", as_json)


def _say(acts: list[Act], done: str, as_json: bool) -> None:
    say_each(acts, as_json, _ACTS.as_json, lambda act: [f"{done}: {act.words}."])


_ACTS = Listing(
    "batch", Column("at", head="when (UTC)"), Column("by", head="who"), "verb", Column("words", head="what")
)  # fmt: skip

COMMANDS = (history, undo, redo)
