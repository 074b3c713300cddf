"""A program that does everything a person does on a disk that is full, and tells what became of it as JSON.

Started by ``test_full_disk`` with the folder of a survey, a backup of it, photos, a survey of the first shape, and a
small file system of its own.
"""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import sys
import tempfile
import traceback
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

from click.testing import CliRunner

import web
from survey.cli.next_steps import next_step_words
from survey.errors import Refusal
from survey.money.verbs import write_money_table
from survey.outwork.docket_verbs import write_docket
from survey.parts.verbs import add_part
from survey.photos.verbs import get_picture_path, list_photos, take_in_photos
from survey.report.verbs import write_report
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import back_up, export_survey, restore_backup, take_snapshot
from survey.shelf.verbs import make_survey, open_survey
from survey.store.survey import Survey
from survey.wants.sheet_verbs import write_wants_sheet
from web.main import main

LEFT = (0, 5_000, 30_000, 120_000, 400_000, 650_000)
"""Bytes that are left when something is begun."""
OWN = {"Host": "127.0.0.1:80", "Origin": "http://127.0.0.1:80"}


def fill(ballast: Path, leave: int) -> None:
    """Fill the disk to the brim but for so many bytes."""
    ballast.unlink(missing_ok=True)
    descriptor = os.open(ballast, os.O_WRONLY | os.O_CREAT)
    try:
        for piece in (65536, 4096, 512, 1):
            while True:
                try:
                    if os.write(descriptor, bytes(piece)) < piece:
                        break
                except OSError as fault:
                    if fault.errno != errno.ENOSPC:
                        raise
                    break
        os.ftruncate(descriptor, max(0, os.fstat(descriptor).st_size - leave))
    finally:
        os.close(descriptor)


def by_command(*words: str) -> None:
    """Run a command; a refusal with a sentence of its own is raised as one."""
    done = CliRunner().invoke(main, words)
    if done.exit_code == 1:
        sentence, _, next_step = done.stderr.partition("\n")
        raise Refusal(sentence, next_step.strip())
    assert done.exit_code == 0, (done.exit_code, done.output)


def by_page(folder: Path, address: str, data: dict[str, Any]) -> None:
    """Send a form, or open a page; one that says sorry is raised as a refusal."""
    app = web.create_app(folder)
    try:
        kind = "multipart/form-data" if "photos" in data else None
        method = "POST" if data else "GET"
        answer = app.test_client().open(address, method=method, data=data, headers=OWN, content_type=kind)
        words = answer.get_data().decode("utf-8", "replace")
        answer.close()
        assert answer.status_code in (200, 303, 409, 507), (address, answer.status_code)
        if answer.status_code in (409, 507) or "Refused" in words:
            said = re.search(r"The disk is full[^<]*", words)
            raise Refusal(said[0] if said else words, "")
    finally:
        app.extensions["survey"].close()


