"""Capture runs: photos taken close together."""

from __future__ import annotations

from survey.model.photos import Photo
from survey.photos.runs import sort_by_time, split_into_runs


def photo(id: int, taken: str | None) -> Photo:
    return Photo(f"{id:064x}", f"{id}.jpg", "jpeg", 4, 3, 10, "", taken, None, None, "", "", False, id, "waiting")


def test_a_pause_of_more_than_three_minutes_starts_a_new_run() -> None:
    found = [photo(1, "2026-06-01T20:00:00"), photo(2, "2026-06-01T20:03:00"), photo(3, "2026-06-01T20:06:01")]
    assert [[one.id for one in run] for run in split_into_runs(found)] == [[1, 2], [3]]


def test_a_run_goes_over_midnight() -> None:
    found = [photo(1, "2026-06-01T23:59:30"), photo(2, "2026-06-02T00:00:10")]
    assert len(split_into_runs(found)) == 1


def test_photos_without_a_time_come_last_as_one_run() -> None:
    found = [photo(3, None), photo(1, "2026-06-01T20:00:00"), photo(2, None)]
    assert [[one.id for one in run] for run in split_into_runs(found)] == [[1], [2, 3]]


def test_the_order_is_by_time_then_number() -> None:
    found = [photo(2, "2026-06-01T20:00:00"), photo(1, "2026-06-01T20:00:00"), photo(3, "2026-05-01T20:00:00")]
    assert [one.id for one in sort_by_time(found)] == [3, 1, 2]
    assert split_into_runs([]) == []
