"""What a survey keeps in hand between acts is never stale: after any act it says what a first reading would say.

A list that is kept names the tables it was worked out from (``Survey.kept``); one that is forgotten shows here.
"""

from __future__ import annotations

import random
import shutil
from collections.abc import Callable
from pathlib import Path

import full_survey
import pytest
from long_form import tell, times
from random_edits import an_edit

from survey import bench
from survey.bench.order import lacks

SEQUENCES = times(6, full=60)
EDITS = 25

READ: dict[str, Callable[[bench.Survey], object]] = {
    "photos": bench.photos,
    "parts": bench.parts,
    "schedule": bench.schedule,
    "standings": bench.standings,
    "batches": bench.batches,
    "belongings": bench.belongings,
    "joints": bench.joints,
    "fits": bench.fits,
    "plan": bench.plan,
    "blocks": bench.blocks,
    "lacks": lacks,
    "wants": bench.wants,
    "money": bench.money,
    "gates": bench.gates,
    "next things": bench.next_things,
}


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("kept")
    full_survey.build(room / "heap", room)
    return room / "heap"


@pytest.mark.slow
@pytest.mark.long_form
def test_what_is_kept_says_what_a_first_reading_would(full: Path, tmp_path: Path) -> None:
    done = 0
    for seed in range(SEQUENCES):
        chance = random.Random(seed)
        folder = Path(shutil.copytree(full, tmp_path / f"heap-{seed}"))
        with bench.open_survey(folder, by="Wren") as survey, bench.open_survey(folder) as other:
            for _ in range(EDITS):
                done += an_edit(survey, chance)
                for name, read in READ.items():
                    kept = read(survey)
                    other._kept.clear()
                    assert kept == read(other), (seed, name, bench.acts(survey, last=1)[0].words)
    tell(f"{done} acts in {SEQUENCES} sequences: {len(READ)} lists as a first reading gives them")
