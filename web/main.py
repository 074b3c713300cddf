"""The whole command line: survey's commands, and those that open the browser door.

``survey`` never imports ``web``, so the two commands that need both floors stand here.
"""

from __future__ import annotations

from pathlib import Path

import click

from survey.cli.common import folder_argument, open_folder, warn_of_network_folder, warn_of_old_libraries
from survey.cli.main import main
from survey.report.verbs import write_report
from survey.safekeeping.verbs import hold_survey, take_daily_snapshot
from survey.settings import load_settings

REPORTS = ("report.pdf", "report.html", "report.csv", "report.json")

port_option = click.option("--port", type=click.IntRange(0, 65535), help="The port; 0 for any that is free.")
browser_option = click.option("--no-browser", is_flag=True, help="Do not open the browser.")


@click.command(epilog="Example: teachest serve my-machine --port 8750 --no-browser")
@folder_argument
@port_option
@browser_option
def serve(folder: Path, port: int | None, no_browser: bool) -> None:
    """Open the survey in the browser, on this machine only. Ctrl-C ends it."""
    with open_folder(folder) as survey:
        take_daily_snapshot(survey)
    _serve(folder, port, no_browser)


@click.command(epilog="Example: teachest demo ferryman --no-serve")
@click.argument("folder", type=click.Path(path_type=Path), default=Path("ferryman-demo"))
@click.option("--no-serve", is_flag=True, help="Write the reports, print their paths, and end.")
@port_option
@browser_option
def demo(folder: Path, no_serve: bool, port: int | None, no_browser: bool) -> None:
    """Build an invented survey in FOLDER from the sample photos, write its reports there, and serve it."""
    from survey.cli.demo import build_demo

    with build_demo(folder, click.echo) as survey:
        for name in REPORTS:
            click.echo(str(write_report(survey, folder / name, load_settings().paper).resolve()))
    if not no_serve:
        _serve(folder, port, no_browser)


def _serve(folder: Path, port: int | None, no_browser: bool) -> None:
    import web

    with hold_survey(folder, "serving"):
        warn_of_network_folder(folder)
        warn_of_old_libraries()
        web.serve(folder, load_settings().port if port is None else port, not no_browser, click.echo)


main.add_command(serve)
main.add_command(demo)
