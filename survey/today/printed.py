"""The next things to do, as the first lines of the bench copy: steps that are ready, then readings and looks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from survey.build_order.printed import StepLine
from survey.document.sheet import Line
from survey.today.next_things import NextThing

MOST = 10
STEPS = 5
"""Steps of the build that are printed when there are enough other things to do (judgement)."""

_HEADS = {"place": "Say what it shows:", "read": "Measure:", "look": "Look over:", "search": "Look for:"}


def make_next_lines(ready: Sequence[StepLine], things: Iterable[NextThing]) -> tuple[Line, ...]:
    """At most ten lines. Tests that safety parts need are left out: the bench copy prints them beside these lines."""
    rest = [_thing_line(thing) for thing in things if thing.doing in _HEADS]
    steps = [_step_line(step) for step in ready[: max(STEPS, MOST - len(rest))]]
    return tuple([*steps, *rest][:MOST])


def _step_line(step: StepLine) -> Line:
    return Line(f"{step.label}.", tick=True, aside=f"Caution: {step.caution}" if step.caution else "")


def _thing_line(thing: NextThing) -> Line:
    photos = f", {thing.count} photos" if thing.count > 1 else ""
    return Line(f"{thing.label}{photos}.", head=_HEADS[thing.doing], tick=True)
