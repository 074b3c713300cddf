"""What pages show, gathered: the sheet, the tree, marks, picking, words."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.errors import BadValue
from survey.grading.verbs import get_rulebook
from survey.model.photos import Mark, Photo
from survey.model.schedule import Component, PositionNote
from survey.parts.finding_verbs import list_finding_kinds
from survey.schedule.gaps import InHand, compute_positions, count_by_assembly
from survey.schedule.verbs import list_kinds
from survey.words import format_count
from web import forms
from web.mark_picking import gathered
from web.presenters.grading import describe_when
from web.presenters.parts_kinds import LIKELY, REST, sort_likely_first
from web.presenters.photos_drawing import fit_size, place_mark, place_marks
from web.presenters.photos_sheet import find_place, make_sheet
from web.presenters.schedule import ORDER, REAL, make_branches, make_piles
from web.words import describe_run, format_day, format_file_size, format_time

PHOTO = Photo("ab" * 32, "a.jpg", "jpeg", 4000, 3000, 1, "originals/a", None, None, None, "", "", False, 1, "waiting")


def photo(number: int, state: str = "waiting") -> Photo:
    return replace(PHOTO, id=number, state=state)  # type: ignore[arg-type]


@given(st.lists(st.integers(1, 30), max_size=12), st.integers(3, 20))
def test_every_photo_stands_once_on_some_page_in_order(lengths: list[int], size: int) -> None:
    numbers = iter(range(1, 1000))
    runs = [[photo(next(numbers)) for _ in range(length)] for length in lengths]
    first = make_sheet(runs, 1, size)
    pages = [make_sheet(runs, page, size) for page in range(1, first.pages + 1)]
    shown = [one.id for page in pages for piece in page.pieces for one in piece.photos]
    assert shown == [one.id for run in runs for one in run]
    assert all(sum(len(piece.photos) for piece in page.pieces) <= size for page in pages)
    for page in pages:
        for piece in page.pieces:
            assert piece.singly == (piece.total > 1 and [piece.whole[0]] in runs)
            assert piece.in_pieces == (piece.total > size)
            assert piece.photos == piece.whole[piece.first - 1 :][: len(piece.photos)]


def test_a_page_too_high_is_the_last_and_one_too_low_the_first() -> None:
    runs = [[photo(n)] for n in range(1, 8)]
    assert make_sheet(runs, 99, 3).page == 3 and make_sheet(runs, 0, 3).page == 1 and make_sheet([], 5, 3).pages == 1


def test_lone_photos_that_follow_each_other_share_a_row() -> None:
    runs = [[photo(1)], [photo(2)], [photo(3), photo(4)], [photo(5)], [photo(6)], [photo(7)]]
    pieces = make_sheet(runs, 1).pieces
    assert [([one.id for one in piece.photos], piece.singly) for piece in pieces] == [
        ([1, 2], True), ([3, 4], False), ([5, 6, 7], True),
    ]  # fmt: skip
    assert not make_sheet([[photo(1)], [photo(2), photo(3)]], 1).pieces[0].singly


def test_the_place_of_a_photo_and_the_next_that_waits() -> None:
    runs = [[photo(1), photo(2, "placed")], [photo(3, "placed"), photo(4, "aside")]]
    middle = find_place(2, runs)
    assert (middle.position, len(middle.run)) == (2, 2)
    assert (middle.before and middle.before.id, middle.after and middle.after.id) == (1, 3)
    assert middle.next_waiting is not None and middle.next_waiting.id == 1, "the search goes round"
    assert find_place(1, runs).before is None and find_place(4, runs).after is None
    assert find_place(1, runs).next_waiting is None


def test_sizes_on_the_page_keep_the_shape() -> None:
    assert fit_size(PHOTO, "thumb") == (480, 360) and fit_size(PHOTO, "view") == (1800, 1350)
    small = replace(PHOTO, width=100, height=7)
    assert fit_size(small, "thumb") == (100, 7) and fit_size(replace(PHOTO, width=9000, height=1), "thumb") == (480, 1)


def test_marks_are_placed_in_per_cent() -> None:
    marks = [
        Mark(1, 1, None, 7, "pin", ((0.25, 0.5),)),
        Mark(2, 1, None, None, "box", ((0.8, 0.7), (0.2, 0.1))),
        Mark(3, 1, None, None, "outline", ((0.0, 0.0), (1.0, 0.0), (0.5, 1.0))),
    ]
    pin, box, outline = place_marks(marks, {7: "2"})
    assert (pin.x, pin.y, pin.label) == ("25.00%", "50.00%", "2")
    assert (box.x, box.y, box.wide, box.high, box.label) == ("20.00%", "10.00%", "60.00%", "60.00%", "")
    assert outline.path == "0.00,0.00 100.00,0.00 50.00,100.00"
    assert place_mark("box", [(0.1, 0.1)]).shape == "pin"


@given(st.integers(0, 719), st.integers(0, 539))
def test_a_press_comes_back_as_the_place_pressed(x: int, y: int) -> None:
    places, given_now = gathered({"w": "720", "pick.x": str(x), "pick.y": str(y)}, PHOTO, "pin")
    assert given_now
    ((across, down),) = forms.points(forms.written_points(places))
    assert abs(across * 720 - x) < 0.1 and abs(down * 540 - y) < 0.1


def test_a_press_outside_is_the_edge_and_nonsense_is_refused() -> None:
    assert gathered({"w": "352", "pick.x": "999", "pick.y": "999"}, PHOTO, "pin")[0] == ((1.0, 1.0),)
    assert gathered({"at": "0.1,0.1;0.2,0.2;0.3,0.3"}, PHOTO, "box") == (((0.1, 0.1), (0.2, 0.2)), False)
    there = {"pick.x": "1", "pick.y": "1"}
    for wrong in (there, {"w": "0", **there}, {"w": "9", "pick.x": "-1", "pick.y": "1"}):
        with pytest.raises(BadValue):
            gathered(wrong, PHOTO, "pin")


def component(number: str, inside: str | None = None, assembly: str = "Wheel", quantity: int = 1) -> Component:
    return Component(number, f"Thing {number}", assembly, inside, quantity, "running", "stay", "steel")


SCHEDULE = [
    component("A"), component("B", "A"), component("C", "B"), component("D", "A", "Brake"),
    component("E", None, "Brake", 2),
]  # fmt: skip


def test_the_tree_nests_within_an_assembly_and_says_where_else() -> None:
    stands = compute_positions(SCHEDULE, [InHand("A"), InHand("E")], {"C": PositionNote("C", "missing")})
    counts = count_by_assembly(stands)
    wheel, brake = make_branches(stands, [], counts)
    (a,) = wheel.positions
    assert [one.standing.component.id for one in (a, a.inside[0], a.inside[0].inside[0])] == ["A", "B", "C"]
    assert [(one.standing.component.id, one.holder) for one in brake.positions] == [("D", "Thing A"), ("E", "")]
    assert (wheel.count.here, wheel.count.missing, brake.count.short) == (1, 1, 1)


def test_piles_hold_real_gaps_first_and_apart_what_only_follows() -> None:
    stands = compute_positions(SCHEDULE, [InHand("E")], {"A": PositionNote("A", "missing")})
    found = make_piles(stands, [])
    assert [(pile.state, pile.count) for pile in found if pile.count] == [("missing", 4), ("short", 1)]
    assert [pile.state for pile in found] == list(ORDER) and ORDER[: len(REAL)] == REAL
    missing = found[0]
    assert [one.standing.component.id for one in missing.own["Wheel"]] == ["A"]
    assert {name: [one.holder for one in pile] for name, pile in missing.along.items()} == {
        "Wheel": ["Thing A", "Thing B"], "Brake": ["Thing A"],
    }  # fmt: skip


def test_every_position_of_every_catalogue_is_in_tree_and_piles_once() -> None:
    for catalogue in list_kinds():
        stands = compute_positions(catalogue.components, [], {})
        everything = sorted(one.id for one in catalogue.components)
        found: list[str] = []
        waiting = [one for branch in make_branches(stands, [], count_by_assembly(stands)) for one in branch.positions]
        while waiting:
            one = waiting.pop()
            found.append(one.standing.component.id)
            waiting += one.inside
        assert sorted(found) == everything
        shelves = [shelf for pile in make_piles(stands, []) for shelf in (pile.own, pile.along)]
        assert sorted(one.standing.component.id for s in shelves for pile in s.values() for one in pile) == everything


def test_likely_findings_come_first_and_none_is_lost() -> None:
    kinds = list_finding_kinds()
    likely = kinds[3].id, kinds[1].id
    groups = sort_likely_first(replace(SCHEDULE[0], likely=likely), kinds)
    assert [kind.id for kind in groups[LIKELY]] == list(likely)
    assert {kind.id for pile in groups.values() for kind in pile} == {kind.id for kind in kinds}
    assert list(sort_likely_first(None, kinds)) == [REST]


def test_rules_are_read_by_the_names_of_findings() -> None:
    kinds = {kind.id: kind for kind in list_finding_kinds()}
    for row in get_rulebook().rows:
        said = describe_when(row, kinds)
        for finding in row.words("finding") or ():
            assert kinds[str(finding)].label.lower() in said
            assert "_" not in said.partition(";")[0]


@pytest.mark.parametrize(
    ("said", "meant"), [("", ()), ("0.5,0.25", ((0.5, 0.25),)), ("0.1,0.2;0.3,0.4", ((0.1, 0.2), (0.3, 0.4)))]
)
def test_places_are_read(said: str, meant: tuple[tuple[float, float], ...]) -> None:
    assert forms.points(said) == meant


@pytest.mark.parametrize("said", ["0.5", "a,b", "1,2,3", "0.1;0.2", ",", "0.1,0.2;x"])
def test_places_that_cannot_be_read_are_refused(said: str) -> None:
    with pytest.raises(BadValue):
        forms.points(said)


@pytest.mark.parametrize("said", ["x", "-1", "1.5", "²", "9" * 30, "٣"])
def test_numbers_that_are_none_are_refused(said: str) -> None:
    with pytest.raises(BadValue):
        forms.number({"n": said}, "n")


def test_times_and_counts_are_said_in_words() -> None:
    assert format_day("2026-06-03T14:05:09") == "3 June 2026" and format_day("2026-06-03T14:05:09Z") == "3 June 2026"
    assert format_day(None) == "" == format_time(None)
    assert format_count(1, "photo") == "1 photo" and format_count(2041, "photo") == "2,041 photos"
    assert format_count(0, "box", "boxes") == "0 boxes"
    assert [format_file_size(octets) for octets in (999, 145_000, 3_400_000)] == ["1 kB", "145 kB", "3.4 MB"]
    run = [SimpleNamespace(taken="2026-06-03T23:58:00"), SimpleNamespace(taken="2026-06-04T00:01:00")]
    assert describe_run(run) == "3 June 2026, 23:58 to 4 June 2026, 00:01"  # type: ignore[arg-type]
    assert describe_run(run[:1]) == "3 June 2026, 23:58"  # type: ignore[arg-type]
    assert describe_run([PHOTO]) == "Without a time"
