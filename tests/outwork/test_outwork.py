"""Work sent away: trades in their order, what is looked at before a batch leaves and when it is back, what is away.

Facts of the trade here (tank before heat, weld before machine before blast before plate and paint before spokes; both
sides photographed; counted out and counted back; plate adds thickness) are common practice, no source. The bake:
ASTM B850 and ISO 9588. Vapour: HSE INDG314 (rev1). The inch is 25.4 mm exactly (agreement of 1 July 1959).
"""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from survey.build_order.lacks import find_lacks
from survey.build_order.verbs import list_blocks, set_step_state
from survey.data_files import read_data_text
from survey.errors import BadValue, BrokenKnowledge, NoSuchThing
from survey.grading.data import load_rulebook
from survey.history.bin_verbs import put_back
from survey.history.verbs import list_acts, list_events, redo_act, undo_act
from survey.machine.verbs import add_number
from survey.model.grading import Grade, Outcome, Ruling, Verdict, Waiting
from survey.model.outwork import Batch, BatchItem
from survey.model.parts import Finding, GradedPart, Look, OwnGrade, Part
from survey.model.price import Price
from survey.model.schedule import Component
from survey.outwork.batches import (
    Away,
    describe_agreed_price,
    describe_batches,
    find_away,
    find_crack_tested,
    find_parts_to_examine,
)
from survey.outwork.checks import (
    DepartureCheck,
    DepartureFacts,
    check_before_departure,
    check_returns,
    describe_size_change,
    select_open_checks,
)
from survey.outwork.data import load_trades, parse_trades
from survey.outwork.suggestions import find_earlier_trade, suggest_for_trades
from survey.outwork.verbs import (
    add_to_batch,
    change_batch,
    change_item,
    close_batch,
    describe_outwork,
    get_batch,
    list_away,
    list_batches,
    list_departure_checks,
    list_overdue_batches,
    list_parts_to_examine,
    list_returns,
    make_batch,
    receive_item,
    remove_batch,
    remove_item,
    send_batch,
    suggest_batches,
)
from survey.parts.finding_verbs import add_finding, add_reading, list_reading_kinds
from survey.parts.verbs import add_part, change_part, remove_part
from survey.photos.verbs import take_in_photos
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.data import load_catalogues
from survey.shelf.verbs import make_survey, open_survey
from survey.store.survey import Survey
from survey.vocabulary import load_vocabulary

TRADES = load_trades()
FRAME = Component("B006", "Frame", "Frame", None, 1, "safety", "frame", "steel")
TANK = Component("B137", "Petrol tank", "Tank", None, 1, "safety", "tank", "steel")
SPRING = Component("B016", "Damper spring", "Frame", None, 1, "safety", "spring", "spring-steel")
NUTS = Component("B180", "Fasteners", "Frame", None, 41, "running", "fastener", "steel")
GUARD = Component("B170", "Front guard", "Tinware", None, 1, "safety", "tinware", "steel")
SPINDLE = Component("B074", "Wheel spindle", "Front wheel", None, 1, "safety", "wheel-spindle", "hard-steel")
SHOES = Component("B078", "Brake shoes", "Front wheel", None, 2, "safety", "brake-shoe", "lining")


def ruling(trade: str, outcome: Outcome = "repair", kind: str = "bent") -> Ruling:
    return Ruling("r", outcome, "because", f"To the {trade}.", "", "", "judgement", False, trade=trade,
                  finding=(kind, 3, "bare"))  # fmt: skip


def graded(
    number: int, component: Component | None, *rulings: Ruling, grade: Grade | None = "repair",
    waiting: Waiting | None = None, own: Grade | None = None, found: str = "2026-06-01T10:00:00Z", quantity: int = 1,
    looked: str = "",
) -> GradedPart:  # fmt: skip
    return GradedPart(
        Part(number, component.id if component else None, "", quantity),
        component,
        Verdict(None if waiting else grade, waiting, rulings),
        own_grade=OwnGrade(number, own, "because") if own else None,
        findings=(Finding(1, number, "bent", 3, "bare", at=found),) if rulings else (),
        looks=(Look(1, number, "bare", at=looked),) if looked else (),
    )


def batch(number: int, trade: str, *items: BatchItem, **said: Any) -> Batch:
    return Batch(number, TRADES.of(trade), items=items, **said)


def gone(part: int, **said: Any) -> BatchItem:
    return BatchItem(part, 1, part, said.pop("count", 1), **said)


def back(part: int, at: str, **said: Any) -> BatchItem:
    return gone(part, came_back=said.pop("came_back", 1), back_at=at[:10], checked_at=at, **said)


def for_whom(parts: list[GradedPart], batches: list[Batch]) -> dict[str, tuple[list[int], list[int]]]:
    return {
        one.trade.id: ([c.part.part.id for c in one.ready], [c.part.part.id for c in one.later])
        for one in suggest_for_trades(parts, batches, TRADES)
    }


# --- the table of trades


def test_every_word_of_the_rules_names_one_trade_or_none_on_purpose() -> None:
    said = {word.strip() for table in load_rulebook().tables for row in table.rows for word in row.trade.split(",")} - {
        ""
    }
    known = {word for trade in TRADES.trades for word in trade.words}
    assert said == (known | set(TRADES.elsewhere)) & said
    assert not known & set(TRADES.elsewhere)
    for word in said - set(TRADES.elsewhere):
        assert len(TRADES.named(word)) == 1, word


@pytest.mark.parametrize(
    ("first", "then"),
    [("examine", "weld"), ("tank", "weld"), ("weld", "machine"), ("machine", "blast"), ("blast", "plate"),
     ("blast", "paint"), ("plate", "spoke"), ("paint", "spoke")],
)  # fmt: skip
def test_the_order_of_the_trades(first: str, then: str) -> None:
    """Common practice, no source."""
    order = [trade.id for trade in TRADES.trades]
    assert order.index(first) < order.index(then)


