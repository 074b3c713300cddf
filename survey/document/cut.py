"""The crops a report needs, cut one at a time."""

from __future__ import annotations

import base64
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator

from survey.document.jpeg import strip_jpeg
from survey.document.picture import CropRequest
from survey.errors import Refusal

Pictures = Callable[[CropRequest], bytes]
"""Gives the JPEG a crop request asks for; may be called by several threads at a time."""


def cut_all(pictures: Pictures, requests: Iterable[CropRequest]) -> Iterator[str | None]:
    """The crops in the order asked for, each as ``cut_base64`` gives it; cut side by side, few ahead."""
    from concurrent.futures import Future, ThreadPoolExecutor

    hands = min(4, os.cpu_count() or 1)
    with ThreadPoolExecutor(hands) as pool:
        ahead: deque[Future[str | None]] = deque()
        for request in requests:
            ahead.append(pool.submit(cut_base64, pictures, request))
            if len(ahead) > 2 * hands:
                yield ahead.popleft().result()
        while ahead:
            yield ahead.popleft().result()


def cut_base64(pictures: Pictures, request: CropRequest) -> str | None:
    """The crop without metadata as base64 text; None when the photo cannot be read, which the report then says."""
    try:
        return base64.b64encode(strip_jpeg(pictures(request))).decode("ascii")
    except (Refusal, OSError):
        return None
