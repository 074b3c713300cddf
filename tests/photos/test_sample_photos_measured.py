"""What truth.json says can be measured on the sample photos, against what OpenCV finds in the finished files.

OpenCV looks for the tally cards' markers (its 5x5_1000 dictionary, from which the cards are drawn by definition) and
solves the camera's place from them. It had no part in the stated positions, which are the scene's own geometry.
"""

from __future__ import annotations

import math
from typing import Any

import cv2
import numpy as np
import pytest
from sample_truth import CARDED, PHOTOS, Winding, camera_from, fitted_corners, found_corners, mask, turns_along, upright

FOUND = 0.003
"""How far a marker corner that OpenCV finds may lie from the stated one, as a share of the picture's longer side."""
FITTED = 0.0014
"""The same for corners where lines fitted to the ink's edges meet: 3 pixels of 2000.

Both lie inside the true square, as on real photos: the tone curve lets white spread over the blurred edge."""
PROJECTED = 0.001
"""How far a point may fall from its stated place when the camera is solved from the fitted corners alone."""


def test_a6_cards_of_twelve_tallies_and_two_of_credit_card_size() -> None:
    cards = [PHOTOS[name]["card"] for name in CARDED]
    assert {card["tally"] for card in cards if card["size"] == "a6"} == set(range(1, 13))
    assert len([card for card in cards if card["size"] == "credit"]) == 2
    for card in cards:
        assert sorted(map(int, card["markers"])) == [4 * card["tally"] + corner for corner in range(4)]


@pytest.mark.parametrize("name", CARDED)
def test_opencv_finds_the_card_where_it_is_stated(name: str) -> None:
    told, found, fitted = PHOTOS[name]["card"]["markers"], found_corners(name), fitted_corners(name)
    assert set(found) == set(told)
    longer = max(PHOTOS[name]["size_px"])
    for marker, square in told.items():
        assert np.linalg.norm(found[marker] - square, axis=1).max() <= FOUND * longer
        assert np.linalg.norm(fitted[marker] - square, axis=1).max() <= FITTED * longer


@pytest.mark.parametrize("name", CARDED)
def test_the_card_lies_flat_and_has_the_defined_size(name: str) -> None:
    """Markers of 24.5 mm with outer edges 140 x 97 mm apart (A6), 14 mm and 80 x 48 mm (credit card)."""
    card = PHOTOS[name]["card"]
    side, wide, high = {"a6": (24.5, 140.0, 97.0), "credit": (14.0, 80.0, 48.0)}[card["size"]]
    first = 4 * card["tally"]
    upper_left, upper_right, lower_right, lower_left = (np.array(card["markers_mm"][str(first + k)]) for k in range(4))
    everything = np.vstack([upper_left, upper_right, lower_right, lower_left])
    assert np.ptp(everything[:, 2]) < 0.01
    assert math.dist(upper_left[0], upper_left[1]) == pytest.approx(side, abs=0.01)
    assert math.dist(upper_left[0], upper_right[1]) == pytest.approx(wide, abs=0.01)
    assert math.dist(upper_left[0], lower_left[3]) == pytest.approx(high, abs=0.01)
    assert math.dist(upper_left[0], lower_right[2]) == pytest.approx(math.hypot(wide, high), abs=0.01)


def projected(name: str, corners: dict[str, Any]) -> list[tuple[str, float]]:
    """Every named point and hole, projected by a camera that was solved from the card: name and miss in pixels."""
    lens, turn, shift = camera_from(name, corners)
    misses = []
    for subject in PHOTOS[name]["subjects"]:
        solid = {spot: (point["mm"], point["px"]) for spot, point in subject["points"].items()}
        solid |= {hole["name"]: (hole["centre_mm"], hole["centre_px"]) for hole in subject["holes"]}
        for spot, (mm, px) in solid.items():
            flat, _ = cv2.projectPoints(np.array([mm], float), turn, shift, lens, None)
            misses.append((spot, math.dist(flat.ravel(), px)))
    return misses


@pytest.mark.parametrize("name", CARDED)
def test_points_and_holes_fall_where_opencv_projects_them(name: str) -> None:
    for spot, miss in projected(name, PHOTOS[name]["card"]["markers"]):
        assert miss < 0.5, spot


@pytest.mark.parametrize("name", CARDED)
def test_points_fall_where_a_camera_solved_from_the_finished_photo_puts_them(name: str) -> None:
    for spot, miss in projected(name, fitted_corners(name)):
        assert miss < PROJECTED * max(PHOTOS[name]["size_px"]), spot


def test_a_threads_pitch_can_be_measured_off_its_photo() -> None:
    name = "16_spindle.jpg"
    spindle = PHOTOS[name]["subjects"][0]
    start, end = (np.array(spindle["points"][point]["mm"]) for point in ("right shoulder", "right end"))
    thread = spindle["facts"]["thread"]
    winding = Winding(name, start, end, thread["major_mm"] / 2)
    light = cv2.cvtColor(upright(name), cv2.COLOR_RGB2GRAY).astype(np.float32)
    threads = turns_along(winding, light, ((lean, 1.0) for lean in np.linspace(-40, 40, 31)), (0.08, 0.92), 12)
    assert winding.long / threads == pytest.approx(thread["pitch_mm"], rel=0.02)


def test_the_springs_coils_can_be_counted_in_its_mask() -> None:
    """Along its two outlines, where each turn is one bulge."""
    name = "21_damper_spring.jpg"
    spring = PHOTOS[name]["subjects"][0]
    left, right, first, last = (
        np.array(spring["points"][point]["mm"]) for point in ("left end", "right end", "first coil", "last coil")
    )
    along = (right - left) / np.linalg.norm(right - left)
    radius = spring["facts"]["outside_diameter_mm"] / 2
    across = first - left - along * ((first - left) @ along)
    down = -radius * across / np.linalg.norm(across)
    winding = Winding(name, first + down, last + down, radius)
    lines = [(side, near) for side in (-90.0, 90.0) for near in np.linspace(0.90, 0.98, 9)]
    coils = turns_along(winding, mask(name, "part").astype(np.float32), lines, (0.04, 0.96), 8)
    assert coils == pytest.approx(spring["facts"]["working_coils"], abs=0.3)


def test_the_sprockets_holes_are_open_where_they_are_stated() -> None:
    """Seen at a slant through 6 mm of plate, the opening's middle lies up to half that aside."""
    told = PHOTOS["12_rear_sprocket.jpg"]
    scale = 1000 / max(told["size_px"])
    _, labels, _, middles = cv2.connectedComponentsWithStats((~mask("12_rear_sprocket.jpg", "part")).astype(np.uint8))
    seen = []
    for hole in told["subjects"][0]["holes"]:
        x, y = (coordinate * scale for coordinate in hole["centre_px"])
        which = labels[int(y), int(x)]
        seen.append(which)
        assert which > 1, hole["name"]
        assert math.dist(middles[which] + 0.5, (x, y)) < 10, hole["name"]
    assert len(set(seen)) == len(seen) == 13