@pytest.mark.parametrize(
    ("mpa", "hours"),
    [(1001, 8), (1100, 8), (1101, 10), (1250, 12), (1400, 14), (1450, 16), (1600, 18), (1700, 20), (1800, 22)],
)
def test_the_bake_by_strength(mpa: int, hours: int) -> None:
    """ASTM B850-98 (2009), least hours at 190 to 220 °C: 8 at 1001 to 1100 MPa, 22 at 1701 to 1800."""
    assert [row[2] for row in TRADES.hydrogen.hours if row[0] <= mpa <= row[1]] == [hours]
    assert TRADES.hydrogen.bake_c == (190, 220)
    assert "190 to 220 °C" in TRADES.hydrogen.bake_words
    assert "at least 8 hours for 1001 to 1100 MPa" in TRADES.hydrogen.bake_words
    assert "does not take it away" in TRADES.hydrogen.bake_words


@pytest.mark.parametrize(
    ("old", "new", "names"),
    [
        ('words = ["painter"]', 'words = ["painter", "plater"]', "'plater' is at plate already"),
        ('id = "paint"', 'id = "plate"', "it is used already at line"),
        ('classes = ["tank"]', 'classes = ["tanc"]', "'tanc' is not known"),
        ('trades = ["plate"]\nnever_classes', 'trades = ["plating"]\nnever_classes', "'plating' is not known"),
        ("[1101, 1200, 10]", "[1150, 1200, 10]", "leave a hole"),
        ("[hydrogen]", "[extra]\n[hydrogen]", "there is no such section"),
        ('label = "Paint"\n', "", "label"),
    ],
)
def test_a_faulty_table_of_trades_is_named(old: str, new: str, names: str) -> None:
    text = read_data_text("trades.toml")
    assert old in text
    with pytest.raises(BrokenKnowledge, match=names):
        parse_trades(text.replace(old, new, 1), load_vocabulary())


# --- which part is for whom next


def test_a_part_goes_from_trade_to_trade_and_is_offered_to_one_at_a_time() -> None:
    part = graded(1, GUARD, ruling("plater"), ruling("sheet-metal worker"))
    assert for_whom([part], []) == {"weld": ([1], []), "plate": ([], [1])}
    out = batch(1, "weld", gone(1), state="out", out_at="2026-06-02")
    assert for_whom([part], [out]) == {"plate": ([], [1])}
    here = batch(1, "weld", back(1, "2026-06-09T09:00:00Z"), state="out")
    assert for_whom([part], [here]) == {"plate": ([1], [])}


def test_what_was_found_after_the_return_sends_a_part_again() -> None:
    here = batch(1, "weld", back(1, "2026-06-09T09:00:00Z"), state="back")
    assert for_whom([graded(1, GUARD, ruling("welder"), found="2026-06-09T08:59:59Z")], [here]) == {}
    assert for_whom([graded(1, GUARD, ruling("welder"), found="2026-06-10T08:00:00Z")], [here]) == {"weld": ([1], [])}
    lost = batch(1, "weld", back(1, "2026-06-09T09:00:00Z", came_back=0, short_note="lost"), state="back")
    assert for_whom([graded(1, GUARD, ruling("welder"))], [lost]) == {"weld": ([1], [])}, "nothing was done to it"


def test_whoever_must_examine_a_part_first_gets_it_first() -> None:
    part = graded(1, FRAME, ruling("painter"), ruling("wheel builder", "examine-first"), waiting="examine-first")
    assert for_whom([part], []) == {"paint": ([], [1]), "spoke": ([1], [])}
    (spoke,) = [one for one in suggest_for_trades([part], [], TRADES) if one.trade.id == "spoke"]
    assert spoke.ready[0].examine
    assert find_earlier_trade(part, TRADES.of("paint"), [], TRADES) == TRADES.of("spoke")


def test_two_trades_in_one_rule_are_two_in_their_order() -> None:
    assert for_whom([graded(1, FRAME, ruling("alloy welder, machine shop"))], []) == {
        "weld": ([1], []), "machine": ([], [1]),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("part", "sent"),
    [
        (graded(1, NUTS, ruling("plater"), grade="replace"), {}),
        (graded(1, NUTS, ruling("hard chromer", "replace"), grade="replace"), {"plate": ([1], [])}),
        (graded(1, NUTS, ruling("plater"), own="reuse"), {}),
        (graded(1, NUTS, ruling("plater"), own="replace"), {}),
        (graded(1, FRAME, ruling("crack testing", "examine-first"), own="reuse"), {"examine": ([1], [])}),
        (graded(1, NUTS, ruling("vapour blaster", "reuse"), grade="reuse"), {"blast": ([1], [])}),
        (graded(1, NUTS, ruling("club dating officer")), {}),
    ],
)
def test_what_is_to_be_replaced_is_not_mended_first(
    part: GradedPart, sent: dict[str, tuple[list[int], list[int]]]
) -> None:
    """The owner's own grade counts, but lifts no examination that is owed."""
    assert for_whom([part], []) == sent


@given(wants=st.lists(st.sampled_from([w for t in TRADES.trades for w in t.words]), min_size=1, max_size=5))
def test_a_part_can_always_go_to_exactly_one_trade_until_all_are_done(wants: list[str]) -> None:
    part = graded(1, GUARD, *(ruling(word) for word in wants))
    batches: list[Batch] = []
    walked = []
    while found := for_whom([part], batches):
        ready = [trade for trade, (now, _) in found.items() if now]
        assert len(ready) == 1
        walked += ready
        number = len(batches) + 1
        batches.append(batch(number, ready[0], back(1, f"2026-07-{number:02}T00:00:00Z"), state="back"))
    order = [trade.id for trade in TRADES.trades]
    assert walked == sorted({TRADES.named(word)[0].id for word in wants}, key=order.index)


