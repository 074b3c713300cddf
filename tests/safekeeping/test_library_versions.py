"""The libraries that strangers' files are opened with are not older than they should be, and one that is is told of."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from survey.safekeeping import library_versions
from survey.safekeeping.library_versions import find_outdated_libraries
from survey.safekeeping.verbs import list_old_libraries
from survey.shelf.verbs import make_survey
from web.main import main


def test_nothing_here_is_older_than_it_should_be() -> None:
    assert list_old_libraries() == []
    told = {name: ask() for name, ask in library_versions._ASKED.items()}
    assert set(told) == set(library_versions.OLDEST_VERSIONS)
    assert all(told.values()), "each of them is here, and says its version"


@pytest.mark.parametrize(
    ("held", "old"),
    [
        ({"Pillow": "12.9.9"}, True), ({"Pillow": "13.0.0"}, False), ({"Pillow": "13.0"}, False),
        ({"Pillow": "13.0.0rc1"}, False), ({"libheif": "1.23.1"}, True), ({"libheif": "1.23.10"}, False),
        ({"libwebp": "1.3.1"}, True), ({"libwebp": "1.6"}, False), ({"Werkzeug": "3.1.5"}, True),
        ({"Werkzeug": "4"}, False), ({"libheif": ""}, False), ({}, False),
    ],
)  # fmt: skip
def test_an_older_one_is_named_with_the_version_it_should_have(held: dict[str, str], old: bool) -> None:
    found = find_outdated_libraries(held)
    assert bool(found) == old
    for name, sentence in zip(held, found, strict=False):
        assert name in sentence and held[name] in sentence
        assert ".".join(map(str, library_versions.OLDEST_VERSIONS[name])) in sentence


def test_an_intake_says_it_beside_its_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make_survey(tmp_path / "boxes", "lightweight", "Ferryman").close()
    (tmp_path / "phone").mkdir()
    monkeypatch.setattr(library_versions, "_ASKED", {"libwebp": lambda: "1.3.1"})
    said = CliRunner().invoke(main, ["intake", str(tmp_path / "boxes"), str(tmp_path / "phone")])
    assert "Mind: libwebp is 1.3.1" in said.output
