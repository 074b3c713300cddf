"""The order of the build, thought alone.

Checked from outside: order and circles against networkx on random graphs; what waits against a search by brute force.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import replace

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.build_order.blocks import rank_blocks
from survey.build_order.lacks import Lack, find_lacks
from survey.build_order.plan import BuildFacts, Plan, describe_loop, find_loops, make_plan, sort_steps
from survey.model.build_order import BeforePair, BuildStep
from survey.model.grading import Verdict
from survey.model.parts import GradedPart, OwnGrade, Part
from survey.model.schedule import Component, PositionNote
from survey.model.wants import Want
from survey.schedule.gaps import InHand, compute_positions

STEPS = 12
PARTS = 6

edges = st.lists(st.tuples(st.integers(0, STEPS - 1), st.integers(0, STEPS - 1)), max_size=30)
forward = edges.map(lambda found: [(min(pair), max(pair)) for pair in found if pair[0] != pair[1]])
needs = st.lists(st.sets(st.integers(0, PARTS - 1), max_size=3), min_size=STEPS, max_size=STEPS)


def component(name: str, duty: str = "running", often_missing: bool = False, inside: str | None = None) -> Component:
    return Component(
        name, f"Component {name}", "Engine", inside, 1, duty, "gear", "steel",  # type: ignore[arg-type]
        often_missing=often_missing,
    )  # fmt: skip


def steps(wanted: Iterable[Iterable[int]] = ((),) * STEPS) -> list[BuildStep]:
    return [BuildStep(f"s{n}", f"Step {n}", "build", tuple(f"c{m}" for m in one)) for n, one in enumerate(wanted)]


def pairs(found: Iterable[tuple[int, int]], hard: bool = True) -> list[BeforePair]:
    return [BeforePair(f"p{n}", f"s{a}", f"s{b}", "because", hard) for n, (a, b) in enumerate(dict.fromkeys(found))]


def lacking(*names: str, state: str = "missing") -> dict[str, Lack]:
    return {name: Lack(component(name), state) for name in names}  # type: ignore[arg-type]


def ground(lacks: Mapping[str, Lack] = {}, said: Mapping[str, str] = {}) -> BuildFacts:
    return BuildFacts({f"c{n}" for n in range(PARTS)}, lacks, said)  # type: ignore[arg-type]


def states(found: Plan) -> dict[str, str]:
    return {one.step.id: one.state for one in found.steps}


@given(forward)
def test_the_order_is_a_topological_one_after_networkx(found: list[tuple[int, int]]) -> None:
    """networkx 3, ``lexicographical_topological_sort``: the same ties, so the same order and no other."""
    graph = networkx.DiGraph(found)
    graph.add_nodes_from(range(STEPS))
    theirs = list(networkx.lexicographical_topological_sort(graph))
    assert [int(one.step.id[1:]) for one in make_plan(steps(), pairs(found), ground()).steps] == theirs


@given(edges)
def test_there_is_a_circle_where_networkx_finds_one_and_each_is_a_real_one(found: list[tuple[int, int]]) -> None:
    every = pairs([pair for pair in found if pair[0] != pair[1]])
    graph = networkx.DiGraph([(pair.first, pair.then) for pair in every])
    loops, kept = find_loops(every)
    assert bool(loops) == (not networkx.is_directed_acyclic_graph(graph))
    assert networkx.is_directed_acyclic_graph(networkx.DiGraph([(pair.first, pair.then) for pair in kept]))
    for loop in loops:
        assert all(one.then == next_.first for one, next_ in zip(loop.pairs, loop.pairs[1:], strict=False))
        assert loop.pairs[-1].then == loop.pairs[0].first
        assert loop.drop in loop.pairs


@given(forward, needs, st.sets(st.integers(0, PARTS - 1)), st.sets(st.integers(0, STEPS - 1), max_size=4))
def test_what_waits_is_what_a_search_by_brute_force_finds(
    found: list[tuple[int, int]], wanted: list[set[int]], gone: set[int], done: set[int]
) -> None:
    lacks = lacking(*(f"c{n}" for n in gone))
    made = make_plan(steps(wanted), pairs(found), ground(lacks, {f"s{n}": "done" for n in done}))
    after: dict[int, set[int]] = {n: {b for a, b in found if a == n} for n in range(STEPS)}

    def reached(start: int) -> set[int]:
        if start in done:
            return set()
        return {start}.union(*(reached(one) for one in after[start]))

    for block in rank_blocks(made):
        number = int(block.lack.component.id[1:])
        own = {n for n in range(STEPS) if number in wanted[n] and n not in done}
        assert set(block.direct) == {f"s{n}" for n in own}
        assert block.waiting == len(set().union(*(reached(n) for n in own)))
    asked = {f"c{m}" for n, one in enumerate(wanted) for m in one if n not in done}
    assert {block.lack.component.id for block in rank_blocks(made)} == asked & set(lacks)


@given(forward, needs, st.sets(st.integers(0, PARTS - 1)), st.integers(0, PARTS - 1))
def test_a_part_found_never_holds_up_more_than_before(
    found: list[tuple[int, int]], wanted: list[set[int]], gone: set[int], turned_up: int
) -> None:
    schedule = [component(f"c{n}", inside=f"c{n - 1}" if n % 2 else None) for n in range(PARTS)]
    notes = {f"c{n}": PositionNote(f"c{n}", "missing") for n in gone}
    here = [n for n in range(PARTS) if n not in gone and n != turned_up]

    def held_up(in_hand: list[int], said: Mapping[str, PositionNote]) -> set[str]:
        parts = [GradedPart(Part(n + 1, f"c{n}", ""), schedule[n], Verdict("reuse", None)) for n in in_hand]
        lacks = find_lacks(compute_positions(schedule, [InHand(f"c{n}") for n in in_hand], said), parts)
        made = make_plan(steps(wanted), pairs(found), ground(lacks))
        return {one.step.id for one in made.steps if one.state == "blocked"}

    before = held_up(here, notes)
    after = held_up([*here, turned_up], {name: note for name, note in notes.items() if name != f"c{turned_up}"})
    assert after <= before


def test_each_step_says_what_must_be_there_first_and_why() -> None:
    made = make_plan(steps([[0], [1], []]), [BeforePair("a", "s0", "s1", "It stands on it.")], ground(lacking("c0")))
    first, second, third = made.steps
    assert states(made) == {"s0": "blocked", "s1": "blocked", "s2": "ready"}
    assert [lack.component.id for lack in first.lacks] == ["c0"]
    assert first.held_by == ()
    assert [lack.component.id for lack in second.held_by] == ["c0"]
    assert [(need.step.id, need.pair.because, need.open) for need in second.needs] == [("s0", "It stands on it.", True)]
    assert made.next == third


def test_a_soft_pair_shapes_the_order_and_holds_nothing_up() -> None:
    made = make_plan(steps([[], [0]]), pairs([(1, 0)], hard=False), ground(lacking("c0")))
    assert [one.step.id for one in made.steps] == ["s1", "s0"]
    assert states(made) == {"s1": "blocked", "s0": "ready"}


def test_a_step_that_waits_only_for_others_comes_later_until_they_are_done() -> None:
    made = make_plan(steps([[], []]), pairs([(0, 1)]), ground())
    assert states(made) == {"s0": "ready", "s1": "later"}
    assert states(make_plan(steps([[], []]), pairs([(0, 1)]), ground(said={"s0": "done"})))["s1"] == "ready"


def test_a_step_done_waits_for_nothing_and_lets_nothing_through() -> None:
    made = make_plan(steps([[0], [], []]), pairs([(0, 1), (1, 2)]), ground(lacking("c0"), {"s1": "done"}))
    assert states(made) == {"s0": "blocked", "s1": "done", "s2": "ready"}
    assert [need.step.id for need in made.steps[1].too_early] == ["s0"]
    assert made.steps[0].too_early == ()


@pytest.mark.parametrize("how", ["not needed", "not fitted"])
def test_a_step_that_the_machine_has_not_is_left_out_and_its_order_kept(how: str) -> None:
    wanted = [[0], [1], [2]]
    had = (
        BuildFacts({"c0", "c2"}, lacking("c0")) if how == "not fitted" else ground(lacking("c0"), {"s1": "not-needed"})
    )
    made = make_plan(steps(wanted), pairs([(0, 1), (1, 2)]), had)
    assert states(made) == {"s0": "blocked", "s2": "blocked"}
    assert [lack.component.id for lack in made.steps[1].held_by] == ["c0"]
    assert made.steps[1].needs == ()
    assert [step.id for step in made.not_needed] == (["s1"] if how == "not needed" else [])


def test_a_circle_is_named_and_the_order_told_without_the_pair_to_drop() -> None:
    ring = [*pairs([(0, 1), (1, 2)]), BeforePair("own-4", "s2", "s0", "so he says", own=4)]
    made = make_plan(steps([[]] * 3), ring, ground())
    (loop,) = made.loops
    assert loop.drop.id == "own-4"
    assert {pair.id for pair in loop.pairs} == {"p0", "p1", "own-4"}
    assert [one.step.id for one in made.steps] == ["s0", "s1", "s2"]
    words = describe_loop(loop, {"s0": "cups", "s1": "fork", "s2": "wheel"})
    assert all(f"{one}, then {two}" in f"{words}, then" for one, two in [("cups", "fork"), ("fork", "wheel")])


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (BeforePair("own-1", "s0", "s1", "", own=1), BeforePair("book", "s1", "s0", "", hard=False)),
        (BeforePair("own-2", "s0", "s1", "", hard=False, own=2), BeforePair("own-3", "s1", "s0", "", own=3)),
        (BeforePair("own-3", "s0", "s1", "", own=3), BeforePair("own-2", "s1", "s0", "", own=2)),
        (BeforePair("soft", "s0", "s1", "", hard=False), BeforePair("hard", "s1", "s0", "")),
        (BeforePair("hard", "s0", "s1", ""), BeforePair("kept", "s1", "s0", "", keeps=True)),
    ],
)
def test_the_owners_pair_goes_before_the_catalogues_soft_before_hard_and_what_keeps_last(
    one: BeforePair, other: BeforePair
) -> None:
    for both in ([one, other], [other, one]):
        loops, kept = find_loops(both)
        assert loops[0].drop == one
        assert kept == [other]


def test_pairs_said_twice_are_both_out_of_a_circle() -> None:
    twice = [BeforePair("own-1", "s0", "s1", "", own=1), BeforePair("own-2", "s0", "s1", "", own=2)]
    loops, kept = find_loops([*twice, BeforePair("kept", "s1", "s0", "", keeps=True)])
    assert {loop.drop.id for loop in loops} == {"own-1", "own-2"}
    assert [pair.id for pair in kept] == ["kept"]


def test_a_pair_of_a_step_that_is_not_there_is_passed_over() -> None:
    made = make_plan(steps([[]]), [BeforePair("a", "s9", "s0", ""), BeforePair("b", "s0", "s0", "")], ground())
    assert states(made) == {"s0": "ready"}
    assert made.pairs == ()


def test_ties_go_by_phase_and_then_by_place() -> None:
    mixed = [BuildStep("z", "", "finish"), BuildStep("b", "", "build"), BuildStep("a", "", "build")]
    assert [one.step.id for one in make_plan(mixed, [], ground()).steps] == ["b", "a", "z"]
    assert sort_steps(["y", "x"], [], {"x": (0, 0), "y": (0, 1)}) == ["x", "y"]


def graded(
    number: int, of: Component, outcome: str = "reuse", box: str = "", quantity: int = 1
) -> tuple[GradedPart, InHand]:
    waits = outcome in ("examine-first", "take-a-reading", "not-looked-at")
    verdict = Verdict(None, outcome) if waits else Verdict(outcome, None)  # type: ignore[arg-type]
    part = Part(number, of.id, "", quantity, box=box)
    return GradedPart(part, of, verdict), InHand(of.id, quantity)


@pytest.mark.parametrize(
    ("outcome", "box", "words"),
    [
        ("reuse", "box 3", None), ("repair", "", None), ("take-a-reading", "", None), ("not-looked-at", "", None),
        ("replace", "", "here, to be replaced"), ("examine-first", "", "here, to be examined first"),
        ("reuse", "With the plater", "away: With the plater"), ("repair", "in the post", "away: in the post"),
        ("reuse", "lent to Wren", "away: lent to Wren"), ("reuse", "within reach", None),
    ],
)  # fmt: skip
def test_what_is_here_and_yet_of_no_use(outcome: str, box: str, words: str | None) -> None:
    """Judgement: what is to be replaced, first examined or away holds its step up; what owes a look is tried dry."""
    of = component("c0")
    part, hand = graded(1, of, outcome, box)
    found = find_lacks(compute_positions([of], [hand], {}), [part])
    assert (found["c0"].words if found else None) == words


def test_a_part_to_be_examined_is_tried_dry_and_holds_up_what_needs_it_examined() -> None:
    """Common practice, no source: filler and paint wait for the crack test, a trial under no load does not."""
    two = [BuildStep("tried", "", "build", ("c0",)), BuildStep("painted", "", "finish", ("c0",), examined=True)]
    assert states(make_plan(two, [], ground(lacking("c0", state="examine-first")))) == {
        "tried": "ready", "painted": "blocked",
    }  # fmt: skip
    assert set(states(make_plan(two, [], ground(lacking("c0")))).values()) == {"blocked"}


def test_one_of_a_pair_away_is_one_too_few_but_a_spare_stands_in() -> None:
    of = Component("c0", "Fork spring", "Front fork", None, 2, "safety", "spring", "spring-steel")
    two = [graded(1, of), graded(2, of, box="with the tester")]
    assert (
        find_lacks(compute_positions([of], [hand for _, hand in two], {}), [one for one, _ in two])["c0"].state
        == "away"
    )
    three = [*two, graded(3, of)]
    assert find_lacks(compute_positions([of], [hand for _, hand in three], {}), [one for one, _ in three]) == {}


def test_what_is_promised_lacks_as_before_and_says_so() -> None:
    """Common practice, no source: promised never counts as had."""
    gone, plain = component("c0"), component("c1")
    notes = {name: PositionNote(name, "missing") for name in ("c0", "c1")}
    wants = [Want(1, "c0", state="promised", who="Wren"), Want(2, "c1", state="wanted"), Want(3, None, "jack")]
    found = find_lacks(compute_positions([gone, plain], [], notes), [], wants)
    assert {name: lack.words for name, lack in found.items()} == {"c0": "missing: promised (Wren)", "c1": "missing"}


def test_the_owners_own_grade_decides_what_is_got_and_lifts_no_examination() -> None:
    of = component("c0")
    for outcome, own, words in [
        ("reuse", "replace", "replace"), ("replace", "repair", None), ("examine-first", "reuse", "examine-first"),
    ]:  # fmt: skip
        part, hand = graded(1, of, outcome)
        mine = replace(part, own_grade=OwnGrade(1, own, "seen"))  # type: ignore[arg-type]
        found = find_lacks(compute_positions([of], [hand], {}), [mine])
        assert (found["c0"].state if found else None) == words


def test_what_goes_with_a_missing_holder_is_got_with_it() -> None:
    tank, cap = component("tank"), component("cap", inside="tank")
    notes = {"tank": PositionNote("tank", "missing")}
    found = find_lacks(compute_positions([tank, cap], [], notes), [])
    assert {name: lack.component.id for name, lack in found.items()} == {"tank": "tank", "cap": "tank"}


def test_never_on_this_machine_lacks_nothing() -> None:
    one = component("c0")
    assert find_lacks(compute_positions([one], [], {"c0": PositionNote("c0", "not-fitted")}), []) == {}


def test_the_score_shows_its_arithmetic() -> None:
    """Weights after the trade's own order of buying, a judgement: safety 3, running and paperwork 2, cosmetic 1."""
    lacks = {
        "c0": Lack(component("c0", "safety", often_missing=True), "missing"),
        "c1": Lack(component("c1", "cosmetic"), "away", "with the plater"),
        "c2": Lack(component("c2", "safety"), "not-looked"),
    }
    made = make_plan(steps([[0], [1], [2], []]), pairs([(0, 3), (1, 3), (2, 3)]), ground(lacks))
    first, second, last = rank_blocks(made)
    assert first.arithmetic == "2 steps × 3 (safety) × 2 (often missing) = 12"
    assert second.arithmetic == "2 steps × 1 (cosmetic) × 1 (not often missing) = 2"
    assert (last.lack.component.id, last.known, last.score) == ("c2", False, 6)
    assert first.direct == ("s0",)


@pytest.mark.bench
def test_five_hundred_components_and_three_hundred_pairs_plan_in_under_200_ms() -> None:
    """The least of three runs, so that a busy machine does not fail it; it takes some 10 ms."""
    many = [BuildStep(f"s{n}", "", "build", (f"c{2 * n}", f"c{2 * n + 1}")) for n in range(250)]
    made = [BeforePair(f"p{n}", f"s{n % 249}", f"s{min(249, n % 249 + 1 + n % 7)}", "") for n in range(300)]
    lacks = lacking(*(f"c{n}" for n in range(0, 500, 5)))
    took = []
    for _ in range(3):
        start = time.perf_counter()
        found = rank_blocks(make_plan(many, made, BuildFacts({f"c{n}" for n in range(500)}, lacks)))
        took.append(time.perf_counter() - start)
    assert found[0].waiting > 200
    assert min(took) < 0.2
