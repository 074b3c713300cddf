"""Today: what waits, and what stops the build."""

from __future__ import annotations

from collections import Counter

from flask import Blueprint, render_template

from survey import bench
from survey.model import GRADES, WAITINGS, GradedPart
from web.desk import the_survey
from web.show.named import first_reason, name_of

pages = Blueprint("today", __name__)


@pages.get("/")
def show() -> str:
    """The first page."""
    survey = the_survey()
    photos, parts, gaps = bench.photos(survey), bench.parts(survey), bench.gaps(survey)
    owed = [one for one in parts if one.verdict.waiting and (one.component is None or one.component.duty == "safety")]
    counts = bench.completeness(survey)
    return render_template(
        "today.html",
        photos=photos,
        parts=parts,
        waiting=sum(photo.state == "waiting" for photo in photos),
        owed=[(one, name_of(one), first_reason(one)) for one in owed],
        stops=bench.what_stops(gaps),
        unlooked=sum(gap.state == "not-looked" for gap in gaps),
        outcomes=[(outcome, n) for outcome in (*GRADES, *WAITINGS) if (n := _tally(parts)[outcome])],
        total=sum(counts.values(), bench.Count()),
        joints=sum(one.fails or one.packs for one in bench.fits(survey)),
        strangers=sum(not one.held for one in bench.to_pass_on(survey)),
        out=sum(bool(batch.away) for batch in bench.batches(survey)),
        late=len(bench.overdue(survey)),
        returned=len(bench.to_examine(survey)),
        next_things=bench.next_things(survey),
    )


def _tally(parts: list[GradedPart]) -> Counter[str]:
    return Counter(one.verdict.outcome for one in parts)