def acts(disk: Path, given: dict[str, Path]) -> dict[str, Callable[[], object]]:
    """What is done; each leaves what it made under ``disk``."""
    heap, phone = disk / "heap", sorted(given["phone"].iterdir())

    def with_survey(act: Callable[[Survey], object]) -> Callable[[], object]:
        def done() -> object:
            with open_survey(heap) as survey:
                return act(survey)

        return done

    def one_more(survey: Survey) -> None:
        with survey.together():
            for _ in range(40):
                add_part(survey, "B052", note="x" * 3900)

    def pictures_made(survey: Survey) -> None:
        for photo in list_photos(survey):
            get_picture_path(survey, photo.id, "view")

    def sent() -> dict[str, Any]:
        return {"photos": [(BytesIO(file.read_bytes()), file.name) for file in phone]}

    def nowhere_else() -> None:
        tempfile.tempdir = str(disk)
        try:
            by_page(heap, "/photos/add", sent())
        finally:
            tempfile.tempdir = None

    def opened_older() -> None:
        open_survey(disk / "older").close()

    told = {
        "an edit": with_survey(one_more),
        "photos taken in": with_survey(lambda survey: take_in_photos(survey, phone)),
        "a snapshot": with_survey(take_snapshot),
        "a backup": with_survey(lambda survey: back_up(survey, disk / "backup.zip")),
        "an export": with_survey(lambda survey: export_survey(survey, disk / "open")),
        "an export of originals": with_survey(lambda survey: export_survey(survey, disk / "whole", originals=True)),
        "pictures made": with_survey(pictures_made),
        "a restore": lambda: restore_backup(given["backup"], disk / "again"),
        "a restore in its place": lambda: restore_backup(given["backup"], heap, replace=True),
        "a new survey": lambda: make_survey(disk / "new", "lightweight", "New").close(),
        "an update": opened_older,
        "an edit by command": lambda: by_command("part", str(heap), "--component", "B006", "--note", "x" * 3000),
        "an intake by command": lambda: by_command("intake", str(heap), *map(str, phone)),
        "an edit on its page": lambda: by_page(heap, "/parts/new", {"component": "unknown", "note": "x" * 3900}),
        "a photo sent": lambda: by_page(heap, "/photos/add", sent()),
        "a photo sent, and nowhere to lay it down": nowhere_else,
        "a picture on its page": lambda: by_page(heap, "/pictures/1/view", {}),
    }
    for kind in ("pdf", "html", "csv", "json"):
        told[f"a report, {kind}"] = with_survey(lambda survey, kind=kind: write_report(survey, disk / f"report.{kind}"))
    told["the money"] = with_survey(lambda survey: write_money_table(survey, disk / "money.csv"))
    told["a docket"] = with_survey(lambda survey: write_docket(survey, 1, disk / "docket.pdf"))
    for name in ("wants.pdf", "wants.csv"):
        told[f"the wants, {name[6:]}"] = with_survey(lambda survey, name=name: write_wants_sheet(survey, disk / name))
    return told


def everything(disk: Path) -> set[str]:
    """The files that lie there, but for smaller pictures, locks, snapshots, and the empty file of a broken making."""
    found = (path for path in disk.rglob("*") if path.is_file() and path.stat().st_size)
    files = {path.relative_to(disk).as_posix() for path in found}
    return {
        name for name in files if "/pictures/" not in name and not name.endswith("lock") and "/snapshots/" not in name
    }


def whole(folder: Path) -> list[str]:
    """What is wrong with a survey: nothing."""
    with open_survey(folder) as survey:
        wrong = [f"{one.where}: {one.what}" for one in check_survey(survey)]
    drafts = [file.name for file in (folder / "snapshots").iterdir() if file.suffix != ".db"]
    return (
        wrong
        + drafts
        + [str(path) for path in (folder / "incoming").rglob("*") if path.is_file() and path.name != "lock"]
    )


def tried(act: Callable[[], object]) -> dict[str, str]:
    try:
        act()
    except Refusal as refusal:
        return {"refused": refusal.sentence, "next": next_step_words(refusal.next_step, refusal.about)}
    except Exception:  # told of by the test
        return {"broke": traceback.format_exc()}
    return {}


def main_of_disk(disk: Path, given: dict[str, Path]) -> list[dict[str, Any]]:
    ends = []
    for name in acts(disk, given):
        for leave in LEFT:
            for entry in disk.iterdir():
                shutil.rmtree(entry) if entry.is_dir() else entry.unlink()
            for survey in ("heap", "older"):
                shutil.copytree(given[survey], disk / survey)
                shutil.rmtree(disk / survey / "pictures")  # so that they are to be made
                (disk / survey / "pictures").mkdir()
            act = acts(disk, given)[name]
            fill(disk / "ballast", leave)
            before = everything(disk)
            end = {"act": name, "left": leave, **tried(act)}
            if "refused" in end:
                end["new"] = sorted(everything(disk) - before)
                end["lost"] = sorted(before - everything(disk))
            end["wrong"] = whole(disk / "heap")
            (disk / "ballast").unlink()
            end["after"] = {**tried(acts(disk, given)[name]), "wrong": whole(disk / "heap")} if "refused" in end else {}
            ends.append(end)
    return ends


if __name__ == "__main__":
    print(
        json.dumps(main_of_disk(Path(sys.argv[1]), {key: Path(path) for key, path in json.loads(sys.argv[2]).items()}))
    )
