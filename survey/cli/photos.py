"""Commands about photos: taking them in, listing them, placing them."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Protocol

import click

from survey.cli.common import (
    expand_path,
    folder_argument,
    json_option,
    open_folder,
    print_json,
    warn_of_network_folder,
    warn_of_old_libraries,
)
from survey.cli.listing import Column, Listing, json_of, say_each
from survey.model.photos import IntakeResult, Photo
from survey.photos.runs import split_into_runs
from survey.photos.verbs import (
    change_photo,
    get_photo,
    list_photos,
    place_photo,
    set_photos_aside,
    take_in_photos,
    unplace_photo,
)
from survey.words import format_count


class _Count(Protocol):
    def __call__(self, done: int, total: int, name: str) -> None: ...


@click.command(epilog="Example: teachest intake my-machine ~/phone-export box-two.zip IMG_0412.HEIC")
@folder_argument
@click.argument("sources", nargs=-1, required=True, type=click.Path(path_type=Path, readable=False))
@json_option
def intake(folder: Path, sources: tuple[Path, ...], as_json: bool) -> None:
    """Take in folders, files and zip files of photos; what is here already is not taken twice."""
    warn_of_network_folder(folder)
    warn_of_old_libraries()
    with open_folder(folder) as survey, _counting(quiet=as_json) as progress:
        result = take_in_photos(survey, sources, progress)
    if as_json:
        print_json(_result_json(result))
        return
    for refused in result.refused:
        click.echo(f"refused  {refused.path}: {refused.message}")
    for warned in result.warned:
        click.echo(f"noted    {warned.path}: {warned.message}")
    click.echo(
        f"{format_count(len(result.added), 'photo')} added, {len(result.already)} already here,"
        f" {len(result.refused)} refused."
    )
    if not (result.added or result.already or result.refused):
        click.echo("There was no file in what was named.")
    if result.added:
        click.echo(
            f"Next: teachest serve {expand_path(folder)}, or teachest photos {expand_path(folder)} --state waiting"
        )


@click.command(epilog="Example: teachest photos my-machine --state waiting")
@folder_argument
@click.option("--state", type=click.Choice(["waiting", "placed", "aside"]), help="Only photos of this state.")
@json_option
def photos(folder: Path, state: Any, as_json: bool) -> None:
    """List the photos in the order they were taken, in runs taken close together."""
    with open_folder(folder) as survey:
        found = list_photos(survey, state)
    if as_json:
        print_json([_PHOTOS.as_json(photo) for photo in found])
        return
    for number, run in enumerate(split_into_runs(found), 1):
        when = run[0].taken.replace("T", " ") if run[0].taken else "time not known"
        _PHOTOS.say_table(f"Run {number}: {when}, {format_count(len(run), 'photo')}", run)
    if not found:
        click.echo(f"No photos. Take some in with: teachest intake {folder} PHOTOS")


@click.command(epilog="Example: teachest place my-machine 12 13 --part 4")
@folder_argument
@click.argument("photo_ids", metavar="PHOTO...", type=int, nargs=-1, required=True)
@click.option("--part", "part_id", type=int, help="They show this part.")
@click.option("--not-part", type=int, help="They do not show this part after all.")
@click.option("--aside/--back", "aside", default=None, help="Set them aside, or bring them back.")
@click.option("--box", help="The box they were unpacked from.")
@click.option("--note", help="In your own words.")
@json_option
def place(
    folder: Path, photo_ids: tuple[int, ...], part_id: int | None, not_part: int | None, aside: bool | None,
    box: str | None, note: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Say of photos which part they show, which box they are from, or set them aside."""
    with open_folder(folder) as survey, survey.together():
        if aside is not None:
            set_photos_aside(survey, photo_ids, aside)
        for photo_id in photo_ids:
            if part_id is not None:
                place_photo(survey, photo_id, part_id)
            if not_part is not None:
                unplace_photo(survey, photo_id, not_part)
            change_photo(survey, photo_id, note=note, box=box)
        shown = [get_photo(survey, photo_id) for photo_id in photo_ids]
    say_each(shown, as_json, _PHOTOS.as_json, lambda photo: [
        f"Photo {photo.id} {photo.name}: {photo.state}{', part ' + _shows(photo) if photo.parts else ''}."
    ])  # fmt: skip


@contextmanager
def _counting(quiet: bool) -> Iterator[_Count | None]:
    """A bar that counts on a terminal; nothing where nobody watches."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("taking in"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        TextColumn("{task.fields[name]}"),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None, name="")

        def count(done: int, total: int, name: str) -> None:
            bar.update(task, completed=done, total=total, name=name.replace("[", "\\["))

        yield count


def _result_json(result: IntakeResult) -> dict[str, Any]:
    return {
        "added": [json_of(one, "photo", "path", "sha256") for one in result.added],
        "already": [json_of(one, "photo", "path", "sha256") for one in result.already],
        "refused": [json_of(one, "path", "reason", "message") for one in result.refused],
        "warned": [json_of(one, "path", "reason", "message") for one in result.warned],
    }


def _shows(photo: Photo) -> str:
    return ", ".join(str(part) for part in photo.parts)


# The table has the state before the time and the size, JSON has it after them: so these columns are of one alone.
_PHOTOS = Listing(
    Column("photo", "id", "photo"), "sha256", Column("name", head="name"), "format", "width", "height",
    Column("", "state", "state"), Column("taken", head="time", text=lambda photo: (photo.taken or "")[11:]),
    Column("", lambda photo: f"{photo.width} x {photo.height}", "pixels"), "taken_from", "offset", "make", "model",
    "has_position", Column("parts", head="shows part", text=_shows), "state", Column("box", head="box"),
    Column("note", head="note"),
)  # fmt: skip

COMMANDS = (intake, photos, place)