# --- what is looked at before it leaves


def checks_of(
    trade: str, component: Component | None, facts: tuple[str, ...] = (), examined: tuple[int, ...] = (), **said: Any
) -> dict[str, DepartureCheck]:
    part = graded(1, component, quantity=41)
    sent = batch(1, trade, gone(1, **said), who="Hollin")
    return {
        one.id: one
        for one in check_before_departure(sent, DepartureFacts({1: part}, TRADES, {}, facts, examined))
        if one.item == 1
    }


def test_nothing_goes_uncounted_untagged_or_without_pictures_unless_a_reason_is_given() -> None:
    bare = checks_of("plate", NUTS, hydrogen="bake")
    asked = ("tag", "photos", "finish", "sizes", "plug", "keep_off")
    assert {name for name, one in bare.items() if one.needs_reason} == set(asked)
    seen_to = checks_of(
        "plate", NUTS, hydrogen="bake", tag="1", photos=(1, 2), finish="zinc", before=(("stud", "1/4 in"),),
        plug="none", keep_off="none",
    )  # fmt: skip
    assert select_open_checks(seen_to.values()) == ()
    assert checks_of("plate", NUTS, photos=(None, 2))["photos"].answer == "no"
    assert checks_of("plate", NUTS, count=42)["count"].answer == "no"
    assert checks_of("plate", NUTS, count=41)["count"].answer == "yes"
    assert checks_of("plate", NUTS, count=1)["count"].text == "1 is to go, and 41 are recorded as here."


def test_a_tank_gets_no_heat_before_it_is_free_of_vapour_and_no_reason_lifts_that() -> None:
    """HSE INDG314 (rev1)."""
    for trade in ("weld", "machine", "blast", "plate", "paint"):
        check = checks_of(trade, TANK)["vapour-free"]
        assert check.keeps_here and "HSE INDG314" in check.source
        assert checks_of(trade, TANK, said={"vapour-free": "no"})["vapour-free"].keeps_here
        assert not checks_of(trade, TANK, said={"vapour-free": "yes"})["vapour-free"].keeps_here
        assert checks_of(trade, TANK, facts=("tank-vapour-free",))["vapour-free"].answer == "yes"
    assert "vapour-free" not in checks_of("tank", TANK)
    other = checks_of("weld", None, facts=("tank-vapour-free", "numbers-recorded"))
    assert other["vapour-free"].keeps_here, "the step was done to this machine's tank, not to what nobody knows yet"
    assert other["numbers"].answer == "not-said"
    assert checks_of("paint", None)["vapour-free"].keeps_here, "what nobody knows may be a tank"


@pytest.mark.parametrize("component", [SPRING, SPINDLE])
@pytest.mark.parametrize(("said", "stays"), [("", True), ("bake", True), ("not-hard", True), ("no-plate", False)])
def test_springs_and_spindles_are_never_plated(component: Component, said: str, stays: bool) -> None:
    """ASTM B850: baking does not guarantee freedom from embrittlement; that they are not plated is the safe reading."""
    assert checks_of("plate", component, hydrogen=said)["hydrogen"].keeps_here == stays


def test_of_hard_steel_its_owner_says_what_it_is() -> None:
    for said, stays in (("", True), ("bake", False), ("no-plate", False), ("not-hard", False)):
        assert checks_of("plate", NUTS, hydrogen=said)["hydrogen"].keeps_here == stays
    assert "hydrogen" not in checks_of("plate", GUARD)
    assert "hydrogen" not in checks_of("paint", SPRING)


def test_a_spring_is_never_welded_and_a_frame_only_by_somebody_qualified() -> None:
    """Common practice, no source."""
    assert checks_of("weld", SPRING, said={"no-spring": "yes"})["no-spring"].keeps_here
    assert checks_of("weld", FRAME)["who-welds"].keeps_here
    assert not checks_of("weld", FRAME, said={"who-welds": "yes"})["who-welds"].keeps_here
    assert "who-welds" not in checks_of("weld", GUARD)


# A crack in these is mended by nobody, or their safety hangs on something else than a weld: what is sheet, tank, rubber
# and cable, glass and wiring, fuel and floats, seats and seals (judgement).
NOT_WELDED = {
    "tinware", "tank", "rubber", "cable", "tyre", "fuel-fitting", "carburettor", "float", "lamp", "switch", "wiring",
    "seat", "seal", "spring",
}  # fmt: skip


def test_whatever_carries_steers_or_stops_is_welded_by_somebody_qualified_or_not_at_all() -> None:
    """Over every safety position of every catalogue. Common practice, no source."""
    every = [one for book in load_catalogues() for one in (*book.components, *book.extras)]
    asked = [one for one in every if one.duty == "safety" and one.part_class not in NOT_WELDED]
    assert len(asked) > 100
    assert [one.id for one in asked if not checks_of("weld", one).get("who-welds")] == []


@pytest.mark.parametrize("part_class", ["chain", "chain-link", "gear", "sprocket", "crank", "wheel-bearing"])
def test_of_what_is_hardened_by_its_trade_its_owner_says_what_it_is(part_class: str) -> None:
    """That chains, gears, cranks and bearings are hardened is common practice, no source; the limit is ASTM B850's."""
    every = [one for book in load_catalogues() for one in (*book.components, *book.extras)]
    hard = [one for one in every if one.part_class == part_class and one.material == "steel"]
    assert hard
    assert all(checks_of("plate", one)["hydrogen"].keeps_here for one in hard)


