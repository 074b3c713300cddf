"""The report's data: what is counted, what is never hidden, which crops are asked for."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_ferryman import (
    ABSENT,
    BAR,
    CRACK_RULE,
    FRAME,
    SCHEDULE,
    STAND,
    component,
    ferryman,
    finding,
    graded,
    parts,
    photo,
)

from survey.document.crops import UNMARKED, crop_width_px
from survey.document.printable import LONGEST_HEADING
from survey.model.machine import Machine
from survey.model.parts import Look, Part, Reading
from survey.model.photos import Mark
from survey.model.schedule import Gap
from survey.report.contents_printed import PartEntry, ReportData
from survey.report.gather_printed import ReportSource, gather_report
from survey.report.heights_printed import Placing, place_entry
from survey.report.words_printed import describe_source
from survey.schedule.gaps import PositionCount


@pytest.fixture(scope="module")
def data() -> ReportData:
    return gather_report(ferryman())


def part(data: ReportData, id: int) -> PartEntry:
    return next(entry for entry in data.parts if entry.id == id)


def test_every_part_and_every_gap_is_in_once(data: ReportData) -> None:
    assert sorted(entry.id for entry in data.parts) == [g.part.id for g in parts()]
    assert sorted(gap.component for gap in data.gaps) == sorted(gap.component.id for gap in ABSENT)


def test_the_same_facts_give_the_same_report() -> None:
    assert gather_report(ferryman()) == gather_report(ferryman())


def test_the_order_of_parts_follows_the_schedule_and_unknown_ones_come_last(data: ReportData) -> None:
    order = [one.id for one in SCHEDULE]
    known = [order.index(entry.component) for entry in data.parts if entry.component]
    assert known == sorted(known)
    assert data.parts[-1].component is None
    assert data.assemblies[-1].name == "Not yet known what they are"


def test_counts_add_up(data: ReportData) -> None:
    assert sum(count.parts for count in data.summary.counts) == data.summary.parts == len(parts())
    assert sum(count.safety for count in data.summary.counts) == sum(e.duty == "safety" for e in data.parts)
    tally = data.summary.tally
    gone = tally.missing + tally.wrong + tally.short + tally.unseen + tally.not_looked
    assert tally.asked == tally.here + gone
    assert gone == len(ABSENT)
    # A position the machine never had is not asked for.
    assert tally.asked == len(SCHEDULE) - 1


def test_safety_parts_waiting_come_first_with_the_test_owed(data: ReportData) -> None:
    assert {item.part for item in data.summary.owed} == {1, 2, 4, 5, 6, 10}
    frame = next(item for item in data.summary.owed if item.part == 1)
    assert "measure the wall" in frame.says
    assert "(frame repairer)" in frame.says
    assert [item.outcome for item in data.summary.owed][:2] == ["examine-first", "examine-first"]


def test_a_part_not_yet_known_is_treated_as_a_safety_part(data: ReportData) -> None:
    assert part(data, 10).duty == "safety"


def test_hardest_first(data: ReportData) -> None:
    assert [item.outcome for item in data.summary.hardest] == ["replace", "repair"]


def test_what_to_find_is_missing_wrong_or_short_safety_first(data: ReportData) -> None:
    assert [gap.component for gap in data.summary.to_find] == ["B005", "B070", "B121", "B122", "B170"]
    assert {gap.state for gap in data.summary.to_find} == {"missing", "wrong", "short"}


def test_what_goes_with_its_holder_is_not_sought_twice() -> None:
    gaps = (
        Gap(STAND, "missing", 0),
        Gap(component("B005", "Spring", "Frame", "safety", "spring"), "missing", 0, through="B004"),
    )
    summary = gather_report(ferryman(gaps=gaps)).summary
    assert ([gap.label for gap in summary.to_find], summary.with_them) == (["Centre stand"], 1)


def test_a_gap_inside_a_part_that_is_here_stands_under_the_part_and_in_the_list(data: ReportData) -> None:
    """Common practice, no source: an assembly that is here does not hide what is gone from inside it."""
    assert [gap.label for gap in part(data, 7).gaps_inside] == ["Float", "Float needle"]
    assert {"B121", "B122"} <= {gap.component for gap in data.gaps}


def test_a_gap_two_floors_down_stands_under_the_part_that_is_here() -> None:
    jet = component("B123", "Jet", "Fuel", "running", "carburettor", inside="B122")
    data = gather_report(ferryman(schedule=(*SCHEDULE, jet), gaps=(*ABSENT, Gap(jet, "missing", 0))))
    assert "Jet" in [gap.label for gap in part(data, 7).gaps_inside]


def test_quantities_count(data: ReportData) -> None:
    spokes = next(gap for gap in data.gaps if gap.component == "B070")
    assert (spokes.state, spokes.found, spokes.quantity) == ("short", 33, 36)


def test_nothing_unlooked_at_is_left_out(data: ReportData) -> None:
    unlooked = data.not_looked
    assert {item.part for item in unlooked.parts} == {2, 4, 5, 10}
    assert {item.part for item in unlooked.through_coat} == {1, 4}
    assert [item.part for item in unlooked.told] == [9]
    assert [gap.component for gap in unlooked.positions] == ["B150", "B171"]
    assert [gap.component for gap in unlooked.unseen] == ["B062"]
    assert unlooked.not_fitted == ("Sidecar lug",)
    assert (unlooked.photos_waiting, unlooked.photos_aside) == (1, 1)


def test_what_there_is_none_of_is_told_in_one_sentence(data: ReportData) -> None:
    assert data.not_looked.nothing == "There are no other parts nobody has looked over."
    empty = gather_report(ferryman(graded=(), gaps=(), not_fitted=(), photos={})).not_looked.nothing
    assert empty.count(", no ") == 6
    assert empty.endswith("no photos not placed.")


def test_every_reason_is_kept_and_a_rule_fired_twice_is_told_once(data: ReportData) -> None:
    frame, guard = part(data, 1), part(data, 8)
    assert [(ruling.rule, ruling.answers) for ruling in frame.rulings] == [
        ("pits-tube-measure", (1,)),
        ("finish-never-grades", (2,)),
    ]
    assert [(ruling.rule, ruling.answers) for ruling in guard.rulings] == [("bend-tinware", (1, 2))]
    assert guard.rulings[0].argument.startswith("one side dresses")


def test_the_owners_grade_stands_beside_the_ruling_never_instead(data: ReportData) -> None:
    bar = part(data, 3)
    assert bar.grade == "replace"
    assert bar.own_grade is not None
    assert bar.own_grade.grade == "repair"


def test_a_part_is_called_once() -> None:
    """The catalogue's name and the owner's stand together only where neither says the other."""
    for own, label in (
        ("", "Handlebar"),
        ("handlebar", "Handlebar"),
        ("Handlebar, bent", "Handlebar, bent"),
        ("off the other one", "Handlebar (off the other one)"),
    ):
        assert (
            gather_report(ferryman(graded=(graded(Part(1, "B030", own), BAR, (CRACK_RULE,)),))).parts[0].label == label
        )


def test_a_name_too_long_for_a_heading_is_cut_there_and_told_whole_below() -> None:
    own = "A lug " + "of some kind " * 30
    told = gather_report(ferryman(graded=(graded(Part(1, None, own), None, (CRACK_RULE,)),))).parts[0]
    assert len(told.label) <= LONGEST_HEADING
    assert told.label.endswith("kind…") or told.label.endswith("of…") or told.label.endswith("some…")
    assert told.called == own


@pytest.mark.parametrize(
    ("sure", "source", "said"),
    [
        ("common practice", "common practice, no source", "common practice, no source"),
        ("judgement", "judgement", "judgement"),
        ("stated", "HSE INDG314", "stated · HSE INDG314"),
        ("judgement", "", "judgement"),
    ],
)
def test_how_sure_a_rule_is_is_said_once(sure: str, source: str, said: str) -> None:
    assert describe_source(sure, source) == said


def test_the_line_of_an_assembly_names_every_gap(data: ReportData) -> None:
    lines = {assembly.name: assembly.standing for assembly in data.assemblies}
    assert lines["Rear wheel"] == "1 of 3 positions filled: 1 short, 1 inside and not seen"
    assert lines["Electrical"] == "0 of 2 positions filled: 1 here but wrong, 1 not looked for"
    assert lines["Steering"] == "1 of 1 positions filled"
    assert lines["Not yet known what they are"] == ""


def test_what_is_inside_a_part_is_told_by_how_it_is_known(data: ReportData) -> None:
    assert part(data, 7).inside_it == (("Not in it", "Float (missing); Float needle (missing)."),)
    assert part(data, 4).inside_it == (("Inside it, not seen", "Brake shoes, rear."),)
    lugs = tuple(component(f"X{n}", f"Lug {n}", "Frame", "safety", "lug", inside="B001") for n in range(20))
    frame = gather_report(
        ferryman(schedule=(*SCHEDULE, *lugs), gaps=tuple(Gap(one, "not-looked", 0) for one in lugs))
    ).parts[0]
    ((head, said),) = frame.inside_it
    assert head == "On or in it, not looked for"
    assert said.endswith("Lug 5; and 14 more.")


def test_who_and_when_stand_beside_a_line_only_where_there_are_several(data: ReportData) -> None:
    assert data.record.several
    alone = gather_report(ferryman(graded=parts()[2:3])).record
    assert not alone.several
    assert alone.looked_by == ("A. Owner",)


def test_a_reading_that_cannot_be_read_any_more_is_told_as_written() -> None:
    odd = Reading(1, 1, "wall_left", 1.4, "mm", "as thick as a penny", "", None, "A. Owner", "")
    one = graded(Part(1, "B030", ""), BAR, (CRACK_RULE,), readings=(odd,))
    assert gather_report(ferryman(graded=(one,))).parts[0].readings[0].written == "as thick as a penny"


# --- where the pictures of an entry stand


def placed(photos: int, note: str = "") -> Placing:
    one = graded(Part(1, "B030", "", photos=tuple(range(1, photos + 1)), note=note), BAR, (CRACK_RULE,),
                 looks=tuple(Look(n, 1, "bare", photos=(n,)) for n in range(4, photos + 1)))  # fmt: skip
    marked = replace(one, marks=tuple(Mark(n, n, 1, None, "pin", ((0.5, 0.5),)) for n in range(1, photos + 1)))
    return place_entry(gather_report(ferryman(graded=(marked,), photos={n: photo(n) for n in range(1, 20)})).parts[0])


def test_pictures_stand_beside_the_facts_or_below_them() -> None:
    assert (placed(1).beside, placed(1).pair, placed(1).together) == (1, False, True)
    assert (placed(2).beside, placed(2).pair, placed(2).together) == (2, True, True)
    assert (placed(3).beside, placed(3).above) == (0, 3)
    assert (placed(4).beside, placed(4).pair, placed(4).above) == (2, True, 0)
    assert (placed(6).beside, placed(6).above) == (0, 3)
    many_words = placed(2, "word " * 300)
    assert (many_words.beside, many_words.pair) == (2, False)


def test_only_what_surely_fits_on_a_page_is_held_together() -> None:
    assert not placed(1, "word " * 900).together
    assert placed(18).together, "further pictures are no part of what is held together"
    upright = gather_report(ferryman(photos={n: photo(n, 3000, 4000) for n in range(1, 20)}))
    assert all(place_entry(entry).together for entry in upright.parts if entry.id != 10)


def test_findings_are_told_in_words(data: ReportData) -> None:
    line = part(data, 3).findings[0]
    assert (line.label, line.step_name) == ("Crack", "Proved, in a load path")
    assert line.looks_like == "dye or a glass shows it at a lug, weld or clamp"
    assert line.how_seen == "on the bare part"


def test_a_finding_of_a_kind_that_is_gone_is_still_told() -> None:
    odd = graded(Part(1, "B030", ""), BAR, (CRACK_RULE,), findings=(finding(1, 1, "no-such", 2),))
    line = gather_report(ferryman(graded=(odd,))).parts[0].findings[0]
    assert (line.label, line.step_name) == ("no-such", "step 2")


def test_who_looked_and_when(data: ReportData) -> None:
    assert data.record.looked_by == ("A. Owner", "B. Friend")
    assert (data.record.first, data.record.last) == ("2026-03-07", "2026-03-14")
    assert data.record.rules_version == "1 of 2026-11"
    nobody = gather_report(ferryman(graded=()))
    assert (nobody.record.first, nobody.record.looked_by) == ("", ())


def test_cautions_are_those_that_apply_and_the_standing_one() -> None:
    badge = component("X1", "Badge", "Tinware", "cosmetic", "trim", material="copper-alloy")
    bare = ReportSource(Machine("A", "lightweight"), (badge,), (), (), {}, {}, "1", "0", "now")
    assert [caution.title for caution in gather_report(bare).cautions] == ["Before anything else"]
    titles = [caution.title for caution in gather_report(ferryman()).cautions]
    for word in ("Steering", "Petrol tank", "Asbestos", "Lead", "Springs"):
        assert any(word in title for title in titles), word
    assert all(caution.source for caution in gather_report(ferryman()).cautions)
    assert "Local codes and licensed practice come first" in gather_report(bare).cautions[0].text


@pytest.mark.parametrize(
    ("part_class", "title"),
    [
        ("tank", "Petrol tank"),
        ("brake-shoe", "Asbestos"),
        ("fastener", "Cadmium"),
        ("spring", "Springs"),
        ("yoke", "Steering"),
    ],
)
def test_a_caution_comes_with_its_class(part_class: str, title: str) -> None:
    one = component("X1", "Thing", "Frame", "safety", part_class)
    titles = [caution.title for caution in gather_report(ferryman(schedule=(one,), graded=(), gaps=())).cautions]
    assert any(title in said for said in titles)


# --- crops


def test_marks_lie_inside_their_crops_and_carry_their_findings_number(data: ReportData) -> None:
    for entry in data.parts:
        for picture in entry.pictures:
            left, top, right, bottom = picture.crop.box
            assert 0 <= left < right <= 1
            assert 0 <= top < bottom <= 1
            for mark in picture.marks:
                assert mark.number in {line.number for line in entry.findings} | {None}
                assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in mark.points)


def test_marks_near_each_other_share_a_crop_and_far_ones_do_not(data: ReportData) -> None:
    assert [mark.number for mark in part(data, 1).pictures[0].marks] == [1, 2]
    guard = part(data, 8)
    assert [[mark.number for mark in picture.marks] for picture in guard.pictures] == [[1], [2]]


def test_a_crop_shows_the_surroundings_and_never_asks_for_more_than_the_photo_holds(data: ReportData) -> None:
    pin = part(data, 3).pictures[0]
    left, _, right, _ = pin.crop.box
    assert right - left == pytest.approx(0.5, abs=0.001)
    small = replace(photo(5), width=400, height=300)
    tiny = gather_report(ferryman(photos={5: small})).pictures[0]
    assert tiny.crop.width_px == 200


def test_unmarked_photos_are_printed_up_to_a_number_and_the_rest_is_told(data: ReportData) -> None:
    odd = part(data, 10)
    assert len(odd.pictures) == UNMARKED
    assert odd.unprinted == 5 - UNMARKED


def test_every_picture_says_in_words_what_it_shows(data: ReportData) -> None:
    assert part(data, 3).pictures[0].alt == "Photo 5 of Handlebar: mark 1, crack"
    assert all(picture.alt and picture.caption for picture in data.pictures)


def test_a_photo_that_is_gone_is_passed_over() -> None:
    assert gather_report(ferryman(photos={}, plan=())).pictures == ()


def test_many_pictures_are_cut_smaller() -> None:
    widths = [crop_width_px(count) for count in (10, 150, 151, 600, 5000)]
    assert widths == sorted(widths, reverse=True)
    assert widths[0] >= 72 / 25.4 * 300, "300 dots an inch at 72 mm while there are few"
    assert widths[-1] >= 72 / 25.4 * 150, "150 dots an inch always"


fraction = st.floats(-0.2, 1.2, allow_nan=False)


@given(
    st.lists(st.tuples(fraction, fraction), min_size=1, max_size=5),
    st.integers(1, 9000),
    st.integers(1, 9000),
)
def test_any_mark_on_any_photo_gives_a_crop_inside_it(
    points: list[tuple[float, float]], width: int, height: int
) -> None:
    shape = {1: "pin", 2: "box"}.get(len(points), "outline")
    mark = Mark(1, 1, 1, 1, shape, tuple(points))  # type: ignore[arg-type]
    one = graded(
        Part(1, "B001", "", photos=(1,)), FRAME, (CRACK_RULE,), findings=(finding(1, 1, "crack", 3),), marks=(mark,)
    )
    (picture,) = gather_report(ferryman(graded=(one,), photos={1: photo(1, width, height)}, plan=())).pictures
    left, top, right, bottom = picture.crop.box
    assert 0 <= left < right <= 1
    assert 0 <= top < bottom <= 1
    assert picture.crop.width_px >= 1
    assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in picture.marks[0].points)


def test_tallies_add_themselves_up() -> None:
    assert PositionCount(2, 1, 1) + PositionCount(3, 0, 0, 1, 1, 1, 0) == PositionCount(5, 1, 1, 1, 1, 1, 0)
