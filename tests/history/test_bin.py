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

from survey.belonging.verbs import add_evidence, get_belonging, keep_as_pattern, remove_evidence
from survey.build_order.verbs import add_pair, remove_pair
from survey.errors import BadValue, LoopInOrder, NoSuchThing, SurveyBusy
from survey.fits.verbs import remove_fit
from survey.history.bin_verbs import BIN_KINDS, BIN_WORDS, empty_bin, list_bin, put_back
from survey.history.verbs import get_undo_and_redo, list_events, undo_act
from survey.machine.verbs import remove_number
from survey.money.verbs import change_money_line, get_reckoning, record_payment, remove_money_line
from survey.money.worth_verbs import remove_comparison
from survey.outwork.verbs import remove_batch, remove_item
from survey.parts.finding_verbs import remove_finding, remove_look, remove_reading
from survey.parts.verbs import add_part, change_part, get_part, remove_part
from survey.photos.verbs import (
    get_photo,
    get_picture_path,
    list_photos,
    remove_mark,
    remove_photo,
    take_in_photos,
)
from survey.report.verbs import write_report
from survey.safekeeping.check_verbs import check_survey
from survey.safekeeping.verbs import hold_survey
from survey.schedule.verbs import add_component, list_gaps, remove_component, set_position
from survey.shelf.verbs import open_survey
from survey.store.survey import Survey
from survey.stuck.verbs import remove_stuck
from survey.wants.verbs import drop_want, set_want
from web.main import main

THEN, DAY_29, DAY_31 = "2026-06-01T12:00:00Z", "2026-06-30T12:00:00Z", "2026-07-02T12:00:00Z"


@pytest.fixture
def heap(full: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(full, tmp_path / "heap"))


def at(folder: Path, time: str) -> Survey:
    return open_survey(folder, clock=lambda: time)


def in_bin(survey: Survey) -> list[tuple[str, int | str]]:
    return [(one.kind, one.id) for one in list_bin(survey)]


def one_of(survey: Survey, kind: str) -> Any:
    """The first row of that kind that stands; of the positions one that the owner added and nothing needs."""
    if kind == "component":
        return full_survey.SPARE.id
    return survey.store.rows(f"SELECT id FROM {kind} WHERE gone_at IS NULL ORDER BY id")[0]["id"]


def drop_numbered_want(survey: Survey, number: int) -> None:
    said = survey.store.rows("SELECT component, label FROM want WHERE id = ?", [number])[0]
    drop_want(survey, said["component"], label=said["label"])


REMOVALS: dict[str, Callable[[Survey, Any], None]] = {
    "part": remove_part,
    "photo": remove_photo,
    "finding": remove_finding,
    "look": remove_look,
    "reading": remove_reading,
    "mark": remove_mark,
    "number": remove_number,
    "component": remove_component,
    "before_pair": remove_pair,
    "want": drop_numbered_want,
    "stuck": remove_stuck,
    "money_line": remove_money_line,
    "comparison": remove_comparison,
    "batch": remove_batch,
    "batch_item": remove_item,
    "evidence": remove_evidence,
    "fit": remove_fit,
}


def test_every_table_has_a_row_that_stands(heap: Path) -> None:
    with at(heap, THEN) as survey:
        assert [table for table, told in standing(survey).items() if not told] == []


def test_every_kind_can_be_put_aside() -> None:
    assert set(REMOVALS) == set(BIN_KINDS) == set(BIN_WORDS)


@pytest.mark.parametrize("kind", BIN_KINDS)
def test_what_was_put_aside_comes_back_whole_after_a_restart(heap: Path, kind: str) -> None:
    with at(heap, THEN) as survey:
        before, number = standing(survey), one_of(survey, kind)
        originals = {path: path.read_bytes() for path in (heap / "originals").rglob("*.*")}
        REMOVALS[kind](survey, number)
        assert standing(survey) != before
    with at(heap, DAY_31) as survey:
        assert in_bin(survey) == [(kind, number)]
        assert list_bin(survey)[0].words
        put_back(survey, kind, number)
        assert standing(survey) == before
        assert in_bin(survey) == [] and check_survey(survey) == []
        undo_act(survey)
        assert in_bin(survey) == [(kind, number)]
    assert {path: path.read_bytes() for path in (heap / "originals").rglob("*.*")} == originals