def test_a_safety_part_is_tested_for_cracks_before_heat_or_a_coat_hides_them() -> None:
    for trade in ("weld", "blast", "plate", "paint"):
        assert checks_of(trade, FRAME)["crack-test"].needs_reason
        assert checks_of(trade, FRAME, examined=(1,))["crack-test"].answer == "yes"
        assert checks_of(trade, FRAME, examined=(1,), said={"crack-test": "no"})["crack-test"].answer == "no"
    assert "crack-test" not in checks_of("paint", GUARD)
    assert "crack-test" not in checks_of("examine", FRAME)


def test_old_linings_and_stamped_numbers_are_spoken_of() -> None:
    assert checks_of("line", SHOES)["lining"].needs_reason
    assert checks_of("blast", FRAME)["numbers"].needs_reason
    assert checks_of("blast", FRAME, facts=("numbers-recorded",))["numbers"].answer == "yes"


def test_of_the_batch_only_its_content_and_whom_it_goes_to_hold_it_here() -> None:
    checks = check_before_departure(batch(1, "plate"), DepartureFacts({}, TRADES, {}))
    assert {one.id for one in checks if one.keeps_here} == {"items", "who"}
    assert {one.holds for one in checks if one.id.startswith("ask-")} == {"never"}
    known = batch(1, "plate", who="x", contact="x", promised="2026-07-01", carriage="x", insured=Decimal(1),
                  price=Price(high=Decimal(2)), answers={ask.id: "x" for ask in TRADES.of("plate").ask})  # fmt: skip
    assert {one.id for one in check_before_departure(known, DepartureFacts({}, TRADES, {})) if one.answer != "yes"} == {
        "items"
    }


# --- what is found when it comes back


@pytest.mark.parametrize(
    ("before", "after", "change"),
    [
        ("1/4 in", "6.35 mm", ""),
        ("1/4 in", "6.40 mm", "0.050 mm more"),
        ("10 mm", "9.98 mm", "0.020 mm less"),
        ("10 swg", "10 SWG", ""),
        ("10 swg", "12 swg", "written otherwise"),
        ("26 tpi", "26 TPI", ""),
        ("26 tpi", "28 tpi", "written otherwise"),
        ("26 tpi", "1 mm", "written otherwise"),
    ],
)
def test_sizes_before_and_after_are_compared(before: str, after: str, change: str) -> None:
    assert describe_size_change(before, after) == change


def found(trade: str, component: Component, **said: Any) -> tuple[str, ...]:
    sent = batch(1, trade, back(1, "2026-06-09T09:00:00Z", **said), state="out")
    (one,) = check_returns(sent, DepartureFacts({1: graded(1, component, quantity=41)}, TRADES, {}))
    return one.found


def test_what_comes_back_is_checked_against_what_went() -> None:
    told = found(
        "plate", NUTS, count=41, came_back=39, before=(("Stud", "1/4 in"), ("nut", "0.5 in")),
        after=(("stud", "6.40 mm"),), threads="closed", damage="two bent",
    )  # fmt: skip
    assert told == (
        "2 of 41 short. Ask where the rest is, or say what became of it.",
        "Damaged: two bent.",
        "Threads closed up: run them before anything is forced together.",
        "Stud was 1/4 in, now 6.40 mm: 0.050 mm more.",
        "Nut not measured again; it was 0.5 in.",
    )
    assert found("plate", NUTS, count=2, came_back=3)[0] == "1 more than went: somebody else's may be among them."
    assert found("plate", NUTS, threads="run") == ()
    assert found("plate", NUTS) == ("Nobody has said whether the threads still run.",)


@pytest.mark.parametrize("trade", [trade.id for trade in TRADES.trades])
def test_no_trade_passes_a_safety_part(trade: str) -> None:
    assert found(trade, FRAME, threads="run")[-1].startswith("A safety part: look it over")
    sent = [batch(1, trade, back(1, "2026-06-09T09:00:00Z"), state="back")]
    assert find_parts_to_examine([graded(1, FRAME, looked="2026-06-09T09:00:00Z")], sent) == {
        1: f"back from the {TRADES.of(trade).person} since 9 June 2026, not looked over"
    }
    assert find_parts_to_examine([graded(1, FRAME, looked="2026-06-09T09:00:01Z")], sent) == {}
    assert find_parts_to_examine([graded(1, NUTS)], sent) == {}


def test_a_look_that_saw_nothing_looks_nothing_over() -> None:
    sent = [batch(1, "weld", back(1, "2026-06-02T09:00:00Z"), state="back")]
    looked = graded(1, FRAME, looked="2026-06-09T09:00:00Z")
    unseen = replace(looked, looks=tuple(replace(look, seen="unseen") for look in looked.looks))
    assert list(find_parts_to_examine([unseen], sent)) == [1]


# --- what is out


def test_what_is_out_is_away_until_it_is_looked_over() -> None:
    out = batch(1, "plate", gone(1, count=40), who="Hollin", state="out", out_at="2026-06-01", promised="2026-06-20")
    assert find_away([out]) == {1: Away(40, "with the plater (Hollin) since 1 June 2026, promised 20 June 2026")}
    assert find_away([batch(1, "plate", gone(1))]) == {}, "a draft is here"
    assert find_away([batch(1, "plate", back(1, "2026-06-09T09:00:00Z"), state="out", out_at="2026-06-01")]) == {}


@pytest.mark.parametrize(("told", "still"), [("", 2), ("two lost in the vat", 0)])
def test_what_came_back_short_is_away_until_its_end_is_told(told: str, still: int) -> None:
    short = back(1, "2026-06-09T09:00:00Z", count=40, came_back=38, short_note=told)
    found = find_away([batch(1, "plate", short, state="out", out_at="2026-06-01")])
    assert (found[1].count, found[1].lost) == (2, 2 - still), "what is lost is not in hand either"


