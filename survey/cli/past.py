"""What was done: the history, taking back, doing again."""

from __future__ import annotations

from pathlib import Path

import click

from survey import bench
from survey.cli.common import folder_argument, json_option, opened, say_json, say_table
from survey.model import Act


@click.command(epilog="Example: teachest history my-machine --part 7")
@folder_argument
@click.option("--last", type=click.IntRange(min=1), default=40, show_default=True, help="How many of the latest acts.")
@click.option("--part", "part_id", type=int, help="Only what touched this part.")
@json_option
def history(folder: Path, last: int, part_id: int | None, as_json: bool) -> None:
    """Show what was done, when and by whom, the latest first."""
    with opened(folder) as survey:
        if part_id is not None:
            bench.part(survey, part_id)
        acts = bench.acts(survey, part=part_id, last=last)
    if as_json:
        say_json([_act_json(act) for act in acts])
        return
    say_table("History", ["when (UTC)", "who", "what"], [[act.at, act.by, act.words] for act in acts])


@click.command(epilog="Example: teachest undo my-machine --times 3")
@folder_argument
@click.option("--times", type=click.IntRange(1, 1000), default=1, show_default=True, help="How many acts.")
@json_option
def undo(folder: Path, times: int, as_json: bool) -> None:
    """Take back the latest act: a finding, a placing, a part put aside; photos once taken in stay."""
    with opened(folder) as survey:
        acts = [bench.undo(survey)]
        acts += [bench.undo(survey) for _ in range(times - 1) if bench.next_turns(survey)[0]]
    _say(acts, "Taken back", as_json)


@click.command(epilog="Example: teachest redo my-machine")
@folder_argument
@click.option("--times", type=click.IntRange(1, 1000), default=1, show_default=True, help="How many acts.")
@json_option
def redo(folder: Path, times: int, as_json: bool) -> None:
    """Do again what was taken back last."""
    with opened(folder) as survey:
        acts = [bench.redo(survey)]
        acts += [bench.redo(survey) for _ in range(times - 1) if bench.next_turns(survey)[1]]
    _say(acts, "Done again", as_json)


def _say(acts: list[Act], done: str, as_json: bool) -> None:
    if as_json:
        say_json([_act_json(act) for act in acts])
        return
    for act in acts:
        click.echo(f"{done}: {act.words}.")


def _act_json(act: Act) -> dict[str, object]:
    return {name: getattr(act, name) for name in ("batch", "at", "by", "verb", "words")}


COMMANDS = (history, undo, redo)
