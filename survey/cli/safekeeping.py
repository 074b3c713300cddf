"""Keeping a survey safe: backups, putting them back, the bin, snapshots, open data."""

from __future__ import annotations

from pathlib import Path

import click

from survey.cli.common import folder_argument, json_option, open_folder, print_json, warn_of_network_folder
from survey.cli.listing import Column, Listing, json_of
from survey.history.bin_verbs import BIN_DAYS, BIN_KINDS, empty_bin, list_bin, put_back
from survey.photos.verbs import remove_photo
from survey.safekeeping.verbs import back_up, export_survey, restore_backup, take_snapshot
from survey.words import format_count


@click.command(epilog="Example: teachest backup my-machine --to /media/stick/")
@folder_argument
@click.option("--to", type=click.Path(path_type=Path), required=True, help="The zip file, or a folder to put it in.")
@json_option
def backup(folder: Path, to: Path, as_json: bool) -> None:
    """Write the whole survey into one zip file, read it again and prove it; the survey may be in use."""
    with open_folder(folder) as survey:
        made = back_up(survey, to)
    if as_json:
        print_json(json_of(made, "path", "bytes", "photos", "rows", "damaged"))
        return
    click.echo(
        f"{made.path}: {format_count(made.photos, 'photo')}, {made.rows:,} rows, {made.bytes:,} bytes, read again."
    )
    _mind_damaged(made.damaged)


@click.command(epilog="Example: teachest restore my-machine.zip --to my-machine-again")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--to", type=click.Path(path_type=Path), required=True, help="The folder: a new one, or an empty one.")
@click.option("--replace", is_flag=True, help="The folder holds the same survey: put it beside, and this in its place.")
@json_option
def restore(file: Path, to: Path, replace: bool, as_json: bool) -> None:
    """Put a backup back as a survey; a damaged or hostile one is refused before anything is written."""
    done = restore_backup(file, to, replace=replace)
    warn_of_network_folder(to)
    if as_json:
        print_json(json_of(done, "folder", "kept", "photos", "rows", "damaged"))
        return
    click.echo(f"{done.folder}: {format_count(done.photos, 'photo')}, {done.rows:,} rows.")
    if done.kept:
        click.echo(f"The survey as it was before lies in {done.kept}.")
    _mind_damaged(done.damaged)


@click.command("bin", epilog="Example: teachest bin my-machine --put-back finding 12")
@folder_argument
@click.option("--put-back", "back", type=(click.Choice(BIN_KINDS), str), metavar="KIND NUMBER",
              help="Put this back, with the marks and links that went with it.")  # fmt: skip
@click.option("--photo", type=int, metavar="NUMBER", help="Put this photo in the bin; its bytes stay there.")
@click.option("--empty", is_flag=True, help=f"Take out for good what has lain there for {BIN_DAYS} days.")
@json_option
def bin_command(folder: Path, back: tuple[str, str] | None, photo: int | None, empty: bool, as_json: bool) -> None:
    """List what was put aside, the latest first; put it back, or take out for good what is old."""
    if sum((back is not None, photo is not None, empty)) > 1:
        raise click.UsageError("Say one of --put-back, --photo and --empty.")
    with open_folder(folder) as survey:
        if back is not None:
            put_back(survey, *back)
        if photo is not None:
            remove_photo(survey, photo)
        gone = empty_bin(survey) if empty else []
        entries = gone if empty else list_bin(survey)
    if empty and not as_json:
        click.echo(f"{format_count(len(gone), 'thing')} taken out for good; the history keeps what they were.")
        return
    _BIN.say("Bin", entries, as_json)


_BIN = Listing(
    Column("kind", head="kind"), Column("id", head="number"), Column("gone_at", head="put aside (UTC)"),
    Column("words", head="what"),
)  # fmt: skip


@click.command(epilog="Example: teachest snapshot my-machine")
@folder_argument
@json_option
def snapshot(folder: Path, as_json: bool) -> None:
    """Copy survey.db into the folder snapshots, where the latest ten are kept; serve does it once a day."""
    with open_folder(folder) as survey:
        made = take_snapshot(survey)
    if as_json:
        print_json({"path": str(made)})
    else:
        click.echo(str(made))


@click.command(epilog="Example: teachest export my-machine --to my-machine-open")
@folder_argument
@click.option("--to", type=click.Path(path_type=Path), required=True, help="The folder: a new one, or an empty one.")
@click.option("--originals", is_flag=True, help="Photos as they came, with the place where they were taken.")
@json_option
def export(folder: Path, to: Path, originals: bool, as_json: bool) -> None:
    """Write everything as open data: tables as CSV and JSON lines, photos without metadata under readable names."""
    with open_folder(folder) as survey:
        done = export_survey(survey, to, originals=originals)
    if as_json:
        print_json(json_of(done, "folder", "photos", "rows", "damaged"))
        return
    click.echo(f"{done.folder}: {format_count(done.photos, 'photo')}, {done.rows:,} rows.")
    _mind_damaged(done.damaged)


def _mind_damaged(paths: tuple[str, ...]) -> None:
    for path in paths:
        click.echo(f"Mind: the original {path} is gone or damaged.", err=True)


COMMANDS = (backup, restore, bin_command, snapshot, export)