def test_the_latest_return_is_the_one_that_is_looked_over() -> None:
    """Whichever batch was made up first."""
    painted = batch(1, "paint", back(1, "2026-08-01T09:00:00Z"), state="back")
    welded = batch(2, "weld", back(1, "2026-07-01T09:00:00Z"), state="back")
    between = graded(1, FRAME, looked="2026-07-10T09:00:00Z")
    assert find_parts_to_examine([between], [painted, welded]) == {
        1: "back from the painter since 1 August 2026, not looked over"
    }
    assert find_parts_to_examine([graded(1, FRAME, looked="2026-08-02T09:00:00Z")], [painted, welded]) == {}
    assert list(find_parts_to_examine([graded(1, None)], [painted])) == [1], (
        "what nobody knows may carry, steer or stop"
    )
    assert find_parts_to_examine([graded(1, NUTS)], [painted]) == {}


@pytest.mark.parametrize("state", ["out", "back"])
def test_what_did_not_come_back_is_not_in_hand(state: str) -> None:
    """Three of a pair of shoes and a spare went, one came back: the brake is not to be had from what is lost."""
    from survey.schedule.gaps import Position

    item = back(1, "2026-06-09T09:00:00Z", count=3, came_back=1)
    shoes, item = graded(1, SHOES, grade="reuse", quantity=3), replace(item, short_note="lost in the post")
    told = find_away([batch(1, "machine", item, state=state)])
    assert (told[1].count, told[1].lost) == (2, 2)
    lack = find_lacks([Position(SHOES, "here", 3)], [shoes], (), told)["B078"]
    assert lack.words == "too few: not come back, was with the machine shop: lost in the post"
    assert find_away([batch(1, "machine", item, state=state)], {1: 2}) == {}, "the owner counted them off since"
    assert find_away([batch(1, "machine", item, state=state)], {1: 1})[1].count == 1


@pytest.mark.parametrize(("today", "late"), [("2026-06-20", False), ("2026-06-21", True)])
def test_overdue_is_after_the_promised_day(today: str, late: bool) -> None:
    out = batch(1, "plate", gone(1), state="out", promised="2026-06-20", out_at="2026-06-01")
    assert out.overdue(today) == late
    assert not batch(1, "plate", gone(1), state="out").overdue(today), "nothing was promised"
    assert not batch(1, "plate", back(1, "2026-06-09T09:00:00Z"), state="out", promised="2026-06-20").overdue(today)


def test_how_the_outwork_stands_is_told_in_a_sentence() -> None:
    out = batch(1, "plate", gone(1, count=40), state="out", promised="2026-06-20")
    short = batch(2, "weld", back(2, "2026-06-09T09:00:00Z", count=3, came_back=2), state="out")
    draft = batch(3, "paint", gone(3))
    assert describe_batches([out, short, draft], "2026-07-01") == (
        "1 batch out with 40 pieces, overdue; 1 piece came back short; 1 batch being made up."
    )
    assert describe_batches([out, batch(4, "weld", gone(4), state="out")], "2026-07-01") == (
        "2 batches out with 41 pieces, 1 of them overdue."
    )
    assert describe_batches([], "2026-07-01") == ""


def test_an_agreed_price_is_one_figure() -> None:
    assert (
        describe_agreed_price(batch(1, "plate", price=Price(Decimal(20), Decimal("30.00"), Decimal(40))), "GBP")
        == "£30.00"
    )
    assert describe_agreed_price(batch(1, "plate", price=Price(high=Decimal(40))), "GBP") == "up to £40.00"
    assert describe_agreed_price(batch(1, "plate"), "GBP") == ""


@given(quantity=st.integers(1, 50), sent=st.integers(1, 50))
def test_of_a_part_that_is_out_in_part_only_the_rest_is_in_hand(quantity: int, sent: int) -> None:
    from survey.schedule.gaps import Position

    out = {1: Away(min(sent, quantity), "with the plater")}
    needed = Component("B180", "Fasteners", "Frame", None, quantity, "running", "fastener", "steel")
    lack = find_lacks([Position(needed, "here", quantity)], [graded(1, needed, quantity=quantity)], (), out)
    assert lack["B180"].words == "away: with the plater"
    fewer = Component("B180", "Fasteners", "Frame", None, 1, "running", "fastener", "steel")
    lack = find_lacks([Position(fewer, "here", quantity)], [graded(1, fewer, quantity=quantity)], (), out)
    assert bool(lack) == (sent >= quantity)


def test_a_safety_part_that_is_back_waits_to_be_examined() -> None:
    from survey.schedule.gaps import Position

    told = find_lacks([Position(FRAME, "here", 1)], [graded(1, FRAME)], (), {}, {1: "back from the welder"})
    assert told["B006"].words == "here, to be examined first: back from the welder"
    assert find_lacks([Position(FRAME, "here", 1)], [graded(1, FRAME)]) == {}


# --- the survey

FASTENERS, BAR, SPRINGS = 1, 2, 3


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("made")
    with make_survey(room / "heap", "lightweight", "Ferryman", by="Wren") as survey:
        for number in (1, 2):
            Image.new("RGB", (64 + number, 48), "brown").save(room / f"{number}.jpg")
            take_in_photos(survey, [room / f"{number}.jpg"])
        add_part(survey, "B180", quantity=41, photos=[1])
        add_part(survey, "B052")
        add_part(survey, "B016")
        add_finding(survey, FASTENERS, "corrosion_surface", 2, seen="bare")
    return room / "heap"


@pytest.fixture
def survey(made: Path, tmp_path: Path) -> Iterator[Survey]:
    with open_survey(Path(shutil.copytree(made, tmp_path / "heap"))) as opened:
        yield opened


def sent_out(survey: Survey) -> Batch:
    plating = make_batch(survey, "plate", [FASTENERS], who="Hollin Brothers", promised="2026-06-20", high="40")
    change_item(survey, plating.items[0].id, count=40, hydrogen="bake", before={"stud": "1/4 in"})
    return send_batch(survey, plating.id, day="2026-06-01", signed="Wren", anyway="they photograph them there")


