"""Rows of the database as records: every type a record's field has, and fields whose column has another name."""

from __future__ import annotations

from decimal import Decimal

import pytest

from survey.errors import BadValue
from survey.model.history import Event
from survey.model.money import Comparison
from survey.model.outwork import BatchItem
from survey.model.photos import Mark
from survey.model.schedule import Component, PositionNote
from survey.model.wants import Want
from survey.store.rows import COLUMN_OF, from_row, to_row
from survey.store.tables import TABLES

OWN = Component(
    "P01", "Parcel carrier", "Carrier", "B001", 2, "running", "stay", "steel", ("alloy",), "enamel", ("Gepäckträger",),
    True, ("cracked",), ("dent", "rust"), ("hole 3/16 in",), False, True,
)  # fmt: skip
WANT = {
    "id": 4, "component": None, "label": "box", "state": "asked", "quantity": None, "who": "Hollin", "since": "",
    "sizes": '{"bore": "3/16"}', "also": "", "low": None, "likely": "12.50", "high": "20", "note": "", "scarcity": "",
}  # fmt: skip


def test_a_record_that_is_kept_as_a_row_is_read_back_whole() -> None:
    row = to_row(OWN)
    assert row.keys() < TABLES["component"].columns.keys()
    assert (row["class"], row["own"], row["names"]) == ("stay", 1, '["Gepäckträger"]')
    assert from_row(Component, row) == OWN


def test_prices_and_named_sizes_are_read() -> None:
    want = from_row(Want, WANT)
    assert (want.price.low, want.price.likely, want.price.high) == (None, Decimal("12.50"), Decimal(20))
    assert want.sizes == (("bore", "3/16"),) and want.component is None


def test_prices_out_of_order_are_refused() -> None:
    with pytest.raises(BadValue):
        from_row(Want, {**WANT, "low": "13.00"})


def test_points_flags_and_amounts_are_read() -> None:
    mark = {"id": 1, "photo": 2, "part": None, "finding": 3, "shape": "pin", "points": "[[0, 0.5]]", "gone_at": None}
    assert from_row(Mark, mark) == Mark(1, 2, None, 3, "pin", ((0.0, 0.5),))
    seen = {"id": 1, "what": "the like", "seen_on": "2026-05-01", "price": "900", "sold": 0, "condition": "",
            "place": "a fair", "low": None, "high": "950.50", "note": ""}  # fmt: skip
    like = from_row(Comparison, seen)
    assert (like.sold, like.where, like.price, like.low, like.high) == (
        False, "a fair", Decimal(900), None, Decimal("950.50"),
    )  # fmt: skip


def test_json_objects_are_read_and_nothing_stays_nothing() -> None:
    event = {"id": 1, "at": "", "batch": "b", "by": "", "verb": "add", "entity": "part", "entity_id": "1",
             "before": None, "after": '{"id": 1}', "turns": None}  # fmt: skip
    read = from_row(Event, event)
    assert (read.before, read.after) == (None, {"id": 1})


def test_a_field_that_is_computed_needs_no_column() -> None:
    row = dict.fromkeys((*TABLES["batch_item"].columns,), "")
    item = from_row(BatchItem, {**row, "before": "{}", "after": "{}", "said": '{"tag": "yes"}'}, photos=(1, None))
    assert (item.photos, item.said, item.before) == ((1, None), {"tag": "yes"}, ())


def test_a_column_that_is_not_there_is_no_default() -> None:
    with pytest.raises(KeyError):
        from_row(PositionNote, {"component": "B001", "state": "missing"})


def test_every_other_name_is_one_of_a_column() -> None:
    columns = {name for table in TABLES.values() for name in table.columns}
    assert set(COLUMN_OF.values()) <= columns and not COLUMN_OF.keys() & columns
