"""A survey with a row that stands in every table, each written by the verb that a person would use.

A new table wants a line here: what is put aside, taken back, backed up, brought up to date and exported is then tested
with it too.
"""

from __future__ import annotations

from pathlib import Path

from web_survey import BAR, LUG, PLATE, RIM
from web_survey import build as build_small

from survey import bench
from survey.folder.tables import TABLES
from survey.model import Component

OWN = Component("P01", "Parcel carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
SPARE = Component("P02", "Carrier strap", "Carrier", None, 2, "cosmetic", "stay", "steel", own=True)


def build(folder: Path, room: Path) -> None:
    """The small survey of the browser tests, and what that one lacks."""
    build_small(folder, room)
    with bench.open_survey(folder, by="Wren") as survey:
        bench.nothing_wrong(survey, BAR, photo=2)
        bench.add_component(survey, OWN)
        bench.add_component(survey, SPARE)
        bench.add_before(survey, OWN.id, "primed", "the stays lie under the guard")
        bench.put_pair_off(survey, "cups-before-fork", "this head has loose balls")
        bench.say_of_step(survey, "primed", "done", "in red oxide")
        bench.set_want(survey, "B159", who="Aldous at the Saturday stall", sizes={"bore": "1/4 in"}, low="2")
        bench.set_want(survey, None, label="thread chaser", note="20 tpi")
        bench.add_stuck(survey, RIM, "nipple at the valve", conditions=["scarce"], tried=["oil"], holds="the tyre")
        bench.add_money_line(survey, "the heap", kind="machine", spent="120", state="paid")
        bench.pay(survey, "want-2", "2.50", receipt="none given")
        bench.add_comparison(survey, "one like it, running", "2026-02-03", "900", condition="tidy")
        bench.set_sale_price(survey, BAR, low="5", high="9")
        bench.set_contingency(survey, "15")
        bench.say_of_gate(survey, "room-and-time", "yes", "the cowshed, by spring")
        bench.add_evidence(survey, PLATE, "casting", photo=2)
        bench.keep_as_pattern(survey, LUG, "B008")
        bench.add_fit(survey, RIM, LUG, "packing", packed="a tin washer", side="near", photos=[3])


def rows(survey: bench.Survey) -> dict[str, list[dict[str, object]]]:
    """Every row of every table."""
    return {table: survey.store.rows(f'SELECT * FROM "{table}"') for table in TABLES}


def standing(survey: bench.Survey) -> dict[str, list[str]]:
    """Every row that stands, of every table but the history, in an order of its own."""
    return {
        table: sorted(repr(sorted(row.items())) for row in told if not row.get("gone_at"))
        for table, told in rows(survey).items()
        if table != "event"
    }
