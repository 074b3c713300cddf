"""Marking a place on a picture with links and forms alone.

Without any script a browser tells where a picture was clicked when the picture is a form's image button. It is then
shown at a width the form names, and the place is kept as a fraction in the address until the mark is complete.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from survey.model.photos import Photo, Shape
from web import forms
from web.presenters.photos_drawing import PlacedMark, place_mark

Picked = Literal["pin", "box"]
PICKED_SHAPES: tuple[Picked, ...] = ("pin", "box")
CORNERS: dict[Picked, int] = {"pin": 1, "box": 2}
"""How many taps a mark of that shape takes."""
DRAWN: tuple[Shape, ...] = ("pin", "box", "outline")
"""What a hand can draw where the page's script runs."""
LONGEST_OUTLINE = 20_000
"""Characters: an outline of 500 places takes about 7,000."""


def gathered(args: Mapping[str, str], photo: Photo, shape: Picked) -> tuple[tuple[forms.Point, ...], bool]:
    """The places gathered so far for a mark of that shape, and whether one was given just now.

    A place given after the mark was complete starts it afresh.
    """
    places = forms.points(forms.text(args, "at"))[: CORNERS[shape]]
    clicked = _by_numbers(args) or forms.picked(args, photo)
    if clicked is None:
        return places, False
    return (*(places if len(places) < CORNERS[shape] else ()), clicked), True


def as_drawn(form: Mapping[str, str]) -> tuple[Shape, tuple[forms.Point, ...]]:
    """The mark that a form carries: its shape, a pin where none is named, and its places.

    Raises:
        BadValue: no such shape, or the places cannot be read.
    """
    places = forms.points(forms.as_written(form, "at", LONGEST_OUTLINE))
    return forms.word(form, "shape", DRAWN) or "pin", places


def proposed(shape: Picked, places: tuple[forms.Point, ...]) -> PlacedMark | None:
    """The mark as it would be drawn."""
    return place_mark(shape, places) if places else None


def _by_numbers(args: Mapping[str, str]) -> forms.Point | None:
    across, down = forms.maybe_number(args, "across"), forms.maybe_number(args, "down")
    if across is None or down is None:
        return None
    return min(across, 100) / 100, min(down, 100) / 100