def test_a_part_comes_back_with_what_lay_in_it_and_without_what_moved_on(heap: Path) -> None:
    with at(heap, THEN) as survey:
        inner, moved = (add_part(survey, None, label=name, inside=BAR).id for name in ("ring", "pin"))
        remove_part(survey, BAR)
        change_part(survey, moved, inside=PLATE)
        put_back(survey, "part", BAR)
        assert get_part(survey, inner).part.inside == BAR
        assert get_part(survey, moved).part.inside == PLATE


def test_what_belongs_to_a_thing_in_the_bin_waits_for_it(heap: Path) -> None:
    with at(heap, THEN) as survey:
        finding = get_part(survey, BAR).findings[0].id
        remove_finding(survey, finding)
        remove_part(survey, BAR)
        assert in_bin(survey) == [("part", BAR)]
        with pytest.raises(BadValue, match=f"belongs to part {BAR}"):
            put_back(survey, "finding", finding)
        put_back(survey, "part", BAR)
        assert get_part(survey, BAR).findings == () and in_bin(survey) == [("finding", finding)]
        put_back(survey, "finding", finding)
        assert get_part(survey, BAR).findings[0].id == finding


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
        put_back(survey, kind, number)


def test_a_position_goes_only_when_nothing_needs_it(heap: Path) -> None:
    with at(heap, THEN) as survey:
        part = add_part(survey, full_survey.SPARE.id).id
        for kept, why in (("B052", "came with"), ("P01", "own pair 1"), ("P02", f"part {part}")):
            with pytest.raises(BadValue, match=why):
                remove_component(survey, kept)
        remove_part(survey, part)
        set_want(survey, "P02", note="two")
        set_position(survey, "P02", "missing", "not in the boxes")
        before = standing(survey)
        remove_component(survey, "P02")
        assert in_bin(survey)[0] == ("component", "P02") and len(in_bin(survey)) == 1, "the part waits for its position"
        with pytest.raises(BadValue, match="belongs to component P02"):
            put_back(survey, "part", part)
        put_back(survey, "component", "P02")
        assert standing(survey) == before
        put_back(survey, "part", str(part))
        assert get_part(survey, part).component == full_survey.SPARE


def test_a_position_that_is_added_anew_brings_nothing_of_the_old_one(heap: Path) -> None:
    with at(heap, THEN) as survey:
        set_want(survey, "P02", note="two")
        set_position(survey, "P02", "missing", "not in the boxes")
        remove_component(survey, "P02")
        add_component(survey, full_survey.SPARE)
        (gap,) = [one for one in list_gaps(survey) if one.component.id == "P02"]
        assert (gap.state, gap.note) == ("not-looked", "")
        assert survey.store.rows("SELECT id FROM want WHERE component = 'P02' AND gone_at IS NULL") == []
        assert [kind for kind, _ in in_bin(survey)] == ["want"], "it can still be put back"
        put_back(survey, "want", in_bin(survey)[0][1])
        assert check_survey(survey) == []


def test_what_was_paid_for_a_position_stays_in_hand_and_pays_for_it_again(heap: Path) -> None:
    with at(heap, THEN) as survey:
        set_position(survey, "P02", "missing")
        set_want(survey, "P02", likely="8")
        paid = record_payment(survey, "want-P02", "7.50")
        before, money = standing(survey), get_reckoning(survey).money
        remove_component(survey, "P02")
        assert get_reckoning(survey).money.spent == money.spent
        assert change_money_line(survey, paid.own or 0, note="sent back").note == "sent back", "it waits for none"
        undo_act(survey)
        put_back(survey, "component", "P02")
        assert standing(survey) == before and get_reckoning(survey).money == money


