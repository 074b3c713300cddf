"""Commands that print: the report."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder
from survey.cli.listing import json_of, say_each, say_paths
from survey.model.paper import PAPERS
from survey.report.copy_verbs import list_copies
from survey.report.verbs import list_copy_contents, write_report
from survey.settings import load_settings


@click.command(epilog="Example: teachest report my-machine --to wanted.pdf --copy friend")
@folder_argument
@click.option("--to", "targets", type=click.Path(path_type=Path), multiple=True, required=True,
              help="Where to: a name ending in .pdf, .html, .csv or .json; repeat for more.")  # fmt: skip
@click.option("--paper", type=click.Choice(PAPERS), help="Paper of a PDF; A4 unless the settings say otherwise.")
@click.option("--copy", default="bench", show_default=True, metavar="WORD",
              help="For which reader; see teachest copies FOLDER.")  # fmt: skip
@json_option
def report(folder: Path, targets: tuple[Path, ...], paper: str | None, copy: str, as_json: bool) -> None:
    """Write the condition report, or its copy for one reader: as PDF, one web page, CSV or JSON."""
    with open_folder(folder) as survey:
        written = [write_report(survey, target, paper or load_settings().paper, copy) for target in targets]
    say_paths(written, as_json)


@click.command(epilog="Example: teachest copies my-machine")
@folder_argument
@json_option
def copies(folder: Path, as_json: bool) -> None:
    """Show the copies of the report: for whom each is, what leads in it here, and what it leaves out."""
    with open_folder(folder) as survey:
        found = [(one, list_copy_contents(survey, one.word)) for one in list_copies()]
    say_each(found, as_json, _copy_json, lambda pair: (
        f"{pair[0].word}: {pair[0].reader}. It leads with {pair[0].leads_with}; it leaves out {pair[0].leaves_out}.",
        f"   In it: {'; '.join(pair[1])}.",
    ))  # fmt: skip


def _copy_json(pair: tuple[Any, tuple[str, ...]]) -> dict[str, Any]:
    return {**json_of(pair[0], "copy=word", "reader", "leads_with", "leaves_out"), "sections": pair[1]}


COMMANDS = (report, copies)
