"""The door itself: one group of commands, one place where a refusal becomes words and an exit code."""

from __future__ import annotations

import os
import sys
from typing import Any

import click

from survey import __version__
from survey.cli import (
    belonging,
    build_order,
    fits,
    gates,
    history,
    money,
    outwork,
    parts,
    photos,
    recording,
    report,
    safekeeping,
    stuck,
    wants,
)
from survey.cli.next_steps import next_step_words
from survey.errors import Refusal

EPILOG = (
    'Start with: teachest new my-machine --kind lightweight --name "Dairy find". '
    "Teachest keeps the owner's visual record; it is no engineer's inspection."
)


class _Door(click.Group):
    """Exit 0 done, 1 refused with a sentence and a next step, 2 wrong usage."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            answer = super().invoke(ctx)
            if sys.stdout:
                sys.stdout.flush()  # here, where a full disk can still be told of
            return answer
        except Refusal as refusal:
            self._leave(refusal.sentence, next_step_words(refusal.next_step, refusal.about))
        except (KeyboardInterrupt, click.Abort):
            self._leave("Stopped.", "What was acknowledged is kept; run the same command again to go on.")
        except BrokenPipeError:
            sys.exit(0)  # whoever read it has read enough
        except (click.ClickException, click.exceptions.Exit):
            raise
        except OSError as fault:
            if os.environ.get("TEACHEST_TRACE"):
                raise
            self._leave(
                f"The system refused: {fault.strerror or fault}.",
                "Check that there is room and permission, and try again.",
            )
        except Exception as fault:
            if os.environ.get("TEACHEST_TRACE"):
                raise
            self._leave(
                f"Something failed that should not: {type(fault).__name__}: {fault}",
                "Nothing half-done is kept. Set TEACHEST_TRACE=1 and run it again to see where.",
            )

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line; a reader that closed the pipe early is no fault and makes no noise."""
        try:
            return super().main(*args, **extra)
        finally:
            try:
                if sys.stdout:
                    sys.stdout.flush()
            except OSError:  # Python would try once more at the very end, and complain
                os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())

    @staticmethod
    def _leave(sentence: str, next_step: str) -> None:
        click.echo(sentence, err=True)
        if next_step:
            click.echo(next_step, err=True)
        sys.exit(1)


@click.group(
    cls=_Door, epilog=EPILOG, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}
)
@click.version_option(__version__, prog_name="teachest")
def main() -> None:
    """Say what is in the boxes: photos in, findings on parts, grades with reasons, gaps, a printed report."""


for module in (
    recording,
    photos,
    parts,
    build_order,
    history,
    report,
    wants,
    safekeeping,
    stuck,
    outwork,
    belonging,
    fits,
    money,
    gates,
):
    for command in module.COMMANDS:
        main.add_command(command)
