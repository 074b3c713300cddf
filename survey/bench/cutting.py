"""Pieces of the photos, for pages and papers."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from survey.bench.survey import Survey, standing
from survey.folder import records

if TYPE_CHECKING:
    from survey.paper.shown import CropRequest

Box = tuple[float, float, float, float]
"""Left, top, right, bottom as fractions of the upright photo."""


def crop(survey: Survey, photo_id: int, box: Box, width_px: int) -> bytes:
    """A piece of a photo, as fractions left, top, right, bottom: an upright JPEG without metadata.

    Raises:
        NoSuchThing: no such photo.
    """
    from survey.paper.shown import CropRequest

    standing(survey, "photo", photo_id)
    return cutter(survey)(CropRequest(photo_id, box, width_px))


def cutter(survey: Survey) -> Callable[[CropRequest], bytes]:
    """What cuts pieces of this survey's photos for the papers."""
    photos = {photo.id: photo for photo in records.photos(survey.store)}

    def cut(request: CropRequest) -> bytes:
        from survey.folder import pictures

        photo = photos[request.photo]
        return pictures.crop(survey.folder, survey.folder / photo.path, photo.sha256, request.box, request.width_px)

    return cut
