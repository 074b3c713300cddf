"""The next things to do as they head the bench copy: what can be built now, and what is to be read or looked for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from survey.build_order.printed import StepLine
from survey.document.sheet import Line
from survey.today.next_things import NextThing

MOST = 10
STEPS = 5
"""Steps of the build that are named when there is enough else to do (judgement)."""

_HEADS = {"place": "Say what it shows:", "read": "Measure:", "look": "Look over:", "search": "Look for:"}


def next_lines(ready: Sequence[StepLine], things: Iterable[NextThing]) -> tuple[Line, ...]:
    """Ten things at most. Tests owed by safety parts are left out: they stand beside these."""
    rest = [_thing(one) for one in things if one.doing in _HEADS]
    steps = [_step(one) for one in ready[: max(STEPS, MOST - len(rest))]]
    return tuple([*steps, *rest][:MOST])


def _step(one: StepLine) -> Line:
    return Line(f"{one.label}.", tick=True, aside=f"Caution: {one.caution}" if one.caution else "")


def _thing(one: NextThing) -> Line:
    many = f", {one.count} photos" if one.count > 1 else ""
    return Line(f"{one.label}{many}.", head=_HEADS[one.doing], tick=True)
