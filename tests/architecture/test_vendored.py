"""Libraries of others in the pages are exactly as they were published, with version, licence and checksum."""

from __future__ import annotations

import tomllib
from hashlib import sha256
from pathlib import Path

import pytest

VENDOR = Path(__file__).parents[2] / "web" / "static" / "vendor"
LIST = VENDOR / "VENDORED.toml"
LIBRARIES = tomllib.loads(LIST.read_text("utf-8"))["library"]


@pytest.mark.parametrize("library", LIBRARIES, ids=lambda library: library["name"])
def test_a_library_is_what_was_published(library: dict[str, str]) -> None:
    assert sha256((VENDOR / library["file"]).read_bytes()).hexdigest() == library["sha256"]
    assert library["version"] in library["file"]
    assert library["licence"] and (VENDOR / library["licence_file"]).read_text("utf-8").strip()
    assert library["published_as"]


def test_nothing_of_others_is_left_off_the_list() -> None:
    listed = {library[name] for library in LIBRARIES for name in ("file", "licence_file")}
    assert {path.name for path in VENDOR.iterdir()} == listed | {LIST.name}