def test_a_batch_goes_out_and_comes_back_item_by_item(survey: Survey) -> None:
    assert [one.trade.id for one in suggest_batches(survey) if one.ready] == ["plate"]
    out = sent_out(survey)
    assert (out.state, out.out_at, out.out_by, out.price.high) == ("out", "2026-06-01", "Wren", Decimal("40.00"))
    assert list_away(survey)[FASTENERS].count == 40
    assert describe_outwork(survey, "2026-06-21") == "1 batch out with 40 pieces, overdue."
    assert [one.id for one in list_overdue_batches(survey, "2026-06-21")] == [out.id]
    assert list_overdue_batches(survey, "2026-06-20") == []
    item = out.items[0].id
    with pytest.raises(BadValue, match="nothing accounts for part 1"):
        close_batch(survey, out.id)
    receive_item(survey, item, 38, day="2026-06-18", after={"stud": "6.4 mm"}, threads="run")
    with pytest.raises(BadValue, match="nothing accounts for part 1"):
        close_batch(survey, out.id)
    receive_item(survey, item, 38, day="2026-06-18", threads="run", short_note="two lost in the vat")
    assert list_away(survey)[FASTENERS].lost == 2
    assert [one.found for one in list_returns(survey, out.id)] == [
        ("2 of 40 short: two lost in the vat.", "Stud was 1/4 in, now 6.4 mm: 0.050 mm more.")
    ]
    with pytest.raises(BadValue, match="was back on 2026-06-18"):
        close_batch(survey, out.id, day="2026-06-17")
    done = close_batch(survey, out.id, signed="Wren")
    assert (done.state, done.back_at, done.in_by) == ("back", "2026-06-18", "Wren")
    assert not suggest_batches(survey), "it has been plated"
    assert check_survey(survey) == []


def test_every_act_of_outwork_can_be_taken_back_and_done_again(survey: Survey) -> None:
    stages = [list(list_batches(survey))]
    out = sent_out(survey)
    add_number(survey, "frame", "HP 1")
    receive_item(survey, out.items[0].id, 40, day="2026-06-18")
    close_batch(survey, out.id)
    end = list_batches(survey)
    words = [act.words for act in list_acts(survey, last=6)]
    assert words == [
        "Batch back, all accounted for: batch 1 (Plating, Hollin Brothers)",
        "Taken back in: part 1 (Cycle-part fasteners), batch 1",
        "Number written down: HP 1 on frame",
        "Batch sent out: batch 1 (Plating, Hollin Brothers)",
        "Item of a batch noted: part 1 (Cycle-part fasteners), batch 1",
        "Batch made up: batch 1 (Plating, Hollin Brothers)",
    ]
    for _ in words:
        undo_act(survey)
    assert list_batches(survey) == stages[0] == []
    for _ in words:
        redo_act(survey)
    assert list_batches(survey) == end


def returned(trade: str, *times: str) -> list[Batch]:
    """Batches of one part that came back from that trade at those times."""
    return [batch(number, trade, back(1, at)) for number, at in enumerate(times, 1)]


def test_a_crack_test_speaks_until_the_part_is_welded_or_harmed() -> None:
    """Common practice, no source: heat makes new cracks, and what was tested before a knock is not tested after it."""
    early, tested, late = "2026-06-01T10:00:00Z", "2026-06-02T10:00:00Z", "2026-06-03T10:00:00Z"

    def speaks(batches: list[Batch], *findings: tuple[str, str]) -> bool:
        found = tuple(Finding(n, 1, kind, 2, "bare", at=at) for n, (kind, at) in enumerate(findings))
        part = replace(graded(1, FRAME), findings=found)
        return find_crack_tested([part], batches, {"bent", "crack"}) == {1}

    assert not speaks([])
    assert speaks(returned("examine", tested), ("bent", early), ("contamination", late))
    assert not speaks(returned("examine", tested), ("bent", late))
    assert speaks(returned("weld", early) + returned("examine", tested))
    assert not speaks(returned("examine", tested) + returned("weld", late))
    assert speaks(returned("examine", early, late) + returned("weld", tested))
    assert speaks(returned("examine", tested) + returned("paint", late))


def test_in_doubt_of_the_order_a_crack_test_does_not_speak() -> None:
    """Times are kept to the second: what came back, or was found, in that same second may have come after the test."""
    then = "2026-06-02T10:00:00Z"
    tested, harmed = returned("examine", then), (Finding(1, 1, "bent", 2, "bare", at=then),)
    assert find_crack_tested([graded(1, FRAME)], tested, {"bent"}) == {1}
    assert find_crack_tested([graded(1, FRAME)], tested + returned("weld", then), {"bent"}) == frozenset()
    assert find_crack_tested([graded(1, FRAME)], returned("weld", then) + tested, {"bent"}) == frozenset()
    assert find_crack_tested([replace(graded(1, FRAME), findings=harmed)], tested, {"bent"}) == frozenset()
    assert find_parts_to_examine([graded(1, FRAME, looked=then)], tested) == {
        1: "back from the crack tester since 2 June 2026, not looked over"
    }


def test_the_bench_answers_by_what_came_back(survey: Survey) -> None:
    sent = make_batch(survey, "examine", [BAR], who="Marl")
    send_batch(survey, sent.id, anyway="as it is")
    receive_item(survey, sent.items[0].id, 1)
    close_batch(survey, sent.id)
    paint = make_batch(survey, "paint", [BAR])

    def answer() -> str:
        return {one.id: one.answer for one in list_departure_checks(survey, paint.id)}["crack-test"]

    assert answer() == "yes"
    add_finding(survey, BAR, "contamination", 2, seen="bare")
    assert answer() == "yes", "dirt says nothing of the metal"
    add_finding(survey, BAR, "bent", 2, seen="bare")
    assert answer() == "not-said"


