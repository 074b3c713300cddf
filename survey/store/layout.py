"""Where things lie in a survey's folder.

my-machine/
  survey.db      everything recorded about the parts
  originals/     photos as they came, named by their SHA-256, never rewritten
  pictures/      smaller pictures made from them; may be deleted, they are made again
  incoming/      files on their way in; what an interrupted intake left is cleared when the survey is opened
  snapshots/     copies of survey.db made before it changes shape
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from survey.errors import NextStep, NotASurvey

Size = Literal["thumb", "view"]

DATABASE = "survey.db"
ORIGINALS = "originals"
PICTURES = "pictures"
INCOMING = "incoming"
SNAPSHOTS = "snapshots"
SUBFOLDERS = (ORIGINALS, PICTURES, INCOMING, SNAPSHOTS)


def picture_path(folder: Path, sha256: str, size: Size) -> Path:
    """Where a smaller picture lies, whether or not it is there."""
    return folder / PICTURES / sha256[:2] / f"{sha256}-{size}.jpg"


def database_path(folder: Path) -> Path:
    """The survey's database file."""
    return folder / DATABASE


def require_survey(folder: Path) -> Path:
    """The folder itself, if a survey lies in it.

    Raises:
        NotASurvey: the folder is not there or holds no survey.db.
    """
    if not folder.exists():
        raise NotASurvey(f"There is no folder {str(folder)!r}.", NextStep.MAKE_SURVEY)
    if not database_path(folder).is_file():
        raise NotASurvey(
            f"The folder {str(folder)!r} is not a survey: it holds no {DATABASE}.",
            NextStep.NAME_SURVEY_FOLDER,
        )
    return folder
