"""What is kept in memory between two questions is never older than the survey itself."""

from __future__ import annotations

import contextlib
import random
from pathlib import Path

import pytest
from PIL import Image
from test_undo import an_edit

from survey import bench
from survey.errors import NothingToTurn

EDITS = 120


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    bench.make_survey(tmp_path / "heap", "lightweight", "Dairy find").close()
    return tmp_path / "heap"


def test_nothing_is_worked_out_twice_while_nothing_changes(folder: Path) -> None:
    with bench.open_survey(folder) as survey:
        part = bench.add_part(survey, "B006")
        assert bench.part(survey, part.id) is bench.part(survey, part.id)
        assert bench.standings(survey) is bench.standings(survey)


def test_what_another_process_wrote_is_seen(folder: Path) -> None:
    with bench.open_survey(folder) as here, bench.open_survey(folder) as there:
        assert bench.parts(here) == []
        part = bench.add_part(there, "B006")
        bench.add_finding(there, part.id, "crack", 3)
        assert [finding.kind for finding in bench.parts(here)[0].findings] == ["crack"]
        bench.undo(there)
        assert bench.part(here, part.id).findings == ()


def test_what_an_act_that_failed_had_written_is_not_kept(folder: Path) -> None:
    with bench.open_survey(folder) as survey:
        part = bench.add_part(survey, "B006", box="box 1")
        with pytest.raises(ZeroDivisionError), survey.store.change("fails") as change:
            change.update("part", [part.id], {"box": "box 2"})
            assert bench.part(survey, part.id).part.box == "box 2"  # within the act it may be seen
            raise ZeroDivisionError
        assert bench.part(survey, part.id).part.box == "box 1"


def test_the_lists_handed_out_are_the_askers_own(folder: Path) -> None:
    with bench.open_survey(folder) as survey:
        bench.add_part(survey, "B006")
        bench.parts(survey).clear()
        bench.schedule(survey).clear()
        assert len(bench.parts(survey)) == 1
        assert len(bench.schedule(survey)) == 217


def test_what_is_mended_is_what_would_be_worked_out_anew(folder: Path, tmp_path: Path) -> None:
    with bench.open_survey(folder) as here:
        for number in range(3):
            Image.new("RGB", (40 + number, 30), "brown").save(tmp_path / f"{number}.png")
            bench.take_in(here, [tmp_path / f"{number}.png"])
        for component in ("B006", "B052", "B144", "B170", "B068", "B094", "B110", "B137"):
            bench.add_part(here, component, photos=[1])
        chance = random.Random(1957)
        for step in range(EDITS):
            an_edit(here, chance)
            if chance.random() < 0.2:
                with contextlib.suppress(NothingToTurn):
                    chance.choice([bench.undo, bench.redo])(here)
            with bench.open_survey(folder) as anew:
                assert bench.parts(here) == bench.parts(anew), step
                assert bench.photos(here) == bench.photos(anew), step
                assert bench.standings(here) == bench.standings(anew), step
        assert len(bench.history(here)) > 300
