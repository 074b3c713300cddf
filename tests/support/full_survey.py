"""A survey with a row that stands in every table, each written by the verb that a person would use.

A new table wants a line here: what is put aside, taken back, backed up, brought up to date and exported is then tested
with it too.
"""

from __future__ import annotations

from pathlib import Path

from web_survey import BAR, LUG, PLATE, RIM
from web_survey import build as build_small

from survey.belonging.verbs import add_evidence, keep_as_pattern
from survey.build_order.verbs import add_pair, disable_pair, set_step_state
from survey.fits.verbs import add_fit
from survey.gates.verbs import answer_gate
from survey.model.schedule import Component
from survey.money.verbs import add_money_line, record_payment, set_contingency
from survey.money.worth_verbs import add_comparison, set_sale_price
from survey.parts.finding_verbs import add_look
from survey.schedule.verbs import add_component
from survey.shelf.verbs import open_survey
from survey.store.survey import Survey
from survey.store.tables import TABLES
from survey.stuck.verbs import add_stuck
from survey.wants.verbs import set_want

OWN = Component("P01", "Parcel carrier", "Carrier", None, 1, "running", "stay", "steel", own=True)
SPARE = Component("P02", "Carrier strap", "Carrier", None, 2, "cosmetic", "stay", "steel", own=True)


def build(folder: Path, room: Path) -> None:
    """The small survey of the browser tests, and what that one lacks."""
    build_small(folder, room)
    with open_survey(folder, by="Wren") as survey:
        add_look(survey, BAR, photo=2)
        add_component(survey, OWN)
        add_component(survey, SPARE)
        add_pair(survey, OWN.id, "primed", "the stays lie under the guard")
        disable_pair(survey, "cups-before-fork", "this head has loose balls")
        set_step_state(survey, "primed", "done", "in red oxide")
        set_want(survey, "B159", who="Aldous at the Saturday stall", sizes={"bore": "1/4 in"}, low="2")
        set_want(survey, None, label="thread chaser", note="20 tpi")
        add_stuck(survey, RIM, "nipple at the valve", conditions=["scarce"], tried=["oil"], holds="the tyre")
        add_money_line(survey, "the heap", kind="machine", spent="120", state="paid")
        record_payment(survey, "want-2", "2.50", receipt="none given")
        add_comparison(survey, "one like it, running", "2026-02-03", "900", condition="tidy")
        set_sale_price(survey, BAR, low="5", high="9")
        set_contingency(survey, "15")
        answer_gate(survey, "room-and-time", "yes", "the cowshed, by spring")
        add_evidence(survey, PLATE, "casting", photo=2)
        keep_as_pattern(survey, LUG, "B008")
        add_fit(survey, RIM, LUG, "packing", packed="a tin washer", side="near", photos=[3])


def rows(survey: Survey) -> dict[str, list[dict[str, object]]]:
    """Every row of every table."""
    return {table: survey.store.rows(f'SELECT * FROM "{table}"') for table in TABLES}


def standing(survey: Survey) -> dict[str, list[str]]:
    """Every row that stands, of every table but the history, in an order of its own."""
    return {
        table: sorted(repr(sorted(row.items())) for row in told if not row.get("gone_at"))
        for table, told in rows(survey).items()
        if table != "event"
    }
