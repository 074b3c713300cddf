"""The report as JSON, for other programs."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from survey.paper.data import ReportData
from survey.paper.place import put


def write_json(data: ReportData, to: Path) -> None:
    """Write every field of the report under its own name (``survey.paper.data`` says what each means), UTF-8.

    Raises:
        CannotWrite: the place cannot be written.
    """
    put(to, json_text({"report": data.title, **asdict(data)}))


def json_text(told: dict[str, Any]) -> bytes:
    """Plain data as JSON in UTF-8, for a file."""
    return (json.dumps(told, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
