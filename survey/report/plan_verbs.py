"""What is planned, carried to the papers as sections."""

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
    """Every section of the plan that has something to say, in the order of the work."""
    from survey.gates.printed import gates_section
    from survey.money.printed import money_section
    from survey.outwork.printed import outwork_section

    reckoned = get_reckoning(survey)
    found = (
        _belongs(survey),
        _fits(survey),
        outwork_section(list_outwork_lines(survey), describe_outwork(survey)),
        money_section(describe_reckoning(survey, reckoned), draw_reckoning(survey, reckoned)),
        gates_section(list_gates(survey)),
    )
    return tuple(section for section in found if section is not None)


def _belongs(survey: Survey) -> Section | None:
    from survey.belonging.printed import belongs_section

    every = list_belongings(survey)
    weighed = [one for one in every if one.weighed.counted]
    passing = [(_name(one.part), one.held, one.caution) for one in list_parts_to_pass_on(survey)]
    return belongs_section([_answer(one) for one in weighed], len(every) - len(weighed), passing)


def _answer(one: BelongingPart) -> tuple[str, str, str, str]:
    why = "; ".join(filter(None, (one.arithmetic, *one.conflicts)))
    return _name(one.part), one.weighed.verdict.label, why, one.settles


def _fits(survey: Survey) -> Section | None:
    from survey.fits.printed import fits_section

    begun = [one for one in list_progress(survey) if one.positions.here]
    trials = [_trial(one) for one in list_fits(survey) if one.counts]
    return fits_section([(one.assembly, describe_progress(one)) for one in begun], trials, len(list_packings(survey)))


def _trial(one: TrialFit) -> tuple[str, str, str]:
    return f"{_name(one.other)} to {_name(one.part)}", describe_trial(one), one.said.note


def _name(graded: GradedPart) -> str:
    label = graded.part.label or (graded.component.label if graded.component else "not known yet")
    return f"{label}, no. {graded.part.id}"
