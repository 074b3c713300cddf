"""Photos for an intake, and how it ended."""

from __future__ import annotations

import hashlib
from pathlib import Path

import photo_factory as make

from survey.model.photos import IntakeResult
from survey.photos.file_type import REASONS, WARNINGS


def photo(number: int) -> bytes:
    return make.picture(image=make.textured(160, 120, seed=number))


def ends(result: IntakeResult) -> dict[str, str]:
    """Name of each file -> how it ended; a reason is one of the published ones."""
    found = {Path(one.path).name: "added" for one in result.added}
    found |= {Path(one.path).name: "already" for one in result.already}
    found |= {Path(one.path).name: one.reason for one in result.refused}
    assert {one.reason for one in result.refused} <= set(REASONS)
    assert {one.reason for one in result.warned} <= set(WARNINGS)
    assert all(one.message.endswith(".") for one in (*result.refused, *result.warned))
    return found


def whole(folder: Path, ledger: make.Memory) -> None:
    """Every recorded photo is there with its hash, nothing else is, and nothing waits."""
    for one in ledger.arrivals:
        data = (folder / one.path).read_bytes()
        assert (hashlib.sha256(data).hexdigest(), len(data)) == (one.sha256, one.bytes)
    kept = {file.relative_to(folder).as_posix() for file in (folder / "originals").rglob("*.*")}
    assert kept == {one.path for one in ledger.arrivals}
    assert [file.name for file in (folder / "incoming").iterdir()] == ["lock"]
