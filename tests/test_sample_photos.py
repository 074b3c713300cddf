"""What truth.json says of the sample photos, against what other programs find in the finished files.

OpenCV looks for the tally cards' markers (its 5x5_1000 dictionary, which the cards are drawn from by definition) and
solves the camera's place from them; ExifRead and ExifTool read the EXIF. None of them had a part in the stated
positions, which come from the scene's own geometry. Thread pitches are held against BS 84 and ISO 2704 (from memory).
"""

from __future__ import annotations

import io
import json
import math
import shutil
import subprocess
import tomllib
from collections import Counter
from datetime import datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import cv2
import exifread
import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageOps

from survey.knowledge.catalogues import catalogue
from survey.knowledge.findings import finding_kinds

FOLDER = Path(__file__).resolve().parent.parent / "sample_photos"
PHOTOS: dict[str, dict[str, Any]] = json.loads((FOLDER / "truth.json").read_text("utf-8"))["photos"]
PLAN: list[dict[str, Any]] = tomllib.loads((FOLDER / "make" / "plan.toml").read_text("utf-8"))["photo"]
CARDED = sorted(name for name, told in PHOTOS.items() if "card" in told)
MASKED = sorted(name for name, told in PHOTOS.items() if "masks" in told)

CORNER_PX = 0.0015
"""How far a found marker corner may lie from the stated one, as a share of the picture's longer side: 3 px of 2000.

Found corners lie inside the true square, from focus and tone curve; the worst measured over all cards is 0.0011.
"""
POINT_PX = 0.004
"""How far a point projected from the found card alone may fall from the stated one, as a share of the longer side.

It may be larger: the points lie up to three card widths away from the card, and above it."""

pillow_heif.register_heif_opener()


@lru_cache(maxsize=2)
def upright(name: str) -> np.ndarray:
    """The photo as it is seen, RGB. The HEIC decoder turns by itself; the others carry the turn in their EXIF."""
    with Image.open(FOLDER / name) as image:
        return np.asarray(ImageOps.exif_transpose(image).convert("RGB"))


def mask(name: str, kind: str) -> np.ndarray:
    with Image.open(FOLDER / PHOTOS[name]["masks"][kind]) as image:
        return np.asarray(image.convert("L")) > 127


def subjects_and_points() -> list[tuple[str, dict[str, Any], str, dict[str, Any]]]:
    return [
        (name, subject, spot, point)
        for name, told in PHOTOS.items()
        for subject in told["subjects"]
        for spot, point in subject["points"].items()
    ]


# the set as a whole


def test_the_folder_holds_the_planned_photos_and_no_others() -> None:
    suffixes = {".jpg", ".heic", ".png"}
    assert {path.name for path in FOLDER.iterdir() if path.suffix in suffixes} == set(PHOTOS)
    assert [row["file"] for row in PLAN] == sorted(PHOTOS)
    assert Counter(Path(name).suffix for name in PHOTOS) == {".jpg": len(PHOTOS) - 3, ".heic": 2, ".png": 1}
    assert len(PHOTOS) >= 30


def test_the_folder_is_small_enough_to_carry() -> None:
    assert sum(path.stat().st_size for path in FOLDER.rglob("*") if path.is_file()) < 30_000_000


def test_sizes_and_turns_are_a_telephones() -> None:
    sizes = Counter(max(told["size_px"]) for told in PHOTOS.values())
    assert sizes[4000] >= 6 and set(sizes) <= {4000, 2000, 1600}
    assert {told["exif"]["orientation"] for told in PHOTOS.values()} >= {1, 3, 6, 8}


def test_seven_boxes_each_in_its_own_run_of_photos() -> None:
    taken = [(datetime.fromisoformat(told["exif"]["taken"]), told["box"]) for _, told in sorted(PHOTOS.items())]
    assert taken == sorted(taken)
    assert {box for _, box in taken} == set(range(1, 8))
    within = [b[0] - a[0] for a, b in pairwise(taken) if a[1] == b[1]]
    between = [b[0] - a[0] for a, b in pairwise(taken) if a[1] != b[1]]
    assert max(within) < timedelta(minutes=3) and min(between) > timedelta(minutes=3)


