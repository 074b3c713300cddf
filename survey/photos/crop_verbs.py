"""Pieces of the photos, for pages and papers."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from survey.photos.records import fetch_photos
from survey.store.survey import Survey, require_live_row

if TYPE_CHECKING:
    from survey.document.picture import CropRequest

Box = tuple[float, float, float, float]
"""Left, top, right, bottom as fractions of the upright photo."""


def crop_photo(survey: Survey, photo_id: int, box: Box, width_px: int) -> bytes:
    """A piece of a photo, as fractions left, top, right, bottom: an upright JPEG without metadata.

    Raises:
        NoSuchThing: no such photo.
    """
    from survey.document.picture import CropRequest

    require_live_row(survey, "photo", photo_id)
    return make_cropper(survey)(CropRequest(photo_id, box, width_px))


def make_cropper(survey: Survey) -> Callable[[CropRequest], bytes]:
    """What cuts pieces of this survey's photos for the papers."""
    photos = {photo.id: photo for photo in fetch_photos(survey.store)}

    def cut(request: CropRequest) -> bytes:
        from survey.photos import pictures

        photo = photos[request.photo]
        return pictures.crop_picture(
            survey.folder, survey.folder / photo.path, photo.sha256, request.box, request.width_px
        )

    return cut
