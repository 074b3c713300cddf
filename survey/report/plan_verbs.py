"""What is planned, gathered from the rooms as sections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from survey.belonging.verbs import BelongingPart, list_belongings, list_parts_to_pass_on
from survey.fits.joints import describe_progress
from survey.fits.verbs import TrialFit, describe_trial, list_fits, list_packings, list_progress
from survey.gates.verbs import list_gates
from survey.model.parts import GradedPart
from survey.money.verbs import describe_reckoning, draw_reckoning, get_reckoning
from survey.outwork.docket_verbs import list_outwork_lines
from survey.outwork.verbs import describe_outwork
from survey.store.survey import Survey

if TYPE_CHECKING:
    from survey.document.sheet import Section


def gather_plan_sections(survey: Survey) -> tuple[Section, ...]:
    """Every section of the plan that is not empty, in the order of the work."""
    from survey.gates.printed import make_gates_section
    from survey.money.printed import make_money_section
    from survey.outwork.printed import make_outwork_section

    reckoning = get_reckoning(survey)
    sections = (
        _make_belongs_section(survey),
        _make_fits_section(survey),
        make_outwork_section(list_outwork_lines(survey), describe_outwork(survey)),
        make_money_section(describe_reckoning(survey, reckoning), draw_reckoning(survey, reckoning)),
        make_gates_section(list_gates(survey)),
    )
    return tuple(section for section in sections if section is not None)


def _make_belongs_section(survey: Survey) -> Section | None:
    from survey.belonging.printed import make_belonging_section

    belongings = list_belongings(survey)
    weighed_parts = [part for part in belongings if part.weighed.counted]
    passing = [(_make_part_name(part.part), part.held, part.caution) for part in list_parts_to_pass_on(survey)]
    return make_belonging_section(
        [_make_answer_row(part) for part in weighed_parts], len(belongings) - len(weighed_parts), passing
    )


def _make_answer_row(part: BelongingPart) -> tuple[str, str, str, str]:
    why = "; ".join(filter(None, (part.arithmetic, *part.conflicts)))
    return _make_part_name(part.part), part.weighed.verdict.label, why, part.settles


def _make_fits_section(survey: Survey) -> Section | None:
    from survey.fits.printed import make_fits_section

    begun = [progress for progress in list_progress(survey) if progress.positions.here]
    trials = [_make_trial_row(progress) for progress in list_fits(survey) if progress.counts]
    return make_fits_section(
        [(progress.assembly, describe_progress(progress)) for progress in begun], trials, len(list_packings(survey))
    )


def _make_trial_row(fit: TrialFit) -> tuple[str, str, str]:
    return f"{_make_part_name(fit.other)} to {_make_part_name(fit.part)}", describe_trial(fit), fit.said.note


def _make_part_name(graded: GradedPart) -> str:
    label = graded.part.label or (graded.component.label if graded.component else "not known yet")
    return f"{label}, no. {graded.part.id}"