def test_a_position_stays_while_a_part_is_kept_as_its_pattern(heap: Path) -> None:
    with at(heap, THEN) as survey:
        keep_as_pattern(survey, PLATE, "P02")
        with pytest.raises(BadValue, match=f"pattern {PLATE} names it"):
            remove_component(survey, "P02")
        keep_as_pattern(survey, PLATE, None)
        remove_component(survey, "P02")
        assert in_bin(survey) == [("component", "P02")]


def test_a_mark_keeps_the_time_of_its_own_going_when_its_photo_follows(heap: Path) -> None:
    with at(heap, THEN) as survey:
        mark = one_of(survey, "mark")
        remove_mark(survey, mark)
    with at(heap, DAY_29) as survey:
        photo = survey.store.rows("SELECT photo FROM mark WHERE id = ?", [mark])[0]["photo"]
        remove_photo(survey, photo)
    with at(heap, DAY_31) as survey:
        assert [(one.kind, one.id) for one in empty_bin(survey, lambda: DAY_31)] == [("mark", mark)]
        put_back(survey, "photo", photo)
        assert check_survey(survey) == []


def test_evidence_in_the_bin_does_not_hold_its_photo_there(heap: Path) -> None:
    with at(heap, DAY_29) as survey:
        evidence = add_evidence(survey, BAR, "casting", photo=3).id
        remove_evidence(survey, evidence)
    with at(heap, THEN) as survey:
        remove_photo(survey, 3)
    with at(heap, DAY_31) as survey:
        assert ("photo", 3) in [(one.kind, one.id) for one in empty_bin(survey, lambda: DAY_31)]
        put_back(survey, "evidence", evidence)
        (told,) = get_belonging(survey, BAR).said
        assert told.photo is None and check_survey(survey) == []


def test_a_position_stays_while_something_in_the_bin_names_it(heap: Path) -> None:
    with at(heap, DAY_29) as survey:
        part = add_part(survey, full_survey.SPARE.id).id
        remove_part(survey, part)
    with at(heap, THEN) as survey:
        remove_component(survey, full_survey.SPARE.id)
    with at(heap, DAY_31) as survey:
        assert empty_bin(survey, lambda: DAY_31) == []
        put_back(survey, "component", full_survey.SPARE.id)
        put_back(survey, "part", part)
        assert check_survey(survey) == []


def test_a_want_whose_place_is_taken_does_not_come_back(heap: Path) -> None:
    with at(heap, THEN) as survey:
        drop_want(survey, "B159")
        set_want(survey, "B159", note="another")
        ((_, number),) = in_bin(survey)
        with pytest.raises(BadValue, match="another stands in its place"):
            put_back(survey, "want", number)
        drop_want(survey, "B159")
        put_back(survey, "want", number)


def test_a_pair_that_went_round_in_a_circle_since_does_not_come_back(heap: Path) -> None:
    with at(heap, THEN) as survey:
        pair = add_pair(survey, "P02", "B052", "seen on the bench").own
        assert pair
        remove_pair(survey, pair)
        add_pair(survey, "B052", "P02", "seen better since")
        with pytest.raises(LoopInOrder):
            put_back(survey, "before_pair", pair)
        undo_act(survey)
        remove_component(survey, "P02")
        with pytest.raises(NoSuchThing, match="P02"):
            put_back(survey, "before_pair", pair)
        assert check_survey(survey) == []


def test_a_photo_in_the_bin_is_nowhere_else_and_comes_back_when_it_is_taken_in_again(
    heap: Path, tmp_path: Path
) -> None:
    with at(heap, THEN) as survey:
        photo = get_photo(survey, 1)
        again = Path(shutil.copy(heap / photo.path, tmp_path / "again.jpg"))
        remove_photo(survey, 1)
        assert 1 not in [one.id for one in list_photos(survey)]
        assert 1 not in get_part(survey, BAR).part.photos
        write_report(survey, tmp_path / "report.html")
        with pytest.raises(NoSuchThing):
            get_picture_path(survey, 1, "original")
        assert [taken.photo for taken in take_in_photos(survey, [again]).already] == [1]
        assert get_photo(survey, 1) == photo


