"""What a survey keeps in hand between acts is never stale: after any act it says what a first reading would say.

A list that is kept names the tables it was worked out from (``Survey.kept``); one that is forgotten shows here.
"""

from __future__ import annotations

import random
import shutil
import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from long_form import tell, times
from random_edits import an_edit

from survey import bench
from survey.bench.order import lacks
from survey.errors import BadValue
from survey.folder import fitting
from survey.folder.store import Store
from survey.planning.fits import Fit

pytestmark = pytest.mark.usefixtures("unsynced")

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


def test_nothing_is_written_while_a_list_is_worked_out(
    full: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The browser door has several threads: a part that went between two readings would be missed in the second."""
    with bench.open_survey(Path(shutil.copytree(full, tmp_path / "heap")), by="Wren") as survey:
        (one,) = bench.fits(survey)
        bench.change_fit(survey, one.said.id, note="again")
        other = threading.Thread(target=bench.remove_part, args=(survey, one.said.other))

        def read(store: Store) -> list[Fit]:
            found = whole(store)
            if not other.ident:
                other.start()
                other.join(0.3)
            return found

        whole = fitting.fits
        monkeypatch.setattr(fitting, "fits", read)
        assert [fit.said.note for fit in bench.fits(survey)] == ["again"]
        other.join()
        assert bench.fits(survey) == []


def test_a_refusal_costs_no_list(full: Path, tmp_path: Path) -> None:
    """Nothing was written, so nothing is read again; what was written and taken back is forgotten."""
    with bench.open_survey(Path(shutil.copytree(full, tmp_path / "heap")), by="Wren") as survey:
        bench.change_fit(survey, bench.fits(survey)[0].said.id, note="so far")
        (one,) = bench.fits(survey)
        with pytest.raises(BadValue):
            bench.change_fit(survey, one.said.id, result="sort of")
        assert bench.fits(survey)[0] is one
        with pytest.raises(BadValue), survey.together():
            bench.change_fit(survey, one.said.id, note="not kept")
            assert bench.fits(survey)[0].said.note == "not kept"
            bench.change_fit(survey, one.said.id, result="sort of")
        assert bench.fits(survey) == [one]