def test_parts_and_findings_are_in_the_products_own_lists() -> None:
    known = {component.id for component in catalogue("lightweight").components}
    steps = {kind.id: len(kind.steps) for kind in finding_kinds()}
    shown = [part for told in PHOTOS.values() for part in told["shows"]]
    assert {part["component"] for part in shown} - {""} <= known
    assert all(part["component"] or part["label"] for part in shown)
    assert {gap for part in shown for gap in part.get("gaps", [])} <= known
    found = [finding for part in shown for finding in part["findings"]]
    assert len({finding["kind"] for finding in found}) >= 15
    assert all(1 <= finding["step"] <= steps[finding["kind"]] for finding in found)
    assert len({subject["part"] for told in PHOTOS.values() for subject in told["subjects"]}) >= 12


def test_two_photos_show_one_part_twice_over() -> None:
    again = {name: told["same_part_as"] for name, told in PHOTOS.items() if "same_part_as" in told}
    assert len(again) >= 1
    for name, other in again.items():
        assert {s["part"] for s in PHOTOS[name]["subjects"]} == {s["part"] for s in PHOTOS[other]["subjects"]}


# what the files hold


@pytest.mark.parametrize("name", sorted(PHOTOS))
def test_the_file_opens_upright_in_the_stated_size(name: str) -> None:
    with Image.open(FOLDER / name) as image:
        turned = image.getexif().get(0x0112, 1) in (6, 8)
        seen = image.size[::-1] if turned else image.size
    assert list(seen) == PHOTOS[name]["size_px"]


@pytest.mark.parametrize("name", sorted(name for name in PHOTOS if not name.endswith(".png")))
def test_a_second_reader_finds_the_stated_exif(name: str) -> None:
    """ExifRead, which shares no code with the writer."""
    tags = {key: str(tag) for key, tag in exifread.process_file(io.BytesIO((FOLDER / name).read_bytes())).items()}
    told = PHOTOS[name]["exif"]
    assert (tags["Image Make"], tags["Image Model"]) == (told["make"], told["model"])
    assert datetime.strptime(tags["EXIF DateTimeOriginal"], "%Y:%m:%d %H:%M:%S").isoformat() == told["taken"]
    assert tags.get("EXIF OffsetTimeOriginal") == told.get("offset")
    assert ("GPS GPSLatitude" in tags) == ("position" in told)


@pytest.mark.reference("exiftool")
def test_exiftool_finds_the_stated_exif_and_place() -> None:
    wanted = ["-Make", "-DateTimeOriginal", "-OffsetTimeOriginal", "-Orientation", "-GPSLatitude", "-GPSLongitude"]
    tool = shutil.which("exiftool") or "exiftool"
    said = subprocess.run(
        [tool, "-j", "-n", *wanted, *(str(FOLDER / name) for name in sorted(PHOTOS))],
        check=True,
        capture_output=True,
        timeout=60,
    ).stdout
    for found in json.loads(said):
        told = PHOTOS[Path(found["SourceFile"]).name]["exif"]
        assert found["Make"] == told["make"]
        taken = datetime.strptime(found["DateTimeOriginal"], "%Y:%m:%d %H:%M:%S")
        assert taken.isoformat() == told["taken"]
        assert found.get("OffsetTimeOriginal") == told.get("offset")
        if not found["SourceFile"].endswith(".heic"):
            assert found["Orientation"] == told["orientation"]
        if "position" in told:
            place = (found["GPSLatitude"], found["GPSLongitude"])
            assert place == pytest.approx(told["position"], abs=1e-4)
        else:
            assert "GPSLatitude" not in found


def test_some_say_where_and_some_say_which_zone() -> None:
    told = [photo["exif"] for photo in PHOTOS.values()]
    assert 4 <= sum("position" in each for each in told) < len(told)
    assert 4 <= sum("offset" not in each for each in told) < len(told)


