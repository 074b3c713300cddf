"""Teachest in the browser: ``create_app`` builds the pages of one survey, ``serve`` shows them on this machine.

Both are fetched when they are asked for, so that the command line starts without loading Flask.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {"create_app": "web.app", "serve": "web.server"}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
