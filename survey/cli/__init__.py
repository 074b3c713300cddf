"""The command line: ``teachest COMMAND FOLDER ...``."""

from survey.cli.main import main

__all__ = ["main"]
