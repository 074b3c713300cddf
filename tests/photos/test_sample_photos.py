"""What truth.json says of the sample photos as files and as a set, against other readers and the product's own lists.

ExifRead and ExifTool read what the files say of their taking; thread pitches are held against BS 84 and ISO 2704, the
chain against ISO 606 (from memory).
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
from itertools import pairwise
from pathlib import Path
from typing import Any

import cv2
import exifread
import numpy as np
import pytest
from PIL import Image
from sample_truth import FOLDER, MASKED, PHOTOS, mask, upright

from survey.finding_kinds import load_finding_kinds
from survey.schedule.data import load_catalogue

PLAN: list[dict[str, Any]] = tomllib.loads((FOLDER / "make" / "plan.toml").read_text("utf-8"))["photo"]


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
    lightweight = load_catalogue("lightweight")
    known = {component.id for component in lightweight.components + lightweight.extras}
    steps = {kind.id: len(kind.steps) for kind in load_finding_kinds()}
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


@pytest.mark.parametrize("name", sorted(name for name in PHOTOS if name.endswith(".jpg")))
def test_a_second_reader_finds_the_stated_exif(name: str) -> None:
    """ExifRead, which shares no code with the writer; ExifTool reads the HEIC and PNG files as well."""
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


def sharpness_and_light(name: str) -> tuple[float, float]:
    """How steeply the strongest edges bend (second over first derivative) at 1000 pixels, and the mean grey."""
    with Image.open(FOLDER / name) as image:
        image.draft("L", (1000, 1000))
        image.thumbnail((1000, 1000), Image.Resampling.BOX)
        small = np.asarray(image.convert("L")).astype(float)
    slope = np.hypot(cv2.Sobel(small, cv2.CV_64F, 1, 0), cv2.Sobel(small, cv2.CV_64F, 0, 1))
    strong = slope > np.percentile(slope, 99)
    return np.abs(cv2.Laplacian(small, cv2.CV_64F)[strong]).mean() / slope[strong].mean(), small.mean()


def test_one_is_blurred_and_one_is_dark() -> None:
    seen = {name: sharpness_and_light(name) for name in PHOTOS}
    blurred = [name for name, told in PHOTOS.items() if told.get("look") == "blurred"]
    dark = [name for name, told in PHOTOS.items() if told.get("look") == "dark"]
    assert len(blurred) == len(dark) == 1
    assert seen[blurred[0]][0] < 0.7 * min(seen[name][0] for name in PHOTOS if name not in blurred + dark)
    assert seen[dark[0]][1] < 0.4 * min(seen[name][1] for name in PHOTOS if name not in blurred + dark)


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
