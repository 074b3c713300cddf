"""What was done, act by act, in words; taking it back and doing it again.

Each room declares the names of its verbs and describes its rows beside the verbs; here they are brought together.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from survey.belonging.verbs import BELONGING_VERBS, describe_evidence, describe_pattern
from survey.build_order.verbs import ORDER_VERBS, describe_pair, describe_pair_off, describe_step
from survey.errors import NextStep, NothingToTurn
from survey.fits.verbs import FIT_VERBS, describe_fit
from survey.gates.verbs import GATE_VERBS, describe_gate
from survey.machine.verbs import MACHINE_VERBS, describe_number
from survey.model.history import Act, Event
from survey.money.verbs import MONEY_VERBS, describe_budget, describe_line
from survey.money.worth_verbs import WORTH_VERBS, describe_comparison, describe_sale_price
from survey.outwork.field_verbs import describe_batch, describe_item
from survey.outwork.verbs import OUTWORK_VERBS
from survey.parts.finding_verbs import FINDING_VERBS, describe_finding, describe_look, describe_reading
from survey.parts.verbs import PART_VERBS, describe_own_grade, describe_part
from survey.photos.index_records import TAKE_IN
from survey.photos.verbs import PHOTO_VERBS, describe_mark, describe_photo, describe_placing
from survey.placing.verbs import PUT_IN_BOX
from survey.schedule.verbs import SCHEDULE_VERBS, describe_component, describe_position
from survey.shelf.verbs import MAKE_SURVEY
from survey.store.bin import BIN_VERBS
from survey.store.events import fetch_batch_events, fetch_events, fetch_events_of_part, fetch_last_events
from survey.store.row_words import ENOUGH_EVENTS, DescribeRows
from survey.store.survey import Survey, in_one_transaction
from survey.store.undo import UNDO_VERBS, Undoable, Way, apply_undo_or_redo, find_undo_and_redo
from survey.stuck.verbs import STUCK_VERBS, describe_stuck
from survey.wants.verbs import WANT_VERBS, describe_want
from survey.words import capitalize

VERBS = {
    verb.name: verb
    for verb in (
        MAKE_SURVEY, *MACHINE_VERBS, TAKE_IN, *SCHEDULE_VERBS, *PART_VERBS, *PHOTO_VERBS, PUT_IN_BOX,
        *FINDING_VERBS, *ORDER_VERBS, *WANT_VERBS, *STUCK_VERBS, *OUTWORK_VERBS, *BELONGING_VERBS, *FIT_VERBS,
        *MONEY_VERBS, *WORTH_VERBS, *GATE_VERBS, *BIN_VERBS, *UNDO_VERBS,
    )
}  # fmt: skip
"""Every verb of the history, by the name that the database keeps."""

DESCRIBE_ROWS: dict[str, DescribeRows] = {
    "finding": describe_finding,
    "look": describe_look,
    "reading": describe_reading,
    "evidence": describe_evidence,
    "pattern": describe_pattern,
    "fit": describe_fit,
    "own_grade": describe_own_grade,
    "part": describe_part,
    "part_photo": describe_placing,
    "mark": describe_mark,
    "photo": describe_photo,
    "position": describe_position,
    "before_pair": describe_pair,
    "pair_off": describe_pair_off,
    "step_said": describe_step,
    "number": describe_number,
    "stuck": describe_stuck,
    "batch": describe_batch,
    "batch_item": describe_item,
    "money_line": describe_line,
    "comparison": describe_comparison,
    "sale_price": describe_sale_price,
    "budget": describe_budget,
    "gate_said": describe_gate,
    "want": describe_want,
    "component": describe_component,
}
"""By table, what its rows are in words. The likeliest to be what an act was about comes first; what changed along
with it is left out."""


def list_events(survey: Survey, entity: str | None = None, entity_id: str | None = None) -> list[Event]:
    """Every change in order: of the whole survey, of one table, or of one row."""
    return fetch_events(survey.store, entity, entity_id)


@in_one_transaction
def undo_act(survey: Survey, batch: str | None = None) -> Act:
    """Take back the latest act that was not taken back; returns it. Across restarts, by either door.

    ``batch``: the act that is meant; refused when another was done since.

    Raises:
        NothingToTurn: nothing is left to take back, or another act is the next.
    """
    return _undo_or_redo(survey, "undo", find_undo_and_redo(survey.store, VERBS)[0], batch)


@in_one_transaction
def redo_act(survey: Survey, batch: str | None = None) -> Act:
    """Do again the act that was taken back last; returns it.

    Raises:
        NothingToTurn: nothing was taken back, or something new was done since, or another act is the next.
    """
    return _undo_or_redo(survey, "redo", find_undo_and_redo(survey.store, VERBS)[1], batch)


def get_undo_and_redo(survey: Survey) -> tuple[Act | None, Act | None]:
    """The act that ``undo`` would take back and the one that ``redo`` would do again."""
    back, again = find_undo_and_redo(survey.store, VERBS)
    return _act(survey, back), _act(survey, again)


def describe_row(survey: Survey, table: str, row: dict[str, Any]) -> str:
    """What a row is, in words: ``part 3 (Handlebar)``."""
    return DESCRIBE_ROWS[table](survey, [row])


def list_acts(survey: Survey, *, part: int | None = None, last: int = 50) -> list[Act]:
    """The latest acts in words, newest first; of the whole survey, or those that touched a part.

    A part is touched by what changes it, its findings, looks, readings, marks, photos or own grade.
    """
    events = fetch_events_of_part(survey.store, part) if part is not None else fetch_last_events(survey.store, last)
    grouped = [list(group) for _, group in groupby(events, key=lambda event: event.batch)]
    return [_describe_act(survey, group) for group in reversed(grouped)][:last]


def _undo_or_redo(survey: Survey, way: Way, turn: Undoable | None, batch: str | None) -> Act:
    doing = "take back" if way == "undo" else "do again"
    act = _act(survey, turn)
    if turn is None or act is None:
        raise NothingToTurn(f"There is nothing to {doing}.", NextStep.SEE_HISTORY)
    if batch is not None and batch != turn.batch:
        raise NothingToTurn(
            "Something else was done since, so that act is not the next to " + doing + ".",
            f"The next is: {act.words}.",
        )
    apply_undo_or_redo(survey.store, turn, way, survey.by)
    return act


def _act(survey: Survey, turn: Undoable | None) -> Act | None:
    return None if turn is None else _describe_act(survey, fetch_batch_events(survey.store, turn.batch, ENOUGH_EVENTS))


def _describe_act(survey: Survey, events: list[Event]) -> Act:
    first = events[0]
    turned = fetch_batch_events(survey.store, first.turns, ENOUGH_EVENTS) if first.turns else None
    words = VERBS[first.verb].past if first.verb in VERBS else capitalize(first.verb)
    subject = _describe_act(survey, turned).words if turned else _about(survey, events)
    return Act(first.batch, first.at, first.by, first.verb, f"{words}: {subject}" if subject else words)


def _about(survey: Survey, events: Iterable[Event]) -> str:
    """What an act was about, from its own rows: the finding, the part, the photo, the position."""
    rows: dict[str, list[dict[str, Any]]] = {}
    for event in events:
        rows.setdefault(event.entity, []).append(dict(event.after or event.before or {}))
    table = next((table for table in DESCRIBE_ROWS if table in rows), None)
    try:
        return DESCRIBE_ROWS[table](survey, rows[table]) if table else ""
    except (LookupError, TypeError, ValueError):  # a stranger's history may hold bad rows; check names them
        return ""
