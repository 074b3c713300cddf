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
"""Gives the JPEG of a crop request; may be called by several threads at a time."""


def cut_crops(pictures: Pictures, requests: Iterable[CropRequest]) -> Iterator[str | None]:
    """The crops in the order of the requests, each as ``cut_crop_base64`` gives it; cut in threads, a few ahead."""
    from concurrent.futures import Future, ThreadPoolExecutor

    threads = min(4, os.cpu_count() or 1)
    with ThreadPoolExecutor(threads) as pool:
        pending: deque[Future[str | None]] = deque()
        for request in requests:
            pending.append(pool.submit(cut_crop_base64, pictures, request))
            if len(pending) > 2 * threads:
                yield pending.popleft().result()
        while pending:
            yield pending.popleft().result()


def cut_crop_base64(pictures: Pictures, request: CropRequest) -> str | None:
    """The crop without metadata as base64 text; None when the photo cannot be read, which the report then prints."""
    try:
        return base64.b64encode(strip_jpeg(pictures(request))).decode("ascii")
    except (Refusal, OSError):
        return None
