"""Every act of a person as chance would do it, single and in bulk; a new verb wants a line here.

What a survey refuses just now is refused in words and changes nothing, so chance may ask for it.
"""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable
from typing import Any

from survey.belonging.verbs import add_evidence, keep_as_pattern, remove_evidence
from survey.build_order.verbs import add_pair, disable_pair, enable_pair, remove_pair, set_step_state
from survey.errors import Refusal
from survey.fits.verbs import add_fit, change_fit, remove_fit
from survey.gates.verbs import answer_gate
from survey.history.bin_verbs import list_bin, put_back
from survey.machine.verbs import add_number, change_machine, remove_number
from survey.model.fits import FIT_RESULTS
from survey.model.money import LINE_STATES
from survey.model.schedule import Component, PositionState
from survey.model.wants import WANT_STATES
from survey.money.verbs import (
    add_money_line,
    change_money_line,
    get_reckoning,
    record_payment,
    remove_money_line,
    set_contingency,
)
from survey.money.worth_verbs import add_comparison, remove_comparison, set_sale_price
from survey.outwork.verbs import (
    add_to_batch,
    change_batch,
    change_item,
    close_batch,
    make_batch,
    receive_item,
    remove_batch,
    remove_item,
    send_batch,
)
from survey.parts.finding_verbs import add_finding, add_look, add_reading, remove_finding, remove_look, remove_reading
from survey.parts.verbs import add_part, change_part, remove_part, set_own_grade
from survey.photos.verbs import (
    add_mark,
    change_photo,
    list_photos,
    move_mark,
    place_photo,
    remove_mark,
    remove_photo,
    set_photos_aside,
    unplace_photo,
)
from survey.placing.verbs import place_photos, set_box
from survey.schedule.verbs import add_component, remove_component, set_position, set_quantity
from survey.store.survey import Survey
from survey.stuck.verbs import add_stuck, change_stuck, remove_stuck
from survey.wants.verbs import drop_want, set_currency, set_want

COMPONENTS = ("B006", "B052", "B067", "B144", "B170", "B068", "B094", "P1", "P2")
UNFILLED = ("B055", "B159", "B160")
STATES: tuple[PositionState, ...] = ("missing", "wrong", "unseen", "not-fitted", "not-looked")
Edit = Callable[[Survey, random.Random], object]


def one(survey: Survey, chance: random.Random, table: str, gone: bool = False) -> Any:
    """The number of a row that stands, or lies in the bin; 0 where there is none."""
    rows = survey.store.rows(f"SELECT id FROM {table} WHERE (gone_at IS NOT NULL) = ?", [gone])
    return chance.choice(rows)["id"] if rows else 0


def many(survey: Survey, chance: random.Random, table: str) -> list[int]:
    """Numbers of several that stand."""
    rows = survey.store.rows(f"SELECT id FROM {table} WHERE gone_at IS NULL")
    return [row["id"] for row in chance.sample(rows, chance.randint(1, len(rows)))] if rows else []


def answered(survey: Survey, chance: random.Random) -> str:
    """A position of which something was said, if there is one."""
    rows = survey.store.rows("SELECT component FROM position")
    return str(chance.choice(rows)["component"]) if rows else UNFILLED[0]


def kept_as_pattern(survey: Survey, chance: random.Random) -> int:
    """A part that is kept as a pattern; 0 where there is none."""
    rows = survey.store.rows("SELECT part FROM pattern")
    return int(chance.choice(rows)["part"]) if rows else 0


def a_rim(survey: Survey, chance: random.Random) -> int:
    """A part that is measured; recorded now where there is none."""
    rows = survey.store.rows("SELECT id FROM part WHERE component = 'B067' AND gone_at IS NULL")
    return int(chance.choice(rows)["id"]) if rows else add_part(survey, "B067").id


def words(chance: random.Random) -> str:
    return f"seen on the bench {chance.randint(1, 10**6)}"


def points(chance: random.Random, count: int) -> list[tuple[float, float]]:
    return [(chance.random(), chance.random()) for _ in range(count)]


def want(survey: Survey, chance: random.Random) -> dict[str, Any]:
    return {"component": chance.choice(COMPONENTS)} if chance.random() < 0.7 else {"component": None, "label": "chaser"}


