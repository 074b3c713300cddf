"""Commands that print: the report."""

from __future__ import annotations

from pathlib import Path

import click

from survey import bench
from survey.cli.common import folder_argument, json_option, opened, say_json
from survey.model import PAPERS
from survey.settings import load_settings


@click.command(epilog="Example: teachest report my-machine --to report.pdf")
@folder_argument
@click.option("--to", "targets", type=click.Path(path_type=Path), multiple=True, required=True,
              help="Where to: a name ending in .pdf, .html, .csv or .json; repeat for more.")  # fmt: skip
@click.option("--paper", type=click.Choice(PAPERS), help="Paper of a PDF; A4 unless the settings say otherwise.")
@json_option
def report(folder: Path, targets: tuple[Path, ...], paper: str | None, as_json: bool) -> None:
    """Write the condition report, the bench copy: as PDF, one web page, CSV or JSON."""
    with opened(folder) as survey:
        written = [bench.report(survey, target, paper or load_settings().paper) for target in targets]
    if as_json:
        say_json([{"path": str(path.resolve())} for path in written])
        return
    for path in written:
        click.echo(str(path.resolve()))


COMMANDS = (report,)
