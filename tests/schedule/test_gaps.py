"""Gaps: what is missing, and inside what.

Facts of the trade checked here are common practice, no source: a sub-part gone from inside a present assembly
is a gap inside a present part; quantities count; "not looked for" never counts as present.
"""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from survey.model.schedule import Component, PositionNote
from survey.schedule.gaps import (
    InHand,
    PositionCount,
    compute_positions,
    count_by_assembly,
    find_gaps,
    select_stopping_gaps,
)


def component(id: str, inside: str | None = None, quantity: int = 1, duty: str = "running") -> Component:
    return Component(id, f"Component {id}", "Fuel", inside, quantity, duty, "carburettor", "zinc")  # type: ignore[arg-type]


CARBURETTOR = [component("C"), component("C-float", "C"), component("C-needle", "C"), component("C-jet", "C")]


def states(
    schedule: list[Component], in_hand: list[InHand], notes: dict[str, PositionNote] | None = None
) -> dict[str, str]:
    return {standing.component.id: standing.state for standing in compute_positions(schedule, in_hand, notes or {})}


def said(**words: str) -> dict[str, PositionNote]:
    return {id.replace("_", "-"): PositionNote(id.replace("_", "-"), state) for id, state in words.items()}  # type: ignore[arg-type]


def test_a_carburettor_that_lost_its_float_is_a_present_part_with_gaps_inside() -> None:
    """Common practice, no source: the assembly does not hide what is gone from inside it."""
    found = compute_positions(CARBURETTOR, [InHand("C"), InHand("C-jet")], said(C_float="missing", C_needle="missing"))
    open_ = {gap.component.id: gap for gap in find_gaps(found)}
    assert set(open_) == {"C-float", "C-needle"}
    assert all(gap.inside_present and gap.state == "missing" for gap in open_.values())


def test_a_present_assembly_does_not_vouch_for_what_is_inside_it() -> None:
    assert states(CARBURETTOR, [InHand("C")]) == {
        "C": "here", "C-float": "not-looked", "C-needle": "not-looked", "C-jet": "not-looked",
    }  # fmt: skip


def test_what_sits_in_a_missing_assembly_is_missing_through_it() -> None:
    found = compute_positions(CARBURETTOR, [], said(C="missing"))
    assert {gap.component.id: (gap.state, gap.through) for gap in find_gaps(found)} == {
        "C": ("missing", None),
        "C-float": ("missing", "C"),
        "C-needle": ("missing", "C"),
        "C-jet": ("missing", "C"),
    }


def test_a_float_found_loose_fills_its_place_though_the_carburettor_is_missing() -> None:
    assert states(CARBURETTOR, [InHand("C-float")], said(C="missing"))["C-float"] == "here"


def test_an_unopened_assembly_hides_its_inside() -> None:
    assert states(CARBURETTOR, [], said(C="unseen"))["C-float"] == "unseen"


def test_what_is_not_fitted_is_no_gap_and_neither_is_its_inside() -> None:
    found = compute_positions(CARBURETTOR, [], said(C="not-fitted"))
    assert find_gaps(found) == ()
    assert count_by_assembly(found)["Fuel"] == PositionCount()


def test_thirty_three_spokes_of_thirty_six_is_short() -> None:
    """Common practice, no source: quantities count."""
    spokes = [component("S", quantity=36)]
    (gap,) = find_gaps(compute_positions(spokes, [InHand("S", 30), InHand("S", 3)], {}))
    assert (gap.state, gap.found, gap.component.quantity) == ("short", 33, 36)
    assert find_gaps(compute_positions(spokes, [InHand("S", 36)], {})) == ()


def test_a_part_from_another_machine_does_not_fill_the_position() -> None:
    """Common practice, no source."""
    lid = [component("L")]
    assert states(lid, [InHand("L", wrong_step=4)]) == {"L": "wrong"}
    assert states(lid, [InHand("L", wrong_step=1)]) == {"L": "here"}
    assert states(lid, [InHand("L", wrong_step=4), InHand("L")]) == {"L": "here"}
    assert states(lid, [InHand("L")], said(L="wrong")) == {"L": "wrong"}


def test_not_looked_for_is_never_present() -> None:
    (gap,) = find_gaps(compute_positions([component("X")], [], said(X="not-looked")))
    assert (gap.state, gap.found) == ("not-looked", 0)


def test_what_stops_leaves_out_the_merely_unseen_and_what_goes_with_its_holder() -> None:
    schedule = [*CARBURETTOR, component("B", duty="cosmetic"), component("U")]
    found = find_gaps(compute_positions(schedule, [], said(C="missing", B="missing", U="unseen")))
    assert [gap.component.id for gap in select_stopping_gaps(found)] == ["C"]


def test_counts_never_round_to_a_false_nought_or_hundred() -> None:
    assert PositionCount(asked=1000, here=1).percent_here == 1
    assert PositionCount(asked=1000, here=999).percent_here == 99
    assert PositionCount(asked=3, here=3).percent_here == 100
    assert PositionCount(asked=3).percent_here == 0
    assert PositionCount().percent_here == 0


@st.composite
def heaps(draw: st.DrawFn) -> tuple[list[Component], list[InHand], dict[str, PositionNote]]:
    size = draw(st.integers(1, 8))
    ids = [f"c{n}" for n in range(size)]
    holders = [draw(st.sampled_from([None, *ids[:n]])) for n in range(size)]
    schedule = [component(i, h, draw(st.integers(1, 4))) for i, h in zip(ids, holders, strict=True)]
    hand = draw(st.lists(st.builds(InHand, st.sampled_from(ids), st.integers(1, 4), st.integers(0, 4)), max_size=10))
    states = st.sampled_from(["missing", "wrong", "unseen", "not-fitted", "not-looked"])
    notes = draw(st.dictionaries(st.sampled_from(ids), states, max_size=5))
    return schedule, hand, said(**notes)


@given(heaps())
def test_every_position_is_answered_once_and_the_counts_add_up(
    heap: tuple[list[Component], list[InHand], dict[str, PositionNote]],
) -> None:
    found = compute_positions(*heap)
    assert [standing.component for standing in found] == heap[0]
    total = sum(count_by_assembly(found).values(), PositionCount())
    assert total.asked == total.here + total.missing + total.wrong + total.short + total.unseen + total.not_looked
    assert total.asked - total.here == len(find_gaps(found))


@given(heaps(), st.data())
def test_finding_a_right_part_never_opens_a_gap_in_its_own_position(
    heap: tuple[list[Component], list[InHand], dict[str, PositionNote]], data: st.DataObject
) -> None:
    schedule, hand, notes = heap
    lucky = data.draw(st.sampled_from(schedule))
    before = states(schedule, hand, notes)[lucky.id]
    after = states(schedule, [*hand, InHand(lucky.id, lucky.quantity)], notes)[lucky.id]
    assert after == "here" or (after == "wrong" and notes[lucky.id].state == "wrong")
    assert not (before == "here" and after != "here")
