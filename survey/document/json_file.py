"""Data as JSON, for other programs."""

from __future__ import annotations

import json
from typing import Any


def make_json(told: dict[str, Any]) -> bytes:
    """Plain data as JSON in UTF-8, for a file."""
    return (json.dumps(told, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
