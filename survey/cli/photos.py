"""Commands about photos: taking them in, listing them, placing them."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Protocol

import click

from survey import bench
from survey.cli.common import (
    folder_argument,
    json_option,
    mind_libraries,
    mind_place,
    opened,
    say_json,
    say_table,
    typed,
)
from survey.model import IntakeResult, Photo, Refused, Taken


class _Count(Protocol):
    def __call__(self, done: int, total: int, name: str) -> None: ...


@click.command(epilog="Example: teachest intake my-machine ~/phone-export box-two.zip IMG_0412.HEIC")
@folder_argument
@click.argument("sources", nargs=-1, required=True, type=click.Path(path_type=Path, readable=False))
@json_option
def intake(folder: Path, sources: tuple[Path, ...], as_json: bool) -> None:
    """Take in folders, files and zip files of photos; what is here already is not taken twice."""
    mind_place(folder)
    mind_libraries()
    with opened(folder) as survey, _counting(quiet=as_json) as progress:
        result = bench.take_in(survey, sources, progress)
    if as_json:
        say_json(_result_json(result))
        return
    for refused in result.refused:
        click.echo(f"refused  {refused.path}: {refused.message}")
    for warned in result.warned:
        click.echo(f"noted    {warned.path}: {warned.message}")
    click.echo(
        f"{bench.many(len(result.added), 'photo')} added, {len(result.already)} already here,"
        f" {len(result.refused)} refused."
    )
    if not (result.added or result.already or result.refused):
        click.echo("There was no file in what was named.")
    if result.added:
        click.echo(f"Next: teachest serve {typed(folder)}, or teachest photos {typed(folder)} --state waiting")


@click.command(epilog="Example: teachest photos my-machine --state waiting")
@folder_argument
@click.option("--state", type=click.Choice(["waiting", "placed", "aside"]), help="Only photos of this state.")
@json_option
def photos(folder: Path, state: Any, as_json: bool) -> None:
    """List the photos in the order they were taken, in runs taken close together."""
    with opened(folder) as survey:
        found = bench.photos(survey, state)
    if as_json:
        say_json([_photo_json(photo) for photo in found])
        return
    for number, run in enumerate(bench.capture_runs(found), 1):
        when = run[0].taken.replace("T", " ") if run[0].taken else "time not known"
        rows = [
            [str(p.id), p.name, p.state, (p.taken or "")[11:], f"{p.width} x {p.height}", _shows(p), p.box, p.note]
            for p in run
        ]
        say_table(
            f"Run {number}: {when}, {bench.many(len(run), 'photo')}",
            ["photo", "name", "state", "time", "pixels", "shows part", "box", "note"],
            rows,
        )
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
    with opened(folder) as survey, survey.together():
        if aside is not None:
            bench.set_aside(survey, photo_ids, aside)
        for photo_id in photo_ids:
            if part_id is not None:
                bench.place_photo(survey, photo_id, part_id)
            if not_part is not None:
                bench.unplace_photo(survey, photo_id, not_part)
            bench.note_photo(survey, photo_id, note=note, box=box)
        shown = [bench.photo(survey, photo_id) for photo_id in photo_ids]
    if as_json:
        say_json([_photo_json(photo) for photo in shown])
        return
    for photo in shown:
        click.echo(f"Photo {photo.id} {photo.name}: {photo.state}{', part ' + _shows(photo) if photo.parts else ''}.")


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
    def taken(one: Taken) -> dict[str, Any]:
        return {"photo": one.photo, "path": one.path, "sha256": one.sha256}

    def refused(one: Refused) -> dict[str, str]:
        return {"path": one.path, "reason": one.reason, "message": one.message}

    return {
        "added": [taken(one) for one in result.added],
        "already": [taken(one) for one in result.already],
        "refused": [refused(one) for one in result.refused],
        "warned": [refused(one) for one in result.warned],
    }


def _photo_json(photo: Photo) -> dict[str, Any]:
    names = (
        "sha256", "name", "format", "width", "height", "taken", "taken_from", "offset", "make", "model",
        "has_position",
    )  # fmt: skip
    answer: dict[str, Any] = {"photo": photo.id}
    answer |= {name: getattr(photo, name) for name in names}
    return answer | {"parts": list(photo.parts), "state": photo.state, "box": photo.box, "note": photo.note}


def _shows(photo: Photo) -> str:
    return ", ".join(str(part) for part in photo.parts)


COMMANDS = (intake, photos, place)