def test_nothing_is_taken_out_before_its_time(heap: Path) -> None:
    with at(heap, THEN) as survey:
        remove_photo(survey, 1)
        remove_number(survey, 1)
    with at(heap, DAY_29) as survey:
        assert empty_bin(survey, lambda: DAY_29) == []
        assert len(in_bin(survey)) == 2
    with at(heap, DAY_31) as survey:
        assert len(in_bin(survey)) == 2, "nothing leaves the bin by itself"


@pytest.mark.parametrize("kind", BIN_KINDS)
def test_what_is_old_goes_on_purpose_and_stays_in_the_history(heap: Path, kind: str) -> None:
    with at(heap, THEN) as survey:
        number = one_of(survey, kind)
        path = heap / get_photo(survey, 1).path
        thumb = get_picture_path(survey, 1, "thumb")
        REMOVALS[kind](survey, number)
    with at(heap, DAY_31) as survey:
        assert [(one.kind, one.id) for one in empty_bin(survey, lambda: DAY_31)][-1] == (kind, number)
        assert in_bin(survey) == [] and check_survey(survey) == []
        assert survey.store.rows(f"SELECT * FROM {kind} WHERE id = ?", [number]) == []
        last = list_events(survey, kind, str(number))[-1]
        assert last.verb == "empty bin" and last.before and last.after is None
        assert path.exists() == thumb.exists() == (kind != "photo")
        assert get_undo_and_redo(survey) == (None, None), "what was done before cannot be taken back"
        with pytest.raises(NoSuchThing):
            put_back(survey, kind, number)


def test_a_thing_waits_for_the_youngest_that_hangs_on_it(heap: Path) -> None:
    with at(heap, "2026-05-31T12:00:00Z") as survey:
        finding = get_part(survey, BAR).findings[0].id
    with at(heap, DAY_29) as survey:
        remove_finding(survey, finding)
    with at(heap, THEN) as survey:
        remove_part(survey, BAR)
    with at(heap, DAY_31) as survey:
        assert ("part", BAR) not in [(one.kind, one.id) for one in empty_bin(survey, lambda: DAY_31)]
        put_back(survey, "part", BAR)


def test_the_bin_is_not_emptied_while_another_has_the_survey_in_hand(heap: Path) -> None:
    with at(heap, THEN) as survey:
        remove_number(survey, 1)
        with hold_survey(heap, "serving"), pytest.raises(SurveyBusy, match="serving"):
            empty_bin(survey, lambda: DAY_31)
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


def test_the_page_puts_back(client: CheckedClient, survey: Survey) -> None:
    remove_part(survey, PLATE)
    assert f"part {PLATE}" in client.get("/bin").words
    page = client.send("/bin/put-back", {"binned": "part", "number": str(PLATE)})
    assert "Put back." in page.words and "Nothing lies in the bin" in page.words
    assert get_part(survey, PLATE).findings


def test_a_photo_goes_into_the_bin_from_its_page_and_is_taken_back(client: CheckedClient, survey: Survey) -> None:
    photo = get_photo(survey, 1)
    assert "Put it in the bin" in client.get("/photos/1").words
    page = client.send("/photos/1/remove", {})
    assert "The photo is in the bin" in page.words and "photo 1" in client.get("/bin").words
    assert 1 not in [one.id for one in list_photos(survey)]
    assert client.post("/photos/1/remove", {}, 404)
    act = get_undo_and_redo(survey)[0]
    assert act and act.words.startswith("Photo put in the bin: photo 1")
    client.send("/undo", {"batch": act.batch})
    assert get_photo(survey, 1) == photo
