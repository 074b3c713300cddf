"""What is planned, carried to the papers as sections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from survey.bench.belongs import BelongingPart, belongings, to_pass_on
from survey.bench.fits import TrialFit, fit_in_words, fits, loose_build, packings
from survey.bench.gates import gates
from survey.bench.money import money, money_drawing, reckoning_words
from survey.bench.outwork import outwork_in_words
from survey.bench.outwork_paper import outwork_lines
from survey.bench.survey import Survey
from survey.model import GradedPart
from survey.planning.fits import progress_in_words

if TYPE_CHECKING:
    from survey.paper.sheet import Section


def planned(survey: Survey) -> tuple[Section, ...]:
    """Every section of the plan that has something to say, in the order of the work."""
    from survey.paper.money_sections import gates_section, money_section
    from survey.paper.plan_sections import outwork_section

    reckoned = money(survey)
    found = (
        _belongs(survey),
        _fits(survey),
        outwork_section(outwork_lines(survey), outwork_in_words(survey)),
        money_section(reckoning_words(survey, reckoned), money_drawing(survey, reckoned)),
        gates_section(gates(survey)),
    )
    return tuple(section for section in found if section is not None)


def _belongs(survey: Survey) -> Section | None:
    from survey.paper.plan_sections import belongs_section

    every = belongings(survey)
    weighed = [one for one in every if one.weighed.counted]
    passing = [(_name(one.part), one.held, one.caution) for one in to_pass_on(survey)]
    return belongs_section([_answer(one) for one in weighed], len(every) - len(weighed), passing)


def _answer(one: BelongingPart) -> tuple[str, str, str, str]:
    why = "; ".join(filter(None, (one.arithmetic, *one.conflicts)))
    return _name(one.part), one.weighed.verdict.label, why, one.settles


def _fits(survey: Survey) -> Section | None:
    from survey.paper.plan_sections import fits_section

    begun = [one for one in loose_build(survey) if one.positions.here]
    trials = [_trial(one) for one in fits(survey) if one.counts]
    return fits_section([(one.assembly, progress_in_words(one)) for one in begun], trials, len(packings(survey)))


def _trial(one: TrialFit) -> tuple[str, str, str]:
    return f"{_name(one.other)} to {_name(one.part)}", fit_in_words(one), one.said.note


def _name(graded: GradedPart) -> str:
    label = graded.part.label or (graded.component.label if graded.component else "not known yet")
    return f"{label}, no. {graded.part.id}"