def a_line(survey: Survey, chance: random.Random) -> str:
    """A line of money, if there is one."""
    lines = get_reckoning(survey).money.lines
    return chance.choice(lines).key if lines else ""


def back_from_bin(survey: Survey, chance: random.Random) -> None:
    entries = list_bin(survey)
    photos = [entry for entry in entries if entry.kind == "photo"]  # there are few, and much hangs on them
    if entries:
        entry = chance.choice(photos or entries)
        put_back(survey, entry.kind, entry.id)


EDITS: tuple[Edit, ...] = (
    lambda s, c: change_machine(s, note=words(c), year=str(c.randint(1900, 1980))),
    lambda s, c: add_number(s, "headstock", f"HPF {c.randint(1, 999)}"),
    lambda s, c: remove_number(s, one(s, c, "number")),
    lambda s, c: add_component(
        s, Component(c.choice(COMPONENTS[-2:]), words(c), "Carrier", None, 1, "running", "stay", "steel", own=True)
    ),
    lambda s, c: remove_component(s, c.choice(COMPONENTS[-2:])),
    lambda s, c: set_quantity(s, "B068", c.randint(30, 40)),
    lambda s, c: set_position(s, c.choice(UNFILLED), c.choice(STATES), words(c)),
    lambda s, c: set_position(s, answered(s, c), c.choice(STATES), words(c)),
    lambda s, c: set_position(s, answered(s, c), None),
    lambda s, c: add_part(
        s, c.choice((*COMPONENTS, None)), photos=many(s, c, "photo"), box="box 2", label=words(c)
    ),
    lambda s, c: add_part(s, c.choice((*COMPONENTS, None)), inside=one(s, c, "part") or None),
    lambda s, c: change_part(s, one(s, c, "part"), component=c.choice((*COMPONENTS, None))),
    lambda s, c: change_part(s, one(s, c, "part"), inside=one(s, c, "part") or None),
    lambda s, c: change_part(s, one(s, c, "part"), note=words(c), quantity=c.randint(1, 9), material="brass"),
    lambda s, c: remove_part(s, one(s, c, "part")),
    lambda s, c: set_own_grade(s, one(s, c, "part"), c.choice(("reuse", "repair", None)), words(c)),  # type: ignore[arg-type]
    lambda s, c: set_photos_aside(s, many(s, c, "photo")),
    lambda s, c: set_photos_aside(s, [photo.id for photo in list_photos(s, "aside")], False),
    lambda s, c: change_photo(s, one(s, c, "photo"), note=words(c), box=words(c)),
    lambda s, c: set_box(s, words(c), photo_ids=many(s, c, "photo"), part_ids=many(s, c, "part")),
    lambda s, c: place_photo(s, one(s, c, "photo"), one(s, c, "part")),
    lambda s, c: place_photos(s, many(s, c, "photo"), one(s, c, "part")),
    lambda s, c: unplace_photo(s, one(s, c, "photo"), one(s, c, "part")),
    lambda s, c: remove_photo(s, one(s, c, "photo")),
    lambda s, c: add_mark(s, one(s, c, "photo"), "box", points(c, 2), part=one(s, c, "part") or None),
    lambda s, c: move_mark(s, one(s, c, "mark"), points(c, c.randint(1, 3))),
    lambda s, c: remove_mark(s, one(s, c, "mark")),
    lambda s, c: add_finding(
        s, one(s, c, "part"), c.choice(("crack", "bent", "wear")), c.randint(1, 4), photo=one(s, c, "photo") or None,
        points=points(c, 1), note=words(c),
    ),
    lambda s, c: remove_finding(s, one(s, c, "finding")),
    lambda s, c: add_look(s, one(s, c, "part"), seen="bare", photo=one(s, c, "photo") or None),
    lambda s, c: remove_look(s, one(s, c, "look")),
    lambda s, c: add_reading(s, a_rim(s, c), "rim-lateral", f"{c.randint(1, 4)} mm"),
    lambda s, c: remove_reading(s, one(s, c, "reading")),
    lambda s, c: set_step_state(
        s, c.choice(("primed", "stand-on", "sidestand-on")), c.choice(("done", "not-needed", None)), words(c)  # type: ignore[arg-type]
    ),
    lambda s, c: add_pair(s, c.choice(COMPONENTS), c.choice(("primed", *COMPONENTS)), words(c)),
    lambda s, c: remove_pair(s, one(s, c, "before_pair")),
    lambda s, c: disable_pair(s, "cups-before-fork", words(c)),
    lambda s, c: enable_pair(s, "cups-before-fork"),
    lambda s, c: set_want(
        s, **want(s, c), state=c.choice(WANT_STATES), who=words(c), sizes={"bore": words(c)}, likely="4"
    ),
    lambda s, c: set_want(s, **want(s, c), quantity=c.randint(1, 9), also=words(c), note=words(c)),
    lambda s, c: drop_want(s, **want(s, c)),
    lambda s, c: set_currency(s, c.choice(("EUR", "GBP", "USD"))),
    lambda s, c: add_stuck(s, one(s, c, "part"), words(c), conditions=["scarce"], tried=["oil"]),
    lambda s, c: change_stuck(s, one(s, c, "stuck"), note=words(c), tried=[], out=c.random() < 0.5),
    lambda s, c: remove_stuck(s, one(s, c, "stuck")),
    lambda s, c: add_evidence(
        s, one(s, c, "part"), c.choice(("number", "filed", "said")), note=words(c), photo=one(s, c, "photo") or None
    ),
    lambda s, c: remove_evidence(s, one(s, c, "evidence")),
    lambda s, c: keep_as_pattern(s, one(s, c, "part"), c.choice(COMPONENTS)),
    lambda s, c: keep_as_pattern(s, kept_as_pattern(s, c), None),
    lambda s, c: add_fit(
        s, one(s, c, "part"), one(s, c, "part"), c.choice(FIT_RESULTS), packed=words(c),
        gap=f"{c.randint(20, 30)} mm", width="20 mm", photos=many(s, c, "photo"),
    ),
    lambda s, c: change_fit(
        s, one(s, c, "fit"), result=c.choice(FIT_RESULTS), note=words(c), photos=many(s, c, "photo")
    ),
    lambda s, c: remove_fit(s, one(s, c, "fit")),
    lambda s, c: add_money_line(s, words(c), kind="outwork", low="4", high="9", spent=c.choice(("", "3"))),
    lambda s, c: change_money_line(s, one(s, c, "money_line"), note=words(c), state=c.choice(LINE_STATES)),
    lambda s, c: remove_money_line(s, one(s, c, "money_line")),
    lambda s, c: record_payment(s, a_line(s, c), "7", settled=c.random() < 0.5),
    lambda s, c: set_contingency(s, c.choice(("", "10", "25"))),
    lambda s, c: add_comparison(s, words(c), "2026-02-03", "900", sold=c.random() < 0.5),
    lambda s, c: remove_comparison(s, one(s, c, "comparison")),
    lambda s, c: set_sale_price(s, one(s, c, "part"), likely=c.choice(("", "4", "12")), note=words(c)),
    lambda s, c: answer_gate(s, "papers", c.choice(("yes", "no", "no-matter", None)), words(c)),  # type: ignore[arg-type]
    lambda s, c: make_batch(s, c.choice(("plate", "weld", "blast")), many(s, c, "part")[:2], who=words(c)),
    lambda s, c: change_batch(s, one(s, c, "batch"), note=words(c), low=str(c.randint(1, 9))),
    lambda s, c: remove_batch(s, one(s, c, "batch")),
    lambda s, c: add_to_batch(s, one(s, c, "batch"), one(s, c, "part")),
    lambda s, c: change_item(s, one(s, c, "batch_item"), note=words(c), photos=(None, one(s, c, "photo"))),
    lambda s, c: remove_item(s, one(s, c, "batch_item")),
    lambda s, c: send_batch(s, one(s, c, "batch"), signed="Wren", anyway=words(c)),
    lambda s, c: receive_item(s, one(s, c, "batch_item"), c.randint(0, 2), threads="run", short_note=words(c)),
    lambda s, c: close_batch(s, one(s, c, "batch"), signed="Wren"),
    back_from_bin,
)  # fmt: skip


def an_edit(survey: Survey, chance: random.Random) -> bool:
    """One act, chosen by chance; whether the survey allowed it."""
    return allowed(chance.choice(EDITS), survey, chance)


def allowed(edit: Edit, survey: Survey, chance: random.Random) -> bool:
    with contextlib.suppress(Refusal):
        edit(survey, chance)
        return True
    return False
