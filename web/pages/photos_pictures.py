"""Pictures by photo number: no path is ever taken from an address."""

from __future__ import annotations

from typing import Literal

from flask import Blueprint, Response, request, send_file

from survey.errors import BadValue
from survey.photos.crop_verbs import crop_photo
from survey.photos.verbs import get_photo, get_picture_path
from web.current import current_survey
from web.presenters.photos_drawing import WIDEST_CROP_PX

pages = Blueprint("pictures", __name__, url_prefix="/pictures")

_KEPT = "private, max-age=31536000, immutable"
_TYPES = {
    "jpeg": "image/jpeg", "mpo": "image/jpeg", "png": "image/png", "webp": "image/webp", "tiff": "image/tiff",
    "heif": "image/heif", "heic": "image/heic", "avif": "image/avif",
}  # fmt: skip


@pages.get("/<int:photo_id>/<any(thumb, view):size>")
def derived(photo_id: int, size: Literal["thumb", "view"]) -> Response:
    """An upright copy without metadata."""
    path = get_picture_path(current_survey(), photo_id, size)
    return _keep(send_file(path, mimetype="image/jpeg", conditional=True, etag=True), photo_id)


@pages.get("/<int:photo_id>/original")
def original(photo_id: int) -> Response:
    """The photo as it was taken in, byte for byte, to be saved and not shown."""
    photo = get_photo(current_survey(), photo_id)
    kind = _TYPES.get(photo.format.lower(), "application/octet-stream")
    path = get_picture_path(current_survey(), photo_id, "original")
    return _keep(send_file(path, mimetype=kind, as_attachment=True, download_name=photo.name), photo_id)


@pages.get("/<int:photo_id>/crop")
def cropped(photo_id: int) -> Response:
    """A piece of the photo, as the report shows it."""
    return _keep(Response(crop_photo(current_survey(), photo_id, *_piece()), mimetype="image/jpeg"), photo_id)


def _piece() -> tuple[tuple[float, float, float, float], int]:
    try:
        left, top, right, bottom = (float(edge) for edge in request.args.get("box", "").split(","))
        wide = int(request.args.get("wide", ""))
    except ValueError:
        raise BadValue("That piece of the photo cannot be read.", "Open the report again.") from None
    if not (0 <= left < right <= 1 and 0 <= top < bottom <= 1 and 1 <= wide <= WIDEST_CROP_PX):
        raise BadValue("That piece lies outside the photo.", "Open the report again.")
    return (left, top, right, bottom), wide


def _keep(response: Response, photo_id: int) -> Response:
    """A picture whose address names its content may be kept by the browser for good."""
    if request.args.get("v") == get_photo(current_survey(), photo_id).sha256[:12]:
        response.headers["Cache-Control"] = _KEPT
    return response