def test_one_is_blurred_and_one_is_dark() -> None:
    sharp, light = {}, {}
    for name in PHOTOS:
        grey = cv2.cvtColor(upright(name), cv2.COLOR_RGB2GRAY)
        small = cv2.resize(grey, None, fx=1000 / max(grey.shape), fy=1000 / max(grey.shape))
        sharp[name], light[name] = cv2.Laplacian(small, cv2.CV_64F).var(), float(small.mean())
    blurred = [name for name, told in PHOTOS.items() if told.get("look") == "blurred"]
    dark = [name for name, told in PHOTOS.items() if told.get("look") == "dark"]
    assert len(blurred) == len(dark) == 1
    assert sharp[blurred[0]] < 0.5 * min(v for name, v in sharp.items() if name not in blurred + dark)
    assert light[dark[0]] < 0.75 * min(v for name, v in light.items() if name not in blurred + dark)


# the cards


@lru_cache(maxsize=32)
def found_corners(name: str) -> dict[str, np.ndarray]:
    grey = cv2.cvtColor(upright(name), cv2.COLOR_RGB2GRAY)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    settings.cornerRefinementWinSize = 4
    words = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_1000)
    squares, ids, _ = cv2.aruco.ArucoDetector(words, settings).detectMarkers(grey)
    if ids is None:
        return {}
    return {str(int(i)): square.reshape(4, 2) for i, square in zip(ids.ravel(), squares, strict=True)}


def test_a6_cards_of_twelve_tallies_and_two_of_credit_card_size() -> None:
    cards = [PHOTOS[name]["card"] for name in CARDED]
    assert {card["tally"] for card in cards if card["size"] == "a6"} == set(range(1, 13))
    assert len([card for card in cards if card["size"] == "credit"]) == 2
    for card in cards:
        assert sorted(map(int, card["markers"])) == [4 * card["tally"] + corner for corner in range(4)]


@pytest.mark.parametrize("name", CARDED)
def test_opencv_finds_the_card_where_it_is_stated(name: str) -> None:
    told, found = PHOTOS[name]["card"]["markers"], found_corners(name)
    assert set(found) == set(told)
    allowed = CORNER_PX * max(PHOTOS[name]["size_px"])
    for marker, square in told.items():
        assert np.linalg.norm(found[marker] - square, axis=1).max() <= allowed


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
    for spot, miss in projected(name, found_corners(name)):
        assert miss < POINT_PX * max(PHOTOS[name]["size_px"]), spot


# what is known of the parts


def test_lengths_are_those_between_their_points() -> None:
    counted = 0
    for told in PHOTOS.values():
        for subject in told["subjects"]:
            for length in subject["lengths"]:
                ends = [subject["points"][length[end]] for end in ("from", "to")]
                assert length["mm"] == pytest.approx(math.dist(ends[0]["mm"], ends[1]["mm"]), abs=0.01)
                assert length["px"] == pytest.approx(math.dist(ends[0]["px"], ends[1]["px"]), abs=0.05)
                counted += 1
    assert counted >= 25


def test_every_finding_with_a_spot_has_it_in_the_picture_and_in_sight() -> None:
    spots = 0
    for name, told in PHOTOS.items():
        points = {spot: point for subject in told["subjects"] for spot, point in reversed(subject["points"].items())}
        for finding in [finding for part in told["shows"] for finding in part["findings"] if "at_px" in finding]:
            across, down = finding["at_px"]
            assert 0 < across < told["size_px"][0] and 0 < down < told["size_px"][1], name
            if finding["spot"] == "rust":
                scale = 1000 / max(told["size_px"])
                assert mask(name, "rust")[int(down * scale), int(across * scale)], name
            else:
                assert points[finding["spot"]]["seen"], (name, finding["spot"])
            spots += 1
    assert spots >= 30


@pytest.mark.parametrize(
    ("photo", "major_mm", "per_inch"),
    [
        ("07", 7.938, 22),  # BS 84: 5/16 in fine, 22 to the inch
        ("08", 12.7, 16),  # BS 84: 1/2 in fine, 16 to the inch
        ("09", 6.35, 20),  # BS 84: 1/4 in Whitworth, 20 to the inch
        ("16", 14.288, 20),  # 9/16 in at 20 to the inch: common practice of cycle spindles, no source
    ],
)
def test_threads_are_of_known_series(photo: str, major_mm: float, per_inch: int) -> None:
    thread = next(told for name, told in PHOTOS.items() if name.startswith(photo))["subjects"][0]["facts"]["thread"]
    assert (thread["major_mm"], thread["per_inch"]) == (major_mm, per_inch)
    assert thread["pitch_mm"] == pytest.approx(25.4 / per_inch, abs=1e-4)


