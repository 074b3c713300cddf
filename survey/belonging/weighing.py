"""Does a part belong to this machine: evidence for and against, weighed, and what would settle it.

The kinds of evidence, their weights and the sums are product data (``survey/data/belonging.toml``) and judgement. The
answer is about where a part came from, never about whether it is sound.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from survey.build_order.lacks import Lack
from survey.errors import BadValue
from survey.model.belonging import Evidence
from survey.model.parts import GradedPart
from survey.model.schedule import Component

Side = Literal["for", "against", "period"]
Answer = Literal["belongs", "probably", "period-alternative", "unknown", "another-machine"]

SIDES: tuple[Side, ...] = ("for", "against", "period")

ANSWERS: tuple[Answer, ...] = ("belongs", "probably", "period-alternative", "unknown", "another-machine")
"""Every answer, the best first."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of evidence. ``look``: the observation it comes from. ``weight``: in points, never below nought.

    ``proves``: it is about this very machine or model. ``word``: it is only what somebody says. ``finding``, ``step``:
    a finding on the part that counts as this kind.
    """

    id: str
    look: str
    side: Side
    weight: int
    label: str
    why: str
    source: str
    sure: str
    proves: bool = False
    word: bool = False
    finding: str = ""
    step: int = 0


@dataclass(frozen=True, slots=True)
class Observation:
    """Something one can look at or ask, and what to be careful of."""

    id: str
    ask: str
    careful: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """An answer. ``least``: the lowest sum that gives it; ``most``: the highest; None: no such bound."""

    id: Answer
    label: str
    about: str
    least: int | None = None
    most: int | None = None


@dataclass(frozen=True, slots=True)
class BelongingScale:
    """The whole scale: observations, kinds of evidence by id, answers by id."""

    looks: tuple[Observation, ...]
    kinds: Mapping[str, Kind]
    verdicts: Mapping[Answer, Verdict]


@dataclass(frozen=True, slots=True)
class Weighing:
    """The result of weighing a part's evidence.

    ``counted``: each kind once, in the scale's order. ``total``: the sum of all; ``seen``: the sum without what people
    say; both in points. ``settles``: an observation not made yet that could change the answer, None if none could or
    the part belongs. ``torn``: observations for which both outcomes were recorded.
    """

    counted: tuple[Kind, ...]
    total: int
    seen: int
    verdict: Verdict
    settles: Observation | None
    torn: tuple[Observation, ...]


def require_kind(scale: BelongingScale, kind: str) -> Kind:
    """The kind of that name.

    Raises:
        BadValue: there is none.
    """
    if kind not in scale.kinds:
        raise BadValue(f"{kind!r} is no kind of evidence.", "Say one of: " + ", ".join(scale.kinds) + ".")
    return scale.kinds[kind]


def list_kinds_present(
    scale: BelongingScale, recorded: Iterable[Evidence], findings: Iterable[tuple[str, int]]
) -> frozenset[str]:
    """The kinds of evidence a part has: those recorded, and those that its findings (kind, step) count as."""
    present = set(findings)
    implied = {kind.id for kind in scale.kinds.values() if kind.finding and (kind.finding, kind.step) in present}
    return frozenset(implied | {evidence.kind for evidence in recorded})


def weigh_evidence(scale: BelongingScale, kinds: Collection[str]) -> Weighing:
    """Weigh those kinds of evidence. A kind counts once, however often it was recorded.

    Kinds that the scale does not know (from a later Teachest) count nothing.
    """
    counted = tuple(kind for name, kind in scale.kinds.items() if name in kinds)
    verdict = scale.verdicts[_choose_answer(scale, counted)]
    made = {kind.look for kind in counted}
    return Weighing(
        counted=counted,
        total=sum(map(_signed_weight, counted)),
        seen=sum(_signed_weight(kind) for kind in counted if not kind.word),
        verdict=verdict,
        settles=None if verdict.id == "belongs" else _find_settling_observation(scale, counted, made),
        torn=tuple(look for look in scale.looks if _has_both_outcomes(look, counted)),
    )


def describe_sum(weighing: Weighing) -> str:
    """The sum with its terms: ``6 (its number …) − 2 (another colour lies beneath) = 4``; empty without evidence."""
    terms = [
        f"{'+' if kind.side == 'for' else '−'} {kind.weight} ({kind.label[:1].lower()}{kind.label[1:]})"
        for kind in weighing.counted
        if kind.side != "period"
    ]
    if not terms:
        return ""
    total = f"−{-weighing.total}" if weighing.total < 0 else str(weighing.total)
    return f"{' '.join(terms).removeprefix('+ ')} = {total}"


def find_conflicts(component: Component | None, answering: Iterable[tuple[GradedPart, Weighing]]) -> tuple[str, ...]:
    """Sentences about a position that more parts answer to than it holds; parts of other machines do not count."""
    if component is None:
        return ()
    here = [graded for graded, weighing in answering if weighing.verdict.id != "another-machine"]
    quantity = sum(graded.part.quantity for graded in here)
    if len(here) < 2 or quantity <= component.quantity:
        return ()
    numbers = [str(graded.part.id) for graded in here]
    part_list = f"parts {', '.join(numbers[:-1])} and {numbers[-1]}"
    has = "one position" if component.quantity == 1 else f"{component.quantity} positions"
    return (f"{component.label}: {quantity} are here and the machine has {has} ({part_list}).",)


def find_reason_to_hold(positions: Iterable[Component], lacks: Mapping[str, Lack], still: Mapping[str, int]) -> str:
    """Why a part of another machine is kept for now; empty if it can be passed on.

    Args:
        positions: the component it answers to and the component it is kept as a pattern for.
        lacks: by component, what is not in hand. What is only away comes back, and needs no pattern.
        still: by component, how many parts of this machine answer to it and need no replacement.
    """
    for component in positions:
        lack = lacks.get(component.id)
        if lack is not None and lack.state != "away":
            return f"a pattern for {component.label} ({lack.words})"
        if still.get(component.id, 0) < component.quantity and lack is None:
            return f"a pattern for {component.label}: no other here is of use"
    return ""


def needs_no_replacement(graded: GradedPart) -> bool:
    """Whether a part needs no replacement: it is not graded so, and needs no examination that may yet say so."""
    grade = graded.own_grade.grade if graded.own_grade else graded.verdict.grade
    return grade != "replace" and graded.verdict.waiting != "examine-first"


def _signed_weight(kind: Kind) -> int:
    return {"for": kind.weight, "against": -kind.weight, "period": 0}[kind.side]


def _choose_answer(scale: BelongingScale, counted: Collection[Kind]) -> Answer:
    seen = sum(_signed_weight(kind) for kind in counted if not kind.word)
    total = sum(map(_signed_weight, counted))
    belongs, probably, another = (scale.verdicts[name] for name in ("belongs", "probably", "another-machine"))
    if belongs.least is not None and seen >= belongs.least and any(kind.proves for kind in counted):
        return "belongs"
    period = any(kind.side == "period" for kind in counted)
    if another.most is not None and seen <= another.most:
        return "period-alternative" if period else "another-machine"
    if probably.least is not None and total >= probably.least:
        return "probably"
    return "period-alternative" if period else "unknown"


def _find_settling_observation(
    scale: BelongingScale, counted: tuple[Kind, ...], made: Collection[str]
) -> Observation | None:
    """The strongest observation not made yet that could change the answer; among equals the first."""
    answer_now = _choose_answer(scale, counted)
    strength = {
        look.id: max((kind.weight for kind in scale.kinds.values() if kind.look == look.id and
                      _choose_answer(scale, (*counted, kind)) != answer_now), default=-1)
        for look in scale.looks if look.id not in made
    }  # fmt: skip
    best = max(strength.values(), default=-1)
    return None if best < 0 else next(look for look in scale.looks if strength.get(look.id) == best)


def _has_both_outcomes(look: Observation, counted: Iterable[Kind]) -> bool:
    return {"for", "against"} <= {kind.side for kind in counted if kind.look == look.id}
