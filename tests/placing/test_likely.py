"""What a photo most likely shows, and what to do next: judgement, common practice, no source."""

from __future__ import annotations

from survey.model.grading import Verdict
from survey.model.parts import GradedPart, Part
from survey.model.photos import Photo
from survey.model.schedule import Component, Gap
from survey.placing.likely import find_near_parts, rank_likely_components, rank_main_components
from survey.today.next_things import rank_next_things


def photo(number: int, *parts: int, box: str = "") -> Photo:
    return Photo(
        f"{number:064x}", f"IMG_{number}.jpg", "jpeg", 40, 30, 1, "x", None, None, None, "", "", False,
        number, "placed" if parts else "waiting", "", box, parts,
    )  # fmt: skip


def position(one: str, assembly: str = "Fuel", inside: str | None = None, duty: str = "running") -> Component:
    return Component(one, one.title(), assembly, inside, 1, duty, "casting", "zinc")  # type: ignore[arg-type]


FUEL = [position("carburettor"), position("bowl", inside="carburettor"), position("float", inside="carburettor")]
SCHEDULE = [*FUEL, position("tank"), position("wheel", "Wheels")]
ALL_SHORT = {one.id: 1 for one in SCHEDULE}


def test_the_photo_before_speaks_first() -> None:
    ordered = [photo(1, 4), photo(2, 5), photo(3), photo(4, 6), photo(5)]
    parts = [Part(number, None, "") for number in (4, 5, 6)]
    assert find_near_parts(ordered[2], ordered, ordered[:3], parts) == [5, 4, 6]


def test_a_part_in_the_same_box_is_near_and_one_it_shows_already_is_not() -> None:
    one = photo(9, 2, box="box 3")
    parts = [Part(1, None, "", box="box 3"), Part(2, None, "", box="box 3"), Part(3, None, "", box="box 4")]
    assert find_near_parts(one, [one], [one], parts) == [1, 3]


def test_a_part_that_was_put_aside_is_not_near() -> None:
    ordered = [photo(1, 8), photo(2)]
    assert find_near_parts(ordered[1], ordered, ordered, []) == []


def test_what_sits_in_the_neighbour_comes_before_what_is_only_in_its_assembly() -> None:
    named = [one.id for one in rank_likely_components(SCHEDULE, ["carburettor"], {**ALL_SHORT, "carburettor": 0}, 9)]
    assert named == ["bowl", "float", "tank"]


def test_a_nearer_neighbour_weighs_more() -> None:
    named = [one.id for one in rank_likely_components(SCHEDULE, ["wheel", "tank"], {**ALL_SHORT, "wheel": 2}, 2)]
    assert named == ["wheel", "tank"]


def test_a_filled_position_and_a_far_one_are_not_likely() -> None:
    assert rank_likely_components(SCHEDULE, ["bowl"], {"wheel": 1}, 9) == []
    assert rank_likely_components(SCHEDULE, ["own-component"], ALL_SHORT, 9) == []


def test_a_main_piece_holds_much_and_is_still_wanted() -> None:
    named = [one.id for one in rank_main_components(SCHEDULE, ALL_SHORT, 2)]
    assert named == ["carburettor", "wheel"]
    assert rank_main_components(SCHEDULE, {"wheel": 1, "carburettor": 0}, 9) == [SCHEDULE[4]]


def graded(number: int, waiting: str, duty: str = "safety") -> GradedPart:
    one = position("bar", "Steering", duty=duty)
    return GradedPart(Part(number, "bar", ""), one, Verdict(None, waiting))  # type: ignore[arg-type]


def test_safety_comes_first_and_no_kind_hides_the_others() -> None:
    parts = [graded(number, "examine-first") for number in range(1, 9)]
    parts.append(graded(9, "not-looked-at", "cosmetic"))
    runs = [[photo(1), photo(2)], [photo(3)]]
    unsought = Gap(position("pads", "Brakes", duty="safety"), "not-looked", 0)
    told = rank_next_things(parts, [unsought], runs, 8)
    assert [thing.doing for thing in told] == ["examine"] * 4 + ["place", "place", "search", "look"]
    assert (told[4].photo, told[4].count) == (1, 2)
    assert len(rank_next_things(parts, [unsought], runs, 10)) == 10


def test_what_is_answered_is_no_thing_to_do() -> None:
    done = GradedPart(Part(1, "bar", ""), position("bar"), Verdict("reuse", None))
    missing = Gap(position("float"), "missing", 0)
    with_holder = Gap(position("needle"), "not-looked", 0, through="carburettor")
    assert rank_next_things([done], [missing, with_holder], [[photo(1, 1)]]) == []
