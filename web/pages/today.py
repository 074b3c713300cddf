"""Today: what waits, and what stops the build."""

from __future__ import annotations

from collections import Counter

from flask import Blueprint, render_template

from survey.belonging.verbs import list_parts_to_pass_on
from survey.fits.verbs import list_fits
from survey.model.grading import GRADES, WAITINGS
from survey.model.parts import GradedPart
from survey.outwork.verbs import list_batches, list_overdue_batches, list_parts_to_examine
from survey.parts.verbs import list_parts
from survey.photos.verbs import list_photos
from survey.schedule.gaps import PositionCount, select_stopping_gaps
from survey.schedule.verbs import count_completeness, list_gaps
from survey.today.verbs import list_next_things
from web.current import current_survey
from web.presenters.parts import get_first_reason, get_name

pages = Blueprint("today", __name__)


@pages.get("/")
def show() -> str:
    """The first page."""
    survey = current_survey()
    photos, parts, gaps = list_photos(survey), list_parts(survey), list_gaps(survey)
    owed = [one for one in parts if one.verdict.waiting and (one.component is None or one.component.duty == "safety")]
    counts = count_completeness(survey)
    return render_template(
        "today/today.html",
        photos=photos,
        parts=parts,
        waiting=sum(photo.state == "waiting" for photo in photos),
        owed=[(one, get_name(one), get_first_reason(one)) for one in owed],
        stops=select_stopping_gaps(gaps),
        unlooked=sum(gap.state == "not-looked" for gap in gaps),
        outcomes=[(outcome, n) for outcome in (*GRADES, *WAITINGS) if (n := _tally(parts)[outcome])],
        total=sum(counts.values(), PositionCount()),
        joints=sum(one.fails or one.packs for one in list_fits(survey)),
        strangers=sum(not one.held for one in list_parts_to_pass_on(survey)),
        out=sum(bool(batch.away) for batch in list_batches(survey)),
        late=len(list_overdue_batches(survey)),
        returned=len(list_parts_to_examine(survey)),
        next_things=list_next_things(survey),
    )


def _tally(parts: list[GradedPart]) -> Counter[str]:
    return Counter(one.verdict.outcome for one in parts)
