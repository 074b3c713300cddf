"""What the views reach for: the open survey and the finding kinds by name."""

from __future__ import annotations

from typing import cast

from flask import current_app, url_for

from survey.errors import NoSuchThing
from survey.model.parts import FindingKind
from survey.parts.finding_verbs import list_finding_kinds
from survey.photos.verbs import get_photo
from survey.store.survey import Survey


def current_survey() -> Survey:
    """The survey this app shows. Its store lets one thread at a time write."""
    return cast(Survey, current_app.extensions["survey"])


def list_kinds_by_id() -> dict[str, FindingKind]:
    """The finding kinds by id."""
    return {kind.id: kind for kind in list_finding_kinds()}


def get_finding_kind(kind_id: str) -> FindingKind:
    """One finding kind.

    Raises:
        NoSuchThing: there is none of that id.
    """
    kind = list_kinds_by_id().get(kind_id)
    if kind is None:
        raise NoSuchThing(f"There is no finding {kind_id!r}.", "The findings and their steps stand under Rules.")
    return kind


def make_picture_url(photo_id: int, box: tuple[float, float, float, float], width_px: int) -> str:
    """Where a piece of a photo is served, for a paper that is shown as a page."""
    edges = ",".join(f"{edge:.5f}" for edge in box)
    version = get_photo(current_survey(), photo_id).sha256[:12]
    return url_for("pictures.cropped", photo_id=photo_id, box=edges, wide=width_px, v=version)
