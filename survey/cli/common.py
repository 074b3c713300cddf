"""What every command shares: opening the survey, answering in words or JSON, tables."""

from __future__ import annotations

import json
import os
import shlex
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import click

from survey.model.grading import Outcome
from survey.safekeeping.verbs import find_folder_risk, list_old_libraries
from survey.settings import load_settings
from survey.shelf.verbs import open_survey
from survey.store.survey import Survey
from survey.words import OUTCOME_WORDS

_F = TypeVar("_F", bound=Callable[..., Any])

GRADE_MARKS: dict[Outcome, str] = {
    "reuse": "●", "repair": "◐", "replace": "○", "examine-first": "◌", "take-a-reading": "◌", "not-looked-at": "◌",
}  # fmt: skip


def folder_argument(function: _F) -> _F:
    """The survey's folder as the first argument."""
    return click.argument("folder", type=click.Path(path_type=Path))(function)


def json_option(function: _F) -> _F:
    """``--json``: the answer as JSON on standard output."""
    return click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")(function)


def open_folder(folder: Path) -> Survey:
    """The survey in that folder, recording under the name in the settings."""
    return open_survey(folder, by=load_settings().surveyor)


def warn_of_network_folder(folder: Path) -> None:
    """Say it, beside the answer, where the folder is a poor home for a survey."""
    if risk := find_folder_risk(folder):
        click.echo(f"Mind: {risk}", err=True)


def warn_of_old_libraries() -> None:
    """Say it, beside the answer, where strangers' files would be opened with what has known holes."""
    for old in list_old_libraries():
        click.echo(f"Mind: {old} Bring it up to date before you take in files of others.", err=True)


def expand_path(path: Path) -> str:
    """A path as it can be typed into the next command: in quotes where it has blanks."""
    if os.name == "nt":
        return f'"{path}"' if " " in str(path) else str(path)
    return shlex.quote(str(path))


def parse_pairs(written: Iterable[str]) -> dict[str, str]:
    """What was written as ``NAME=VALUE``, each; wrong usage where one has no sign between."""
    found = {}
    for one in written:
        name, mark, value = one.partition("=")
        if not mark:
            raise click.UsageError(f"{one!r} has no '='. Write its name, then =, then what it is.")
        found[name] = value
    return found


def print_json(answer: object) -> None:
    """One JSON document on standard output; plain ASCII, so that no terminal can spoil it."""
    click.echo(json.dumps(answer, indent=2))


def print_table(title: str, heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """A table as wide as the terminal; what people wrote is shown as written, never read as markup."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, header_style="italic")
    for head in heads:
        table.add_column(head, overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = 160
    with console.capture() as said:  # printed by click, as everything else: one answer to a closed pipe
        console.print(Text(title, style="bold"))
        console.print(table)
    click.echo(said.get(), nl=False)


def outcome_words(outcome: Outcome) -> str:
    """A grade or what is owed, with its mark and in words."""
    return f"{GRADE_MARKS[outcome]} {OUTCOME_WORDS[outcome].lower()}"
