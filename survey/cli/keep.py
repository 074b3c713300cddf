"""Keeping a survey safe: backups and putting them back."""

from __future__ import annotations

from pathlib import Path

import click

from survey import bench
from survey.cli.common import folder_argument, json_option, many, opened, say_json


@click.command(epilog="Example: teachest backup my-machine --to /media/stick/")
@folder_argument
@click.option("--to", type=click.Path(path_type=Path), required=True, help="The zip file, or a folder to put it in.")
@json_option
def backup(folder: Path, to: Path, as_json: bool) -> None:
    """Write the whole survey into one zip file, read it again and prove it; the survey may be in use."""
    with opened(folder) as survey:
        made = bench.backup(survey, to)
    if as_json:
        say_json({"path": str(made.path), "bytes": made.bytes, "photos": made.photos, "rows": made.rows,
                  "damaged": made.damaged})  # fmt: skip
        return
    click.echo(f"{made.path}: {many(made.photos, 'photo')}, {made.rows:,} rows, {made.bytes:,} bytes, read again.")
    _mind_damaged(made.damaged)


@click.command(epilog="Example: teachest restore my-machine.zip --to my-machine-again")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--to", type=click.Path(path_type=Path), required=True, help="The folder: a new one, or an empty one.")
@click.option("--replace", is_flag=True, help="The folder holds the same survey: put it beside, and this in its place.")
@json_option
def restore(file: Path, to: Path, replace: bool, as_json: bool) -> None:
    """Put a backup back as a survey; a damaged or hostile one is refused before anything is written."""
    done = bench.restore(file, to, replace=replace)
    if as_json:
        say_json({"folder": str(done.folder), "kept": str(done.kept) if done.kept else None, "photos": done.photos,
                  "rows": done.rows, "damaged": done.damaged})  # fmt: skip
        return
    click.echo(f"{done.folder}: {many(done.photos, 'photo')}, {done.rows:,} rows.")
    if done.kept:
        click.echo(f"The survey as it was before lies in {done.kept}.")
    _mind_damaged(done.damaged)


def _mind_damaged(paths: tuple[str, ...]) -> None:
    for path in paths:
        click.echo(f"Mind: {path} was gone or damaged already when the backup was made.", err=True)


COMMANDS = (backup, restore)
