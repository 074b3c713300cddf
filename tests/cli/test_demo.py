"""The demo tells of what its photos show: every mark sits where the truth of the picture has the fault."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from survey.settings import get_sample_photos_dir

AWAY = 0.02
STORY: dict[str, Any] = tomllib.loads((get_sample_photos_dir() / "demo.toml").read_text("utf-8"))
TRUTH: dict[str, Any] = json.loads((get_sample_photos_dir() / "truth.json").read_text("utf-8"))["photos"]
MARKED = [
    (finding["photo"], finding["kind"], finding["at"])
    for part in STORY["part"]
    for finding in part.get("finding", ())
    if "at" in finding
]


def spot(photo: str, kind: str) -> tuple[float, float]:
    """Where the truth has that finding, as fractions of the upright picture."""
    wide, high = TRUTH[photo]["size_px"]
    (x, y), *_ = [
        finding["at_px"]
        for shown in TRUTH[photo]["shows"]
        for finding in shown["findings"]
        if finding["kind"] == kind and "at_px" in finding
    ]
    return x / wide, y / high


def test_every_sample_photo_is_in_the_story_and_every_photo_of_the_story_is_there() -> None:
    kinds = {".jpg", ".png", ".heic"}
    there = {path.name for path in get_sample_photos_dir().iterdir() if path.suffix in kinds}
    assert there == set(STORY["photos"]) == set(TRUTH)
    assert len(STORY["photos"]) == len(there)
    placed = {name for part in STORY["part"] for name in part.get("photos", ())}
    assert placed | set(STORY["aside"]) == there, "no photo is left waiting"


@pytest.mark.parametrize(("photo", "kind", "at"), MARKED)
def test_a_mark_sits_on_what_it_marks(photo: str, kind: str, at: list[list[float]]) -> None:
    middle = [sum(edge) / len(at) for edge in zip(*at, strict=True)]
    there = spot(photo, kind)
    inside = len(at) == 2 and all(at[0][n] <= there[n] <= at[1][n] for n in (0, 1))
    assert inside or all(abs(middle[n] - there[n]) <= AWAY for n in (0, 1))


@pytest.mark.parametrize("photo", sorted(TRUTH))
def test_the_story_says_of_a_photo_what_the_truth_says(photo: str) -> None:
    told = {
        (finding["kind"], finding["step"])
        for part in STORY["part"]
        if photo in part.get("photos", ())
        for finding in part.get("finding", ())
    }
    known = {
        (finding["kind"], finding["step"])
        for shown in TRUTH[photo]["shows"]
        if photo not in STORY["aside"]
        for finding in shown["findings"]
    }
    assert known <= told, "the picture shows more than the story tells"


def test_the_folder_is_small_enough_to_be_carried_about() -> None:
    top = Path(get_sample_photos_dir())
    total = sum(path.stat().st_size for path in top.rglob("*") if path.is_file() and "make" not in path.parts)
    assert total < 30e6


def test_what_is_snapped_in_a_photo_is_recorded_as_stuck_on_its_part() -> None:
    """Every snapped stud that the story finds has its line of what it would take to get it out."""
    snapped = [part for part in STORY["part"] if any(one["kind"] == "stud" for one in part.get("finding", ()))]
    assert len(snapped) == 2
    assert all(part["stuck"] for part in snapped)
    ends = {"proud", "flush", "below"}
    assert all(ends & set(one["conditions"]) for part in snapped for one in part["stuck"])


@pytest.mark.parametrize(
    ("component", "photo", "fact", "size"),
    [("B094", "12_rear_sprocket.jpg", "teeth", "teeth"), ("B098", "13_chain.jpg", "links", "links")],
)
def test_a_size_to_take_along_is_what_the_photo_shows(component: str, photo: str, fact: str, size: str) -> None:
    want = next(one for one in STORY["want"] if one.get("component") == component)
    facts = next(one["facts"] for one in TRUTH[photo]["subjects"] if "facts" in one)
    assert want["sizes"][size] == str(facts[fact])
    assert want["sizes"]["pitch"] == "1/2 in"
    assert facts["chain_pitch_mm"] == pytest.approx(25.4 / 2)
