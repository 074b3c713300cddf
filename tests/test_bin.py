"""What was put aside comes back as it was, bytes and all; nothing is taken out before 30 days, and only on purpose.

A new table with ``gone_at`` wants its way into the bin in ``REMOVALS`` and a row in ``full_survey``.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import full_survey
import pytest
from click.testing import CliRunner
from full_survey import standing
from web_client import CheckedClient
from web_survey import BAR, PLATE

from survey import bench
from survey.errors import BadValue, LoopInOrder, NoSuchThing, SurveyBusy
from web.door import main

THEN, DAY_29, DAY_31 = "2026-06-01T12:00:00Z", "2026-06-30T12:00:00Z", "2026-07-02T12:00:00Z"


@pytest.fixture
def heap(full: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(full, tmp_path / "heap"))


def at(folder: Path, time: str) -> bench.Survey:
    return bench.open_survey(folder, clock=lambda: time)


def in_bin(survey: bench.Survey) -> list[tuple[str, int | str]]:
    return [(one.kind, one.id) for one in bench.binned(survey)]


def one_of(survey: bench.Survey, kind: str) -> Any:
    """The first row of that kind that stands; of the positions one that the owner added and nothing needs."""
    if kind == "component":
        return full_survey.SPARE.id
    return survey.store.rows(f"SELECT id FROM {kind} WHERE gone_at IS NULL ORDER BY id")[0]["id"]


def drop_numbered_want(survey: bench.Survey, number: int) -> None:
    said = survey.store.rows("SELECT component, label FROM want WHERE id = ?", [number])[0]
    bench.drop_want(survey, said["component"], label=said["label"])


REMOVALS: dict[str, Callable[[bench.Survey, Any], None]] = {
    "part": bench.remove_part,
    "photo": bench.remove_photo,
    "finding": bench.remove_finding,
    "look": bench.remove_look,
    "reading": bench.remove_reading,
    "mark": bench.remove_mark,
    "number": bench.remove_number,
    "component": bench.remove_component,
    "before_pair": bench.remove_before,
    "want": drop_numbered_want,
    "stuck": bench.remove_stuck,
    "money_line": bench.remove_money_line,
    "comparison": bench.remove_comparison,
    "batch": bench.remove_batch,
    "batch_item": bench.remove_item,
    "evidence": bench.remove_evidence,
    "fit": bench.remove_fit,
}


def test_every_table_has_a_row_that_stands(heap: Path) -> None:
    with at(heap, THEN) as survey:
        assert [table for table, told in standing(survey).items() if not told] == []


def test_every_kind_can_be_put_aside() -> None:
    assert set(REMOVALS) == set(bench.BIN_KINDS) == set(bench.BIN_WORDS)


@pytest.mark.parametrize("kind", bench.BIN_KINDS)
def test_what_was_put_aside_comes_back_whole_after_a_restart(heap: Path, kind: str) -> None:
    with at(heap, THEN) as survey:
        before, number = standing(survey), one_of(survey, kind)
        originals = {path: path.read_bytes() for path in (heap / "originals").rglob("*.*")}
        REMOVALS[kind](survey, number)
        assert standing(survey) != before
    with at(heap, DAY_31) as survey:
        assert in_bin(survey) == [(kind, number)]
        assert bench.binned(survey)[0].words
        bench.put_back(survey, kind, number)
        assert standing(survey) == before
        assert in_bin(survey) == [] and bench.check(survey) == []
        bench.undo(survey)
        assert in_bin(survey) == [(kind, number)]
    assert {path: path.read_bytes() for path in (heap / "originals").rglob("*.*")} == originals


def test_a_part_comes_back_with_what_lay_in_it_and_without_what_moved_on(heap: Path) -> None:
    with at(heap, THEN) as survey:
        inner, moved = (bench.add_part(survey, None, label=name, inside=BAR).id for name in ("ring", "pin"))
        bench.remove_part(survey, BAR)
        bench.change_part(survey, moved, inside=PLATE)
        bench.put_back(survey, "part", BAR)
        assert bench.part(survey, inner).part.inside == BAR
        assert bench.part(survey, moved).part.inside == PLATE


def test_what_belongs_to_a_thing_in_the_bin_waits_for_it(heap: Path) -> None:
    with at(heap, THEN) as survey:
        finding = bench.part(survey, BAR).findings[0].id
        bench.remove_finding(survey, finding)
        bench.remove_part(survey, BAR)
        assert in_bin(survey) == [("part", BAR)]
        with pytest.raises(BadValue, match=f"belongs to part {BAR}"):
            bench.put_back(survey, "finding", finding)
        bench.put_back(survey, "part", BAR)
        assert bench.part(survey, BAR).findings == () and in_bin(survey) == [("finding", finding)]
        bench.put_back(survey, "finding", finding)
        assert bench.part(survey, BAR).findings[0].id == finding


@pytest.mark.parametrize(
    ("kind", "number"),
    [
        ("part", 1),
        ("part", 99),
        ("part", "1 OR 1"),
        ("part", "٣"),
        ("part", "\ud800"),
        ("event", 1),
        ("position", "B055"),
        ("x; DROP TABLE part", 1),
    ],
)
def test_only_what_is_in_the_bin_comes_back(heap: Path, kind: str, number: int | str) -> None:
    with at(heap, THEN) as survey, pytest.raises((NoSuchThing, BadValue)):
        bench.put_back(survey, kind, number)


def test_a_position_goes_only_when_nothing_needs_it(heap: Path) -> None:
    with at(heap, THEN) as survey:
        part = bench.add_part(survey, full_survey.SPARE.id).id
        for kept, why in (("B052", "came with"), ("P01", "own pair 1"), ("P02", f"part {part}")):
            with pytest.raises(BadValue, match=why):
                bench.remove_component(survey, kept)
        bench.remove_part(survey, part)
        bench.set_want(survey, "P02", note="two")
        bench.set_position(survey, "P02", "missing", "not in the boxes")
        before = standing(survey)
        bench.remove_component(survey, "P02")
        assert in_bin(survey)[0] == ("component", "P02") and len(in_bin(survey)) == 1, "the part waits for its position"
        with pytest.raises(BadValue, match="belongs to component P02"):
            bench.put_back(survey, "part", part)
        bench.put_back(survey, "component", "P02")
        assert standing(survey) == before
        bench.put_back(survey, "part", str(part))
        assert bench.part(survey, part).component == full_survey.SPARE


def test_a_position_that_is_added_anew_brings_nothing_of_the_old_one(heap: Path) -> None:
    with at(heap, THEN) as survey:
        bench.set_want(survey, "P02", note="two")
        bench.set_position(survey, "P02", "missing", "not in the boxes")
        bench.remove_component(survey, "P02")
        bench.add_component(survey, full_survey.SPARE)
        (gap,) = [one for one in bench.gaps(survey) if one.component.id == "P02"]
        assert (gap.state, gap.note) == ("not-looked", "")
        assert survey.store.rows("SELECT id FROM want WHERE component = 'P02' AND gone_at IS NULL") == []
        assert [kind for kind, _ in in_bin(survey)] == ["want"], "it can still be put back"
        bench.put_back(survey, "want", in_bin(survey)[0][1])
        assert bench.check(survey) == []


def test_what_was_paid_for_a_position_stays_in_hand_and_pays_for_it_again(heap: Path) -> None:
    with at(heap, THEN) as survey:
        bench.set_position(survey, "P02", "missing")
        bench.set_want(survey, "P02", likely="8")
        paid = bench.pay(survey, "want-P02", "7.50")
        before, money = standing(survey), bench.money(survey).money
        bench.remove_component(survey, "P02")
        assert bench.money(survey).money.spent == money.spent
        assert bench.change_money_line(survey, paid.own or 0, note="sent back").note == "sent back", "it waits for none"
        bench.undo(survey)
        bench.put_back(survey, "component", "P02")
        assert standing(survey) == before and bench.money(survey).money == money


def test_a_position_stays_while_a_part_is_kept_as_its_pattern(heap: Path) -> None:
    with at(heap, THEN) as survey:
        bench.keep_as_pattern(survey, PLATE, "P02")
        with pytest.raises(BadValue, match=f"pattern {PLATE} names it"):
            bench.remove_component(survey, "P02")
        bench.keep_as_pattern(survey, PLATE, None)
        bench.remove_component(survey, "P02")
        assert in_bin(survey) == [("component", "P02")]


def test_a_mark_keeps_the_time_of_its_own_going_when_its_photo_follows(heap: Path) -> None:
    with at(heap, THEN) as survey:
        mark = one_of(survey, "mark")
        bench.remove_mark(survey, mark)
    with at(heap, DAY_29) as survey:
        photo = survey.store.rows("SELECT photo FROM mark WHERE id = ?", [mark])[0]["photo"]
        bench.remove_photo(survey, photo)
    with at(heap, DAY_31) as survey:
        assert [(one.kind, one.id) for one in bench.empty_bin(survey, lambda: DAY_31)] == [("mark", mark)]
        bench.put_back(survey, "photo", photo)
        assert bench.check(survey) == []


def test_evidence_in_the_bin_does_not_hold_its_photo_there(heap: Path) -> None:
    with at(heap, DAY_29) as survey:
        evidence = bench.add_evidence(survey, BAR, "casting", photo=3).id
        bench.remove_evidence(survey, evidence)
    with at(heap, THEN) as survey:
        bench.remove_photo(survey, 3)
    with at(heap, DAY_31) as survey:
        assert ("photo", 3) in [(one.kind, one.id) for one in bench.empty_bin(survey, lambda: DAY_31)]
        bench.put_back(survey, "evidence", evidence)
        (told,) = bench.belonging_of(survey, BAR).said
        assert told.photo is None and bench.check(survey) == []


def test_a_position_stays_while_something_in_the_bin_names_it(heap: Path) -> None:
    with at(heap, DAY_29) as survey:
        part = bench.add_part(survey, full_survey.SPARE.id).id
        bench.remove_part(survey, part)
    with at(heap, THEN) as survey:
        bench.remove_component(survey, full_survey.SPARE.id)
    with at(heap, DAY_31) as survey:
        assert bench.empty_bin(survey, lambda: DAY_31) == []
        bench.put_back(survey, "component", full_survey.SPARE.id)
        bench.put_back(survey, "part", part)
        assert bench.check(survey) == []


def test_a_want_whose_place_is_taken_does_not_come_back(heap: Path) -> None:
    with at(heap, THEN) as survey:
        bench.drop_want(survey, "B159")
        bench.set_want(survey, "B159", note="another")
        ((_, number),) = in_bin(survey)
        with pytest.raises(BadValue, match="another stands in its place"):
            bench.put_back(survey, "want", number)
        bench.drop_want(survey, "B159")
        bench.put_back(survey, "want", number)


def test_a_pair_that_went_round_in_a_circle_since_does_not_come_back(heap: Path) -> None:
    with at(heap, THEN) as survey:
        pair = bench.add_before(survey, "P02", "B052", "seen on the bench").own
        assert pair
        bench.remove_before(survey, pair)
        bench.add_before(survey, "B052", "P02", "seen better since")
        with pytest.raises(LoopInOrder):
            bench.put_back(survey, "before_pair", pair)
        bench.undo(survey)
        bench.remove_component(survey, "P02")
        with pytest.raises(NoSuchThing, match="P02"):
            bench.put_back(survey, "before_pair", pair)
        assert bench.check(survey) == []


def test_a_photo_in_the_bin_is_nowhere_else_and_comes_back_when_it_is_taken_in_again(
    heap: Path, tmp_path: Path
) -> None:
    with at(heap, THEN) as survey:
        photo = bench.photo(survey, 1)
        again = Path(shutil.copy(heap / photo.path, tmp_path / "again.jpg"))
        bench.remove_photo(survey, 1)
        assert 1 not in [one.id for one in bench.photos(survey)]
        assert 1 not in bench.part(survey, BAR).part.photos
        bench.report(survey, tmp_path / "report.html")
        with pytest.raises(NoSuchThing):
            bench.picture_path(survey, 1, "original")
        assert [taken.photo for taken in bench.take_in(survey, [again]).already] == [1]
        assert bench.photo(survey, 1) == photo


def test_nothing_is_taken_out_before_its_time(heap: Path) -> None:
    with at(heap, THEN) as survey:
        bench.remove_photo(survey, 1)
        bench.remove_number(survey, 1)
    with at(heap, DAY_29) as survey:
        assert bench.empty_bin(survey, lambda: DAY_29) == []
        assert len(in_bin(survey)) == 2
    with at(heap, DAY_31) as survey:
        assert len(in_bin(survey)) == 2, "nothing leaves the bin by itself"


@pytest.mark.parametrize("kind", bench.BIN_KINDS)
def test_what_is_old_goes_on_purpose_and_stays_in_the_history(heap: Path, kind: str) -> None:
    with at(heap, THEN) as survey:
        number = one_of(survey, kind)
        path = heap / bench.photo(survey, 1).path
        thumb = bench.picture_path(survey, 1, "thumb")
        REMOVALS[kind](survey, number)
    with at(heap, DAY_31) as survey:
        assert [(one.kind, one.id) for one in bench.empty_bin(survey, lambda: DAY_31)][-1] == (kind, number)
        assert in_bin(survey) == [] and bench.check(survey) == []
        assert survey.store.rows(f"SELECT * FROM {kind} WHERE id = ?", [number]) == []
        last = bench.history(survey, kind, str(number))[-1]
        assert last.verb == "empty bin" and last.before and last.after is None
        assert path.exists() == thumb.exists() == (kind != "photo")
        assert bench.next_turns(survey) == (None, None), "what was done before cannot be taken back"
        with pytest.raises(NoSuchThing):
            bench.put_back(survey, kind, number)


def test_a_thing_waits_for_the_youngest_that_hangs_on_it(heap: Path) -> None:
    with at(heap, "2026-05-31T12:00:00Z") as survey:
        finding = bench.part(survey, BAR).findings[0].id
    with at(heap, DAY_29) as survey:
        bench.remove_finding(survey, finding)
    with at(heap, THEN) as survey:
        bench.remove_part(survey, BAR)
    with at(heap, DAY_31) as survey:
        assert ("part", BAR) not in [(one.kind, one.id) for one in bench.empty_bin(survey, lambda: DAY_31)]
        bench.put_back(survey, "part", BAR)


def test_the_bin_is_not_emptied_while_another_has_the_survey_in_hand(heap: Path) -> None:
    with at(heap, THEN) as survey:
        bench.remove_number(survey, 1)
        with bench.hold(heap, "serving"), pytest.raises(SurveyBusy, match="serving"):
            bench.empty_bin(survey, lambda: DAY_31)
        assert in_bin(survey) == [("number", 1)]


def test_the_command_lists_puts_back_and_empties(heap: Path) -> None:
    def run(*words: str) -> str:
        said = CliRunner().invoke(main, ["bin", str(heap), *words])
        assert said.exit_code == 0, said.output
        return said.stdout

    assert [(one["kind"], one["id"]) for one in json.loads(run("--photo", "2", "--json"))] == [("photo", 2)]
    assert "photo 2" in run()
    assert "0 things" in run("--empty")
    assert json.loads(run("--put-back", "photo", "2", "--json")) == []
    assert CliRunner().invoke(main, ["bin", str(heap), "--empty", "--photo", "1"]).exit_code == 2


def test_the_page_puts_back(client: CheckedClient, survey: bench.Survey) -> None:
    bench.remove_part(survey, PLATE)
    assert f"part {PLATE}" in client.get("/bin").words
    page = client.send("/bin/put-back", {"binned": "part", "number": str(PLATE)})
    assert "Put back." in page.words and "Nothing lies in the bin" in page.words
    assert bench.part(survey, PLATE).findings


def test_a_photo_goes_into_the_bin_from_its_page_and_is_taken_back(client: CheckedClient, survey: bench.Survey) -> None:
    photo = bench.photo(survey, 1)
    assert "Put it in the bin" in client.get("/photos/1").words
    page = client.send("/photos/1/remove", {})
    assert "The photo is in the bin" in page.words and "photo 1" in client.get("/bin").words
    assert 1 not in [one.id for one in bench.photos(survey)]
    assert client.post("/photos/1/remove", {}, 404)
    act = bench.next_turns(survey)[0]
    assert act and act.words.startswith("Photo put in the bin: photo 1")
    client.send("/undo", {"batch": act.batch})
    assert bench.photo(survey, 1) == photo