def test_what_is_out_holds_up_the_build(survey: Survey) -> None:
    bar = make_batch(survey, "paint", [BAR], who="Marl")
    item = bar.items[0].id
    change_item(survey, item, said={"crack-test": "yes"})
    send_batch(survey, bar.id, day="2026-06-01", anyway="as it is")
    lacking = {one.lack.component.id: one.lack.words for one in list_blocks(survey)}
    assert lacking["B052"] == "away: with the painter (Marl) since 1 June 2026"
    receive_item(survey, item, 1)
    lacking = {one.lack.component.id: one.lack.words for one in list_blocks(survey)}
    assert lacking["B052"].startswith("here, to be examined first: back from the painter since ")
    assert list(list_parts_to_examine(survey)) == [BAR]


def test_a_part_is_in_one_batch_at_a_time_and_does_not_vanish_while_it_is_out(survey: Survey) -> None:
    out = sent_out(survey)
    with pytest.raises(BadValue, match="in batch 1 already"):
        make_batch(survey, "paint", [FASTENERS])
    assert [one.id for one in list_batches(survey)] == [out.id], "nothing of it stays"
    with pytest.raises(BadValue, match="out with a trade"):
        remove_part(survey, FASTENERS)
    paint = make_batch(survey, "paint", [BAR])
    remove_part(survey, BAR)
    assert get_batch(survey, paint.id).items == ()
    undo_act(survey)
    assert [item.part for item in get_batch(survey, paint.id).items] == [BAR]
    with pytest.raises(BadValue, match="has left"):
        remove_batch(survey, out.id)
    with pytest.raises(BadValue, match="has left"):
        add_to_batch(survey, out.id, SPRINGS)
    with pytest.raises(BadValue, match="docket says what went"):
        change_item(survey, out.items[0].id, count=41)
    assert change_item(survey, out.items[0].id, note="with a list").note == "with a list"


def test_a_batch_in_the_bin_comes_back_unless_its_parts_went_elsewhere(survey: Survey) -> None:
    plating = make_batch(survey, "plate", [BAR])
    remove_batch(survey, plating.id)
    paint = make_batch(survey, "paint", [BAR])
    with pytest.raises(BadValue, match="in batch 2 already"):
        put_back(survey, "batch", plating.id)
    remove_item(survey, paint.items[0].id)
    put_back(survey, "batch", plating.id)
    with pytest.raises(BadValue, match="in batch 1 already"):
        put_back(survey, "batch_item", paint.items[0].id)
    assert [item.part for item in get_batch(survey, plating.id).items] == [BAR]


def test_nothing_gets_into_a_batch_that_has_left(survey: Survey) -> None:
    """Not by way of the bin either: what is out was looked at before it left, and stands on its docket."""
    sent = make_batch(survey, "weld", [FASTENERS, BAR, SPRINGS], who="Marl")
    taken_out = sent.items[2].id
    remove_item(survey, taken_out)
    remove_part(survey, BAR)
    change_item(survey, sent.items[0].id, said={"who-welds": "yes"})
    send_batch(survey, sent.id, anyway="as they are")
    with pytest.raises(BadValue, match="Batch 1 has left"):
        put_back(survey, "batch_item", taken_out)
    put_back(survey, "part", BAR)
    assert [item.part for item in get_batch(survey, sent.id).items] == [FASTENERS]
    assert list(list_away(survey)) == [FASTENERS]
    undo_act(survey)
    redo_act(survey)
    assert make_batch(survey, "paint", [BAR]).items[0].part == BAR, "it is in no other"
    assert check_survey(survey) == []


def test_a_part_in_the_bin_keeps_its_past_with_the_trades(survey: Survey) -> None:
    """Only what has not left goes with it; else a part would come back from the bin as if nobody had welded on it."""
    welded = make_batch(survey, "weld", [BAR], who="Marl")
    change_item(survey, welded.items[0].id, said={"who-welds": "yes"})
    send_batch(survey, welded.id, anyway="as it is")
    receive_item(survey, welded.items[0].id, 1)
    close_batch(survey, welded.id)
    tested = make_batch(survey, "examine", [BAR, FASTENERS], who="Tollbar Testing")
    send_batch(survey, tested.id, anyway="as they are")
    receive_item(survey, tested.items[0].id, 1)
    draft = make_batch(survey, "paint", [BAR])
    numbers = [one.items[0].id for one in (welded, tested, draft)]
    before = list_batches(survey), list_parts_to_examine(survey)
    assert list(before[1]) == [BAR]
    remove_part(survey, BAR)
    gone = {row["id"]: row["gone_at"] for row in survey.store.rows("SELECT id, gone_at FROM batch_item")}
    assert [bool(gone[number]) for number in numbers] == [False, False, True]
    last = [list_events(survey, "batch_item", str(number))[-1].verb for number in numbers]
    assert last == ["taken back in", "taken back in", "remove part"]
    put_back(survey, "part", BAR)
    assert (list_batches(survey), list_parts_to_examine(survey)) == before
    assert check_survey(survey) == []


def test_what_holds_a_batch_here_is_named_with_its_part(survey: Survey) -> None:
    springs = make_batch(survey, "plate", [SPRINGS], who="Hollin")
    change_item(survey, springs.items[0].id, hydrogen="bake")
    with pytest.raises(BadValue, match=r"stays here: said: do not plate \(part 3\)") as refused:
        send_batch(survey, springs.id, anyway="in a hurry")
    assert "may break days later" in refused.value.next_step
    change_item(survey, springs.items[0].id, hydrogen="no-plate")
    with pytest.raises(BadValue, match="Not everything is looked at"):
        send_batch(survey, springs.id)
    assert send_batch(survey, springs.id, anyway="to be painted there").anyway == "to be painted there"
    with pytest.raises(BadValue, match="has left"):
        send_batch(survey, springs.id)


