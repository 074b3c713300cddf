"""The crops a report needs, cut one at a time."""

from __future__ import annotations

import base64
from collections.abc import Callable

from survey.errors import Refusal
from survey.paper.data import CropRequest
from survey.paper.jpeg import bare_jpeg

Pictures = Callable[[CropRequest], bytes]
"""Gives the JPEG a crop request asks for."""


def cut_base64(pictures: Pictures, request: CropRequest) -> str | None:
    """The crop without metadata as base64 text; None when the photo cannot be read, which the report then says."""
    try:
        return base64.b64encode(bare_jpeg(pictures(request))).decode("ascii")
    except (Refusal, OSError):
        return None
