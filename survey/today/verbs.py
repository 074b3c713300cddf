"""What is most useful to do next."""

from __future__ import annotations

from survey.belonging.verbs import list_parts_to_pass_on
from survey.fits.verbs import TrialFit, describe_joint, list_fits
from survey.parts.verbs import list_parts
from survey.photos.runs import split_into_runs
from survey.photos.verbs import list_photos
from survey.schedule.verbs import list_gaps
from survey.store.survey import Survey
from survey.today.next_things import NextThing, rank_next_things
from survey.words import format_part_name


def list_next_things(survey: Survey, most: int = 10) -> list[NextThing]:
    """The next useful things to do, most useful first."""
    joints = [_propose_joint(fit) for fit in list_fits(survey) if fit.fails or fit.packs]
    strangers = [
        NextThing(
            "pass-on",
            format_part_name(stranger.part),
            "From another machine, and nothing here needs it.",
            stranger.part.part.id,
        )
        for stranger in list_parts_to_pass_on(survey)
        if not stranger.held
    ]
    return rank_next_things(
        list_parts(survey), list_gaps(survey), split_into_runs(list_photos(survey)), most,
        joints=joints, strangers=strangers,
    )  # fmt: skip


def _propose_joint(fit: TrialFit) -> NextThing:
    if fit.fails:
        return NextThing("fit", describe_joint(fit), "They were tried and do not go together.", fit.said.part)
    because = f"Packed for now with {fit.said.packed}: forgotten, it pulls the frame."
    return NextThing("unpack", describe_joint(fit), because, fit.said.part)
