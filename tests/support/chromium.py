"""Where the Chromium of this machine is, for the tests and for the pictures of the pages."""

from __future__ import annotations

import os
import shutil

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")


def chromium() -> str | None:
    """The Chromium of this machine, or the one that TEACHEST_CHROMIUM names."""
    return os.environ.get("TEACHEST_CHROMIUM") or next(filter(None, map(shutil.which, BROWSERS)), None)
