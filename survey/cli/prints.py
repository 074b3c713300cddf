"""Commands that print: the report."""

from __future__ import annotations

from pathlib import Path

import click

from survey import bench
from survey.cli.common import folder_argument, json_option, opened, say_json
from survey.model import PAPERS
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
    with opened(folder) as survey:
        written = [bench.report(survey, target, paper or load_settings().paper, copy) for target in targets]
    if as_json:
        say_json([{"path": str(path.resolve())} for path in written])
        return
    for path in written:
        click.echo(str(path.resolve()))


@click.command(epilog="Example: teachest copies my-machine")
@folder_argument
@json_option
def copies(folder: Path, as_json: bool) -> None:
    """Show the copies of the report: for whom each is, what leads in it here, and what it leaves out."""
    with opened(folder) as survey:
        found = [(one, bench.copy_contents(survey, one.word)) for one in bench.copies()]
    if as_json:
        say_json([
            {"copy": one.word, "reader": one.reader, "leads_with": one.leads_with, "leaves_out": one.leaves_out,
             "sections": list(sections)}
            for one, sections in found
        ])  # fmt: skip
        return
    for one, sections in found:
        click.echo(f"{one.word}: {one.reader}. It leads with {one.leads_with}; it leaves out {one.leaves_out}.")
        click.echo(f"   In it: {'; '.join(sections)}.")


COMMANDS = (report, copies)