def test_a_step_that_is_done_answers_what_it_answers(survey: Survey) -> None:
    tank = add_part(survey, "B137")
    sent = make_batch(survey, "weld", [tank.id])
    answer = {one.id: one.answer for one in list_departure_checks(survey, sent.id) if one.item}
    assert answer["vapour-free"] == "not-said"
    set_step_state(survey, "tank-vapour-free", "done")
    answer = {one.id: one.answer for one in list_departure_checks(survey, sent.id) if one.item}
    assert answer["vapour-free"] == "yes"


def test_sizes_that_were_read_are_sizes_before(survey: Survey) -> None:
    kind = next(one for one in list_reading_kinds(survey, BAR) if "-book" not in one.id)
    add_reading(survey, BAR, kind.id, "1 mm")
    assert dict(make_batch(survey, "machine", [BAR]).items[0].before) == {kind.id.replace("-", " "): "1 mm"}
    undo_act(survey)
    assert make_batch(survey, "paint", [BAR]).items[0].before == ()


def test_what_cannot_be_said_of_a_batch_is_refused(survey: Survey) -> None:
    plating = make_batch(survey, "plate", [FASTENERS])
    item = plating.items[0].id
    events = len(list_events(survey))
    with pytest.raises(NoSuchThing, match="no trade"):
        make_batch(survey, "plaet")
    with pytest.raises(NoSuchThing):
        make_batch(survey, "paint", [99])
    for said in ({"promised": "soon"}, {"promised": "20260620"}, {"low": "9", "high": "3"}, {"insured": "lots"},
                 {"answers": {"rotation": "left"}}, {"colour": "red"}):  # fmt: skip
        with pytest.raises(BadValue):
            change_batch(survey, plating.id, **said)
    for wrong in ({"count": 0}, {"hydrogen": "perhaps"}, {"photos": (1, 1)}, {"photos": (1,)}, {"said": {"x": "yes"}},
                  {"said": {"crack-test": "maybe"}}, {"before": {f"s{n}": "1 mm" for n in range(41)}},
                  {"after": {}}):  # fmt: skip
        with pytest.raises(BadValue):
            change_item(survey, item, **wrong)
    with pytest.raises(NoSuchThing):
        change_item(survey, item, photos=(99, None))
    with pytest.raises(NoSuchThing):
        change_item(survey, 99, tag="1")
    with pytest.raises(BadValue, match="is not out"):
        receive_item(survey, item, 1)
    with pytest.raises(BadValue, match="is not out"):
        close_batch(survey, plating.id)
    assert len(list_events(survey)) == events


def test_what_cannot_be_said_of_a_return_is_refused(survey: Survey) -> None:
    item = sent_out(survey).items[0].id
    for count, said in ((-1, {}), (1, {"threads": "stiff"}), (1, {"day": "2026-05-31"}), (1, {"day": "yesterday"})):
        with pytest.raises(BadValue):
            receive_item(survey, item, count, **said)
    assert get_batch(survey, 1).items[0].came_back is None


def test_what_was_lost_is_counted_off_once(survey: Survey) -> None:
    shoes = add_part(survey, "B078", quantity=3)
    add_part(survey, "B052")
    work = make_batch(survey, "machine", [shoes.id], who="Marl")
    send_batch(survey, work.id, day="2026-06-01", anyway="he counts")
    receive_item(survey, work.items[0].id, 2, day="2026-06-09", short_note="one went astray")
    close_batch(survey, work.id)
    assert (list_away(survey)[shoes.id].count, list_away(survey)[shoes.id].lost) == (1, 1)
    change_part(survey, shoes.id, quantity=2)
    assert list_away(survey) == {}, "two are recorded, and two are here"
    undo_act(survey)
    assert list_away(survey)[shoes.id].count == 1
    assert check_survey(survey) == []


def test_what_was_counted_off_stays_counted_off_when_the_return_is_told_again(survey: Survey) -> None:
    """Looked over, counted, and only then heard what became of the third: two are recorded, and two are here."""
    shoes = add_part(survey, "B078", quantity=3)
    work = make_batch(survey, "machine", [shoes.id], who="Marl")
    send_batch(survey, work.id, day="2026-06-01", anyway="he counts")
    receive_item(survey, work.items[0].id, 2, day="2026-06-09")
    change_part(survey, shoes.id, quantity=2)
    receive_item(survey, work.items[0].id, 2, day="2026-06-09", short_note="one went astray")
    assert list_away(survey) == {}


def test_a_batch_leaves_once_however_many_send_it_at_once(survey: Survey, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two browsers press the button together; whoever looks at it slowly must not find it still here."""
    from survey.outwork import verbs

    looked = verbs.list_departure_checks

    def slowly(*said: Any) -> tuple[DepartureCheck, ...]:
        time.sleep(0.05)
        return looked(*said)

    monkeypatch.setattr(verbs, "list_departure_checks", slowly)
    made, ended = make_batch(survey, "spoke", [FASTENERS], who="Ostler"), list[str]()

    def send(who: str) -> None:
        try:
            ended.append(send_batch(survey, made.id, signed=who, anyway="as a pattern").out_by)
        except BadValue as refusal:
            ended.append(refusal.sentence)

    both = [threading.Thread(target=send, args=[who]) for who in ("Wren", "Marl")]
    for one in both:
        one.start()
    for one in both:
        one.join()
    signed = get_batch(survey, made.id).out_by
    assert sorted(ended) == sorted([signed, f"Batch {made.id} has left."])
    assert [event.verb for event in list_events(survey, "batch", str(made.id))] == ["make batch", "batch out"]
