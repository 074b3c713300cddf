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

from survey.belonging.verbs import list_belongings
from survey.build_order.verbs import get_plan, list_blocks, list_lacks
from survey.errors import BadValue
from survey.fits import records
from survey.fits.verbs import change_fit, list_fits, list_joints
from survey.gates.verbs import list_gates
from survey.history.verbs import list_acts
from survey.model.fits import Fit
from survey.money.verbs import get_reckoning
from survey.outwork.verbs import list_batches
from survey.parts.verbs import list_parts, remove_part
from survey.photos.verbs import list_photos
from survey.schedule.verbs import list_components, list_positions
from survey.shelf.verbs import open_survey
from survey.store.database import Store
from survey.store.survey import Survey
from survey.today.verbs import list_next_things
from survey.wants.verbs import list_wants

pytestmark = pytest.mark.usefixtures("unsynced")

SEQUENCES = times(6, full=60)
EDITS = 25

READ: dict[str, Callable[[Survey], object]] = {
    "photos": list_photos,
    "parts": list_parts,
    "schedule": list_components,
    "standings": list_positions,
    "batches": list_batches,
    "belongings": list_belongings,
    "joints": list_joints,
    "fits": list_fits,
    "plan": get_plan,
    "blocks": list_blocks,
    "lacks": list_lacks,
    "wants": list_wants,
    "money": get_reckoning,
    "gates": list_gates,
    "next things": list_next_things,
}


@pytest.mark.slow
@pytest.mark.long_form
def test_what_is_kept_says_what_a_first_reading_would(full: Path, tmp_path: Path) -> None:
    done = 0
    for seed in range(SEQUENCES):
        chance = random.Random(seed)
        folder = Path(shutil.copytree(full, tmp_path / f"heap-{seed}"))
        with open_survey(folder, by="Wren") as survey, open_survey(folder) as other:
            for _ in range(EDITS):
                done += an_edit(survey, chance)
                for name, read in READ.items():
                    kept = read(survey)
                    other._kept.clear()
                    assert kept == read(other), (seed, name, list_acts(survey, last=1)[0].words)
    tell(f"{done} acts in {SEQUENCES} sequences: {len(READ)} lists as a first reading gives them")


def test_nothing_is_written_while_a_list_is_worked_out(
    full: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The browser door has several threads: a part that went between two readings would be missed in the second."""
    with open_survey(Path(shutil.copytree(full, tmp_path / "heap")), by="Wren") as survey:
        (one,) = list_fits(survey)
        change_fit(survey, one.said.id, note="again")
        other = threading.Thread(target=remove_part, args=(survey, one.said.other))

        def read(store: Store) -> list[Fit]:
            found = whole(store)
            if not other.ident:
                other.start()
                other.join(0.3)
            return found

        whole = records.fetch_fits
        monkeypatch.setattr("survey.fits.verbs.fetch_fits", read)
        assert [fit.said.note for fit in list_fits(survey)] == ["again"]
        other.join()
        assert list_fits(survey) == []


def test_a_refusal_costs_no_list(full: Path, tmp_path: Path) -> None:
    """Nothing was written, so nothing is read again; what was written and taken back is forgotten."""
    with open_survey(Path(shutil.copytree(full, tmp_path / "heap")), by="Wren") as survey:
        change_fit(survey, list_fits(survey)[0].said.id, note="so far")
        (one,) = list_fits(survey)
        with pytest.raises(BadValue):
            change_fit(survey, one.said.id, result="sort of")
        assert list_fits(survey)[0] is one
        with pytest.raises(BadValue), survey.together():
            change_fit(survey, one.said.id, note="not kept")
            assert list_fits(survey)[0].said.note == "not kept"
            change_fit(survey, one.said.id, result="sort of")
        assert list_fits(survey) == [one]