def test_the_plug_thread_is_the_plugs() -> None:
    """ISO 2704: M14 x 1.25."""
    thread = PHOTOS["11_cylinder_head.jpg"]["subjects"][0]["facts"]["thread"]
    assert (thread["major_mm"], thread["pitch_mm"]) == (14.0, 1.25)


def test_the_sprocket_agrees_with_its_chain() -> None:
    """ISO 606: pitch diameter is pitch over sin(180 degrees / teeth); 12.7 mm pitch."""
    facts = PHOTOS["12_rear_sprocket.jpg"]["subjects"][0]["facts"]
    assert facts["chain_pitch_mm"] == 12.7 == PHOTOS["13_chain.jpg"]["subjects"][0]["facts"]["chain_pitch_mm"]
    assert facts["pitch_diameter_mm"] == pytest.approx(12.7 / math.sin(math.pi / facts["teeth"]), abs=0.01)


def test_the_springs_working_coils_fill_its_stated_length() -> None:
    spring = PHOTOS["21_damper_spring.jpg"]["subjects"][0]
    working = next(length for length in spring["lengths"] if length["name"] == "working coils")
    assert working["mm"] == pytest.approx(spring["facts"]["working_coils"] * spring["facts"]["coil_pitch_mm"], abs=0.5)


def test_the_carriers_bracket_does_not_fit_its_lug() -> None:
    """An 8 mm bolt in holes of 8.5 and 8.2 mm has half a millimetre of play at most; the centres differ by 4.5."""
    spans = {}
    for name in ("22_carrier_bracket.jpg", "23_carrier_lug.jpg"):
        subject = PHOTOS[name]["subjects"][0]
        spans[name] = subject["lengths"][0]["mm"]
        assert all(hole["diameter_mm"] > 8 for hole in subject["holes"])
    assert abs(spans["22_carrier_bracket.jpg"] - spans["23_carrier_lug.jpg"]) == pytest.approx(4.5, abs=0.01)


# the masks


def test_masks_of_painted_plated_red_black_and_bare_finishes() -> None:
    parts = {PHOTOS[name]["subjects"][0]["part"] for name in MASKED}
    assert parts >= {"mudguard", "tank", "toolbox_lid", "head_lug", "headlamp_rim", "fork_tube", "sprocket", "chain"}
    assert len(MASKED) >= 8
    assert {path.name for path in (FOLDER / "masks").iterdir()} == {
        Path(file).name for name in MASKED for file in PHOTOS[name]["masks"].values()
    }


@pytest.mark.parametrize("name", MASKED)
def test_rust_lies_on_the_part_and_covers_what_is_stated(name: str) -> None:
    told, part = PHOTOS[name], mask(name, "part")
    assert part.shape == tuple(round(side * 1000 / max(told["size_px"])) for side in reversed(told["size_px"]))
    assert part.mean() == pytest.approx(told["visible"]["part_px_share"], abs=1e-5)
    if "rust" in told["masks"]:
        rust = mask(name, "rust")
        assert not (rust & ~part).any()
        assert rust.mean() == pytest.approx(told["visible"]["rust_px_share"], abs=1e-5)
        assert told["visible"]["rust_mm2"] < told["visible"]["part_mm2"]


@pytest.mark.parametrize(
    "name", [name for name in MASKED if PHOTOS[name]["visible"].get("rust_px_share", 0) > 0.004 and "lid" not in name]
)
def test_what_the_mask_calls_rust_is_redder_than_the_rest_of_the_part(name: str) -> None:
    """In the finished photo, by a* of CIE Lab; not asked of the maroon lid, whose paint is redder than rust."""
    rust = mask(name, "rust")
    sound = mask(name, "part") & ~cv2.dilate(rust.astype(np.uint8), np.ones((5, 5))).astype(bool)
    small = cv2.resize(upright(name), rust.shape[::-1], interpolation=cv2.INTER_AREA)
    redness = cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)[..., 1]
    assert np.median(redness[rust]) > np.median(redness[sound]) + 2
