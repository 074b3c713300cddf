"""Trial fits: how two parts went together, and how far the loose build of each assembly has got.

A joint is expected if a component is inside another, or if ``survey/data/joints.csv`` has it for the kind of machine.
A trial fit is of two parts; the latest of a pair is the one that counts.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from survey.model.fits import FIT_WORDS, Fit
from survey.model.schedule import Component
from survey.schedule.gaps import PositionCount

JointState = Literal["goes", "packing", "does-not", "not-tried", "waits"]

JOINT_WORDS: dict[JointState, str] = {
    "goes": FIT_WORDS["goes"],
    "packing": FIT_WORDS["packing"],
    "does-not": FIT_WORDS["does-not"],
    "not-tried": "Never tried",
    "waits": "A part of it is not here",
}

# Classes for which no joint is expected (judgement): on some machines they are one piece with what carries them, or
# they are not fitted at all.
OF_ONE_PIECE = frozenset(("number", "paper", "lug"))

_WORST_FIRST: tuple[JointState, ...] = ("does-not", "packing", "goes")

# The words of a sentence that counts joints: for one, for more.
_COUNT_WORDS: dict[JointState, tuple[str, str]] = {
    "goes": ("goes together", "go together"),
    "packing": ("goes with packing", "go with packing"),
    "does-not": ("does not go", "do not go"),
    "not-tried": ("was never tried", "were never tried"),
    "waits": ("waits for a part", "wait for a part"),
}


@dataclass(frozen=True, slots=True)
class Joint:
    """Two components that go together: ``goes_in`` goes into ``takes``. ``because``: why it is tried; ``source``: who
    says so.
    """

    takes: str
    goes_in: str
    because: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class JointProgress:
    """The state of one expected joint. ``untried``: parts here without a trial; ``fits``: the trials that count."""

    joint: Joint
    takes: Component
    goes_in: Component
    state: JointState
    fits: tuple[Fit, ...] = ()
    untried: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the loose build of an assembly is: its positions, its joints, and how many joints have each state."""

    assembly: str
    positions: PositionCount
    joints: tuple[JointProgress, ...] = ()
    counts: Mapping[JointState, int] = field(default_factory=dict)

    @property
    def tried(self) -> int:
        """How many joints have a trial for every part here."""
        return len(self.joints) - self.counts.get("not-tried", 0) - self.counts.get("waits", 0)


def select_latest_fits(fits: Iterable[Fit]) -> tuple[Fit, ...]:
    """The latest trial of every pair of parts, in the order of the trials."""
    latest = {fit.pair: fit for fit in sorted(fits, key=lambda fit: fit.id)}
    return tuple(sorted(latest.values(), key=lambda fit: fit.id))


def list_expected_joints(schedule: Iterable[Component], joints: Iterable[Joint]) -> tuple[Joint, ...]:
    """The joints expected of a schedule, each once: those of the data, then every component inside another.

    A joint with a component that the schedule does not have is left out.
    """
    by_id = {component.id: component for component in schedule}
    inside = (
        Joint(component.inside, component.id, "It sits inside it.", "the schedule")
        for component in by_id.values()
        if component.inside in by_id and component.inside is not None and component.part_class not in OF_ONE_PIECE
    )
    expected = {(joint.takes, joint.goes_in): joint for joint in (*joints, *inside)}
    return tuple(joint for (takes, goes_in), joint in expected.items() if takes in by_id and goes_in in by_id)


def assess_joints(
    schedule: Iterable[Component],
    joints: Iterable[Joint],
    answering: Mapping[str, Sequence[int]],
    fits: Iterable[Fit],
    not_fitted: Iterable[str] = (),
) -> tuple[JointProgress, ...]:
    """The state of every expected joint, in the order of the joints.

    Args:
        answering: by component, the numbers of the parts that answer to it.
        not_fitted: components that this machine does not have; their joints are left out.

    A joint is tried once each of its parts here was tried with a part of the other side; its state is then that of the
    worst trial. A trial that does not go gives the state even while other parts are untried.
    """
    by_id, not_fitted_ids = {component.id: component for component in schedule}, set(not_fitted)
    partners: defaultdict[int, list[Fit]] = defaultdict(list)
    for fit in select_latest_fits(fits):
        for number in fit.pair:
            partners[number].append(fit)
    return tuple(
        _assess_joint(joint, by_id, answering, partners)
        for joint in joints
        if joint.takes not in not_fitted_ids and joint.goes_in not in not_fitted_ids
    )


def _assess_joint(
    joint: Joint,
    by_id: Mapping[str, Component],
    answering: Mapping[str, Sequence[int]],
    partners: Mapping[int, Sequence[Fit]],
) -> JointProgress:
    taking, entering = (list(answering.get(name, ())) for name in (joint.takes, joint.goes_in))
    takes, goes_in = by_id[joint.takes], by_id[joint.goes_in]
    if not taking or not entering:
        return JointProgress(joint, takes, goes_in, "waits")
    trials = {
        number: [fit for fit in partners.get(number, ()) if fit.result != "not-tried" and fit.pair & set(taking)]
        for number in entering
    }
    tried = tuple({fit.id: fit for fits in trials.values() for fit in fits}.values())
    untried = tuple(number for number in entering if not trials[number])
    worst: JointState = next(
        (result for result in _WORST_FIRST if any(fit.result == result for fit in tried)), "not-tried"
    )
    state: JointState = worst if not untried or worst == "does-not" else "not-tried"
    return JointProgress(joint, takes, goes_in, state, tried, untried)


def count_progress(counts: Mapping[str, PositionCount], joints: Iterable[JointProgress]) -> tuple[Progress, ...]:
    """How far each assembly has got, in the order of ``counts``; a joint counts for the assembly of what goes in."""
    by_assembly: defaultdict[str, list[JointProgress]] = defaultdict(list)
    for joint in joints:
        by_assembly[joint.goes_in.assembly].append(joint)
    progress = []
    for assembly, positions in counts.items():
        assembly_joints = tuple(by_assembly[assembly])
        tally: dict[JointState, int] = {}
        for joint in assembly_joints:
            tally[joint.state] = tally.get(joint.state, 0) + 1
        progress.append(Progress(assembly, positions, assembly_joints, tally))
    return tuple(progress)


def describe_progress(progress: Progress) -> str:
    """``4 of 23 positions filled. Of 17 joints 2 go together, 1 goes with packing, 3 were never tried, ...``."""
    filled = f"{progress.positions.here} of {progress.positions.asked} positions filled."
    if not progress.joints:
        return f"{filled} No joint is expected within it."
    counts = [
        (many, _COUNT_WORDS[state][many != 1]) for state in _COUNT_WORDS if (many := progress.counts.get(state, 0))
    ]
    if len(counts) == 1:
        (many, words), *_ = counts
        return f"{filled} {'Its one joint' if many == 1 else f'All {many} joints'} {words}."
    return f"{filled} Of {len(progress.joints)} joints {', '.join(f'{many} {words}' for many, words in counts)}."
