"""Marks and grades drawn as vectors, the same on paper and on screen.

A mark is black inside a white casing, so it reads on rust, on chrome and in a black-and-white print; its number
is the finding's. Coordinates inside a drawing: the crop is 1000 units wide.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape

from survey.document.picture import DrawnMark, Picture
from survey.model.grading import Outcome

WIDE = 1000
RING = 46
BADGE = 36
Point = tuple[float, float]

# Ink of each grade; the drawing alone tells them apart where there is no colour.
INKS: dict[Outcome, str] = {
    "reuse": "#1c2b46",
    "repair": "#a86a0c",
    "replace": "#7a1f26",
    "examine-first": "#6b6b6b",
    "take-a-reading": "#6b6b6b",
    "not-looked-at": "#6b6b6b",
}


def grade_svg(outcome: Outcome) -> str:
    """The grade's own mark: filled disc, half disc, open ring, or dotted ring while there is no grade."""
    ink = INKS[outcome]
    ring = f'<circle cx="10" cy="10" r="8" fill="none" stroke="{ink}" stroke-width="2.6"'
    shapes: dict[str, str] = {
        "reuse": f'<circle cx="10" cy="10" r="9.3" fill="{ink}"/>',
        "repair": ring + f'/><path d="M10 2a8 8 0 0 0 0 16z" fill="{ink}"/>',
        "replace": ring + "/>",
    }
    dotted = ring + ' stroke-dasharray="0.1 5.02" stroke-linecap="round"/>'
    return f'<svg class="grade-mark" viewBox="0 0 20 20" aria-hidden="true">{shapes.get(outcome, dotted)}</svg>'


def overlay_svg(picture: Picture) -> str:
    """The picture's marks as a drawing to lay over it; empty when there are none."""
    if not picture.marks:
        return ""
    height = max(1, round(WIDE * picture.aspect))
    return f'<svg class="marks" viewBox="0 0 {WIDE} {height}" aria-hidden="true">{_draw_marks(picture, height)}</svg>'


def picture_svg(picture: Picture, jpeg_base64: str) -> str:
    """The picture with its marks as one self-contained drawing."""
    height = max(1, round(WIDE * picture.aspect))
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{WIDE}" height="{height}" viewBox="0 0 {WIDE} {height}">'
        f'<image width="{WIDE}" height="{height}" preserveAspectRatio="none" '
        f'xlink:href="data:image/jpeg;base64,{jpeg_base64}"/>{_draw_marks(picture, height)}</svg>'
    )


def _draw_marks(picture: Picture, height: int) -> str:
    # A drawing is read at the width it is printed, and tall pictures are printed narrow: their marks are larger.
    scale = max(1.0, min(picture.aspect / 0.8, 1.8))
    badges: list[Point] = []
    shapes, labels = [], []
    for mark in picture.marks:
        points = [(x * WIDE, y * height) for x, y in mark.points]
        shapes.append(_draw_shape(mark, points, scale))
        if mark.number is not None:
            at = _find_free_place(_place_number(mark, points, scale), badges, height, scale)
            badges.append(at)
            labels.append(_draw_badge(at, mark.number, scale))
    return "".join(shapes + labels)


def _draw_shape(mark: DrawnMark, points: list[Point], scale: float) -> str:
    (x, y), *_ = points
    if mark.shape == "pin" or len(points) == 1:
        ring = f'<circle cx="{x:.0f}" cy="{y:.0f}" r="{RING * scale:.0f}"'
        dot = (
            f'<circle cx="{x:.0f}" cy="{y:.0f}" r="{5 * scale:.0f}" fill="#000" '
            f'stroke="#fff" stroke-width="{4 * scale:.0f}"/>'
        )
        return _draw_cased(ring, scale) + dot
    if mark.shape == "box":
        left, right = sorted((points[0][0], points[1][0]))
        top, bottom = sorted((points[0][1], points[1][1]))
        box = f'<rect x="{left:.0f}" y="{top:.0f}" width="{right - left:.0f}" height="{bottom - top:.0f}"'
        return _draw_cased(box, scale)
    path = " ".join(f"{px:.0f},{py:.0f}" for px, py in points)
    return _draw_cased(f'<polygon points="{path}"', scale)


def _draw_cased(element: str, scale: float) -> str:
    style = 'fill="none" stroke-linejoin="round"'
    white = f'{element} {style} stroke="#fff" stroke-width="{15 * scale:.0f}"/>'
    return white + f'{element} {style} stroke="#000" stroke-width="{6 * scale:.0f}"/>'


def _place_number(mark: DrawnMark, points: list[Point], scale: float) -> Point:
    """Where a mark's number belongs: upper right of a pin, upper left of the rest."""
    if mark.shape == "pin" or len(points) == 1:
        return points[0][0] + RING * scale * 0.9, points[0][1] - RING * scale * 0.9
    return min(x for x, _ in points), min(y for _, y in points)


def _find_free_place(wanted: Point, taken: list[Point], height: int, scale: float) -> Point:
    """The wanted place moved into the picture and clear of the numbers already there, in widening circles."""
    edge = (BADGE + 6) * scale
    for x, y in _circle_around(wanted, 2.2 * BADGE * scale):
        at = min(max(x, edge), WIDE - edge), min(max(y, edge), max(edge, height - edge))
        if all(math.dist(at, other) >= 2.1 * BADGE * scale for other in taken):
            return at
    return min(max(wanted[0], edge), WIDE - edge), min(max(wanted[1], edge), max(edge, height - edge))


def _circle_around(centre: Point, pace: float) -> Iterator[Point]:
    yield centre
    for turn in range(1, 6):
        for eighth in range(8):
            angle = eighth * math.pi / 4
            yield centre[0] + turn * pace * math.cos(angle), centre[1] + turn * pace * math.sin(angle)


def _draw_badge(at: Point, number: int, scale: float) -> str:
    size = 50 * scale if number < 10 else 40 * scale
    return (
        f'<circle cx="{at[0]:.0f}" cy="{at[1]:.0f}" r="{BADGE * scale:.0f}" fill="#fff" stroke="#000" '
        f'stroke-width="{5 * scale:.0f}"/>'
        f'<text x="{at[0]:.0f}" y="{at[1] + size * 0.34:.0f}" text-anchor="middle" '
        f'font-family="Source Sans Pro, sans-serif" '
        f'font-weight="600" font-size="{size:.0f}" fill="#000">{escape(str(number))}</text>'
    )
