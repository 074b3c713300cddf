"""The sample photos for the tests: what is stated of them, and OpenCV's own finding of cards and cameras in them."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pillow_heif
from PIL import Image, ImageOps

FOLDER = Path(__file__).resolve().parents[2] / "sample_photos"
PHOTOS: dict[str, dict[str, Any]] = json.loads((FOLDER / "truth.json").read_text("utf-8"))["photos"]
CARDED = sorted(name for name, told in PHOTOS.items() if "card" in told)
MASKED = sorted(name for name, told in PHOTOS.items() if "masks" in told)

pillow_heif.register_heif_opener()


@lru_cache(maxsize=2)
def upright(name: str) -> np.ndarray:
    """The photo as it is seen, RGB. The HEIC decoder turns by itself; the others carry the turn in their EXIF."""
    with Image.open(FOLDER / name) as image:
        return np.asarray(ImageOps.exif_transpose(image).convert("RGB"))


def mask(name: str, kind: str) -> np.ndarray:
    with Image.open(FOLDER / PHOTOS[name]["masks"][kind]) as image:
        return np.asarray(image.convert("L")) > 127


@lru_cache(maxsize=32)
def found_corners(name: str) -> dict[str, np.ndarray]:
    """The markers of a photo as OpenCV finds them, by id. OpenCV counts from the middle of the first pixel: + 0.5."""
    grey = cv2.cvtColor(upright(name), cv2.COLOR_RGB2GRAY)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    settings.cornerRefinementWinSize = 4
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    squares, ids, _ = cv2.aruco.ArucoDetector(words, settings).detectMarkers(grey)
    if ids is None:
        return {}
    return {str(int(i)): square.reshape(4, 2) + 0.5 for i, square in zip(ids.ravel(), squares, strict=True)}


def edge_points(light: np.ndarray, start: np.ndarray, along: np.ndarray, long: float) -> np.ndarray:
    """Where brightness along 24 cuts across one black edge passes halfway between ink and paper."""
    out = np.array((along[1], -along[0]))
    steps = np.linspace(-1, 1, 41) * max(4.0, 0.05 * long)
    found = []
    for share in np.linspace(0.12, 0.88, 24):
        across = (start + along * long * share - 0.5 + steps[:, None] * out).astype(np.float32)
        line = cv2.remap(light, across[None, :, 0], across[None, :, 1], cv2.INTER_CUBIC)[0]
        half = (line[:6].mean() + line[-6:].mean()) / 2
        rises = np.flatnonzero((line[1:] >= half) & (line[:-1] < half))
        if len(rises):
            at = rises[np.argmin(np.abs(rises - 20))]
            place = at + (half - line[at]) / (line[at + 1] - line[at])
            found.append(start + along * long * share + out * np.interp(place, range(41), steps))
    return np.array(found)


def line_through(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """A point and a direction, without the few that lie far off."""
    for _ in range(3):
        middle = points.mean(axis=0)
        along = np.linalg.svd(points - middle)[2][0]
        off = np.abs((points - middle) @ (-along[1], along[0]))
        points = points[off <= max(0.3, 2.5 * float(np.median(off)))]
    return middle, along


@lru_cache(maxsize=32)
def fitted_corners(name: str) -> dict[str, np.ndarray]:
    """The markers' corners where lines through their edges meet, in roughly linear light."""
    light = (upright(name).astype(np.float32).mean(axis=2) / 255) ** 2.2
    fitted = {}
    for marker, square in found_corners(name).items():
        lines = []
        for start, end in zip(square, np.roll(square, -1, axis=0), strict=True):
            long = float(np.linalg.norm(end - start))
            lines.append(line_through(edge_points(light, start, (end - start) / long, long)))
        meet = []
        for (here, one), (there, other) in zip(lines[-1:] + lines[:-1], lines, strict=True):
            meet.append(here + one * np.linalg.solve(np.c_[one, -other], there - here)[0])
        fitted[marker] = np.array(meet)
    return fitted


def camera_from(name: str, corners: dict[str, Any]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    told = PHOTOS[name]
    wide, high = told["size_px"]
    lens = np.array([[told["focal_px"], 0, wide / 2], [0, told["focal_px"], high / 2], [0, 0, 1]])
    order = sorted(told["card"]["markers_mm"])
    solid = np.vstack([told["card"]["markers_mm"][k] for k in order])
    flat = np.vstack([corners[k] for k in order]).astype(float)
    solved, turn, shift = cv2.solvePnP(solid, flat, lens, None, flags=cv2.SOLVEPNP_ITERATIVE)
    assert solved
    return lens, turn, shift


class Winding:
    """Lines along a thing wound round an axis from start to end (mm), as the finished photo's own camera sees them."""

    def __init__(self, name: str, start: np.ndarray, end: np.ndarray, radius: float) -> None:
        self.lens, self.turn, self.shift = camera_from(name, fitted_corners(name))
        eye = (-cv2.Rodrigues(self.turn)[0].T @ self.shift).ravel()
        self.width = PHOTOS[name]["size_px"][0]
        self.start, self.radius, self.long = start, radius, math.dist(start, end)
        self.along = (end - start) / self.long
        towards = eye - (start + end) / 2
        towards = towards - self.along * (towards @ self.along)
        self.towards = towards / np.linalg.norm(towards)

    def pixels(self, lean: float, first: float = 0.0, last: float = 1.0, near: float = 1.0) -> np.ndarray:
        """2048 places along the outside, `lean` degrees round from the side that faces the camera."""
        angle = math.radians(lean)
        out = math.cos(angle) * self.towards + math.sin(angle) * np.cross(self.along, self.towards)
        places = self.start + self.along * np.linspace(first, last, 2048)[:, None] * self.long
        places = places + out * self.radius * near
        return cv2.projectPoints(places, self.turn, self.shift, self.lens, None)[0].reshape(-1, 2)


def turns_along(
    winding: Winding, picture: np.ndarray, lines: Iterable[tuple[float, float]], part: tuple[float, float], fewest: int
) -> float:
    """How often something comes round between start and end: the strongest frequency of all lines (lean, near)."""
    power, scale = np.zeros(8193), picture.shape[1] / winding.width
    for lean, near in lines:
        pixels = (winding.pixels(lean, *part, near) * scale - 0.5).astype(np.float32)
        line = cv2.remap(picture, pixels[None, :, 0], pixels[None, :, 1], cv2.INTER_LINEAR)[0]
        line = line - cv2.GaussianBlur(line[None], (0, 0), 150)[0]
        power += np.abs(np.fft.rfft(line * np.hanning(2048), 8 * 2048)) ** 2
    turns = np.arange(8193) / 8 / (part[1] - part[0])
    sought = (turns > fewest) & (turns < 3 * fewest)
    return float(turns[sought][power[sought].argmax()])
