"""Trial fits: how two parts went together, and how far the loose build of each assembly has got.

A joint is expected where a component sits inside another, or where the joints of the kind say so
(``survey/data/joints.csv``). A trial fit is of two parts; the latest of a pair is the one that counts.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from survey.model.fits import FIT_WORDS, Fit
from survey.model.schedule import Component
from survey.schedule.gaps import Count

JointState = Literal["goes", "packing", "does-not", "not-tried", "waits"]

JOINT_WORDS: dict[JointState, str] = {
    "goes": FIT_WORDS["goes"],
    "packing": FIT_WORDS["packing"],
    "does-not": FIT_WORDS["does-not"],
    "not-tried": "Never tried",
    "waits": "A part of it is not here",
}

# Whether these are parts of their own or of one piece with what carries them differs from machine to machine, or they
# are no thing that is fitted (judgement): no joint is expected of them.
OF_ONE_PIECE = frozenset(("number", "paper", "lug"))

_WORST_FIRST: tuple[JointState, ...] = ("does-not", "packing", "goes")


@dataclass(frozen=True, slots=True)
class Joint:
    """Two components that go together: ``takes`` takes ``goes_in``. ``because``: what the trial proves; ``source``: who
    says so.
    """

    takes: str
    goes_in: str
    because: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class JointProgress:
    """How one expected joint stands. ``untried``: parts here that were not put to it; ``fits``: those that count."""

    joint: Joint
    takes: Component
    goes_in: Component
    state: JointState
    fits: tuple[Fit, ...] = ()
    untried: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the loose build of an assembly has got: its positions, and its joints by how they stand."""

    assembly: str
    positions: Count
    joints: tuple[JointProgress, ...] = ()
    counts: Mapping[JointState, int] = field(default_factory=dict)

    @property
    def tried(self) -> int:
        """Joints of which every part here was tried."""
        return len(self.joints) - self.counts.get("not-tried", 0) - self.counts.get("waits", 0)


def latest_of_pairs(fits: Iterable[Fit]) -> tuple[Fit, ...]:
    """Of every pair of parts the latest trial, in the order of the trials."""
    latest = {fit.pair: fit for fit in sorted(fits, key=lambda fit: fit.id)}
    return tuple(sorted(latest.values(), key=lambda fit: fit.id))


def list_expected_joints(schedule: Iterable[Component], said: Iterable[Joint]) -> tuple[Joint, ...]:
    """The joints of a schedule: what sits inside something goes in it, and those said, each once.

    A joint that names what the schedule has not got is left out.
    """
    known = {one.id: one for one in schedule}
    inside = (
        Joint(one.inside, one.id, "It sits inside it.", "the schedule")
        for one in known.values()
        if one.inside in known and one.inside is not None and one.part_class not in OF_ONE_PIECE
    )
    found = {(joint.takes, joint.goes_in): joint for joint in (*said, *inside)}
    return tuple(joint for (takes, goes_in), joint in found.items() if takes in known and goes_in in known)


def assess_joints(
    schedule: Iterable[Component],
    joints: Iterable[Joint],
    answering: Mapping[str, Sequence[int]],
    fits: Iterable[Fit],
    not_fitted: Iterable[str] = (),
) -> tuple[JointProgress, ...]:
    """How every expected joint stands, in the order of the joints.

    Args:
        answering: by component, the parts that answer to it.
        not_fitted: components that this machine has not got; a joint of theirs is none.

    A joint is tried once each of its parts here was tried with some part of the other side: it then stands as the worst
    of those trials does. One that does not go is told even while others are untried.
    """
    known, gone = {one.id: one for one in schedule}, set(not_fitted)
    partners: defaultdict[int, list[Fit]] = defaultdict(list)
    for fit in latest_of_pairs(fits):
        for number in fit.pair:
            partners[number].append(fit)
    return tuple(
        _stands(joint, known, answering, partners)
        for joint in joints
        if joint.takes not in gone and joint.goes_in not in gone
    )


def _stands(
    joint: Joint,
    known: Mapping[str, Component],
    answering: Mapping[str, Sequence[int]],
    partners: Mapping[int, Sequence[Fit]],
) -> JointProgress:
    takers, goers = (list(answering.get(name, ())) for name in (joint.takes, joint.goes_in))
    takes, goes_in = known[joint.takes], known[joint.goes_in]
    if not takers or not goers:
        return JointProgress(joint, takes, goes_in, "waits")
    trials = {
        number: [fit for fit in partners.get(number, ()) if fit.result != "not-tried" and fit.pair & set(takers)]
        for number in goers
    }
    tried = tuple({fit.id: fit for fits in trials.values() for fit in fits}.values())
    untried = tuple(number for number in goers if not trials[number])
    worst: JointState = next(
        (result for result in _WORST_FIRST if any(fit.result == result for fit in tried)), "not-tried"
    )
    state: JointState = worst if not untried or worst == "does-not" else "not-tried"
    return JointProgress(joint, takes, goes_in, state, tried, untried)


def count_progress(counts: Mapping[str, Count], stands: Iterable[JointProgress]) -> tuple[Progress, ...]:
    """How far each assembly has got, in the order of ``counts``; a joint belongs to what goes in."""
    piles: defaultdict[str, list[JointProgress]] = defaultdict(list)
    for one in stands:
        piles[one.goes_in.assembly].append(one)
    found = []
    for assembly, positions in counts.items():
        pile = tuple(piles[assembly])
        tally: dict[JointState, int] = {}
        for one in pile:
            tally[one.state] = tally.get(one.state, 0) + 1
        found.append(Progress(assembly, positions, pile, tally))
    return tuple(found)


def describe_progress(one: Progress) -> str:
    """``4 of 23 positions filled. Of 17 joints 2 go together, 1 goes with packing, 3 were never tried, ...``."""
    filled = f"{one.positions.here} of {one.positions.asked} positions filled."
    if not one.joints:
        return f"{filled} No joint is expected within it."
    told = [(many, _COUNTED[state][many != 1]) for state in _COUNTED if (many := one.counts.get(state, 0))]
    if len(told) == 1:
        (many, words), *_ = told
        return f"{filled} {'Its one joint' if many == 1 else f'All {many} joints'} {words}."
    return f"{filled} Of {len(one.joints)} joints {', '.join(f'{many} {words}' for many, words in told)}."


_COUNTED: dict[JointState, tuple[str, str]] = {
    "goes": ("goes together", "go together"),
    "packing": ("goes with packing", "go with packing"),
    "does-not": ("does not go", "do not go"),
    "not-tried": ("was never tried", "were never tried"),
    "waits": ("waits for a part", "wait for a part"),
}
