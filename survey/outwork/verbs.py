"""Work sent away: batches made up, sent out against a docket, and taken back item by item."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from survey.build_order.records import fetch_step_states
from survey.errors import BadValue, NextStep, NoSuchThing
from survey.finding_kinds import load_finding_kinds
from survey.model.outwork import THREADS_WORDS, Batch, BatchItem, Trade, Trades
from survey.model.verb import Verb
from survey.outwork.batches import (
    Away,
    describe_batches,
    find_away,
    find_crack_tested,
    find_parts_to_examine,
)
from survey.outwork.checks import (
    DepartureCheck,
    DepartureFacts,
    Return,
    check_before_departure,
    check_returns,
    select_open_checks,
)
from survey.outwork.data import load_trades
from survey.outwork.field_verbs import (
    get_trade,
    get_trades_by_id,
    make_batch_row,
    make_item_row,
    require_known_fields,
    validate_day,
)
from survey.outwork.records import count_taken_off, fetch_batches
from survey.outwork.suggestions import Suggestion, find_earlier_trade, suggest_for_trades
from survey.parts.verbs import list_parts
from survey.store.survey import Survey, get_local_day, in_one_transaction, put_row_aside, require_live_row
from survey.validation import validate_count, validate_text

BATCH_FIELDS = (
    "who", "contact", "promised", "carriage", "insured", "low", "likely", "high", "agreed", "paid", "answers", "note",
)  # fmt: skip

ITEM_FIELDS = (
    "count", "tag", "finish", "plug", "keep_off", "before", "photos", "hydrogen", "said", "note",
)  # fmt: skip

_BATCH_TABLES = ("batch", "batch_item", "part")

_FIELDS_OPEN_WHILE_OUT = ("photos", "note")
"""What can still be changed of an item once it has left: the rest is on the docket."""

MAKE_BATCH = Verb("make batch", "Batch made up")
CHANGE_BATCH = Verb("change batch", "Batch noted")
REMOVE_BATCH = Verb("remove batch", "Batch put aside")
ADD_TO_BATCH = Verb("add to batch", "Put into a batch")
CHANGE_ITEM = Verb("change item", "Item of a batch noted")
REMOVE_ITEM = Verb("remove item", "Taken out of a batch")
SEND_BATCH = Verb("batch out", "Batch sent out")
TAKE_BACK = Verb("taken back in", "Taken back in")
CLOSE_BATCH = Verb("batch back", "Batch back, all accounted for")

OUTWORK_VERBS = (
    MAKE_BATCH, CHANGE_BATCH, REMOVE_BATCH, ADD_TO_BATCH, CHANGE_ITEM, REMOVE_ITEM, SEND_BATCH, TAKE_BACK, CLOSE_BATCH,
)  # fmt: skip


def get_trades() -> Trades:
    """The trades in their order, what each asks, and what is checked before a part leaves."""
    return load_trades()


def list_batches(survey: Survey) -> list[Batch]:
    """Every live batch with its items, by number."""
    return survey.kept("batches", _BATCH_TABLES, lambda: fetch_batches(survey.store, get_trades_by_id()))


def get_batch(survey: Survey, batch_id: int) -> Batch:
    """One batch.

    Raises:
        NoSuchThing: there is none of that number.
    """
    for batch in list_batches(survey):
        if batch.id == batch_id:
            return batch
    raise NoSuchThing(f"There is no batch {batch_id} in this survey.", NextStep.SEE_BATCHES)


def suggest_batches(survey: Survey) -> tuple[Suggestion, ...]:
    """Which part is for which trade next, and which waits for another trade to be done with it."""
    return suggest_for_trades(list_parts(survey), list_batches(survey), get_trades())


def list_away(survey: Survey) -> dict[int, Away]:
    """By part number, how many of it are out with a trade or have not come back from there, and where in words."""
    batches = list_batches(survey)
    items = [item for one in batches for item in one.short]
    return find_away(batches, {item.id: count_taken_off(survey.store, item) for item in items})


def list_parts_to_examine(survey: Survey) -> dict[int, str]:
    """Safety parts that came back and were not looked over since: by part number, from whom and when."""
    return find_parts_to_examine(list_parts(survey), list_batches(survey))


def describe_outwork(survey: Survey, today: str = "") -> str:
    """The state of the outwork, in a sentence; empty where there is none. ``today``: a day; now unless given."""
    return describe_batches(list_batches(survey), today or get_local_day())


def list_overdue_batches(survey: Survey, today: str = "") -> list[Batch]:
    """Batches of which something should have been back before that day."""
    return [batch for batch in list_batches(survey) if batch.overdue(today or get_local_day())]


def make_batch(survey: Survey, trade: str, part_ids: Iterable[int] = (), **fields: Any) -> Batch:
    """Make up a batch for a trade.

    Args:
        trade: an id of the table of trades.
        part_ids: parts that go into it, all that is in hand of each.
        fields: ``BATCH_FIELDS``.

    Raises:
        NoSuchThing: no such trade or part.
        BadValue: an invalid value, or a part that is in another batch.
    """
    known_trade = get_trade(trade)
    columns = make_batch_row(None, known_trade, require_known_fields(fields, BATCH_FIELDS, "A batch"))
    ids = list(dict.fromkeys(part_ids))
    with survey.together(), survey.store.change(MAKE_BATCH, survey.by) as change:
        row = change.insert("batch", {"trade": known_trade.id, **columns, "by": survey.by, "at": change.at})
        for part_id in ids:
            change.insert("batch_item", _make_new_item_row(survey, row["id"], known_trade, part_id, None, change.at))
    return get_batch(survey, row["id"])


@in_one_transaction
def change_batch(survey: Survey, batch_id: int, **fields: Any) -> Batch:
    """Change fields of a batch: ``BATCH_FIELDS``; ``answers`` are joined to those already recorded.

    Raises:
        NoSuchThing: no such batch.
        BadValue: an unknown field or an invalid value.
    """
    before = get_batch(survey, batch_id)
    columns = make_batch_row(before, before.trade, require_known_fields(fields, BATCH_FIELDS, "A batch"))
    with survey.store.change(CHANGE_BATCH, survey.by) as change:
        change.update("batch", [batch_id], {**columns, "by": survey.by, "at": change.at})
    return get_batch(survey, batch_id)


@in_one_transaction
def remove_batch(survey: Survey, batch_id: int) -> None:
    """Put a batch that has not left into the bin, with what is in it.

    Raises:
        NoSuchThing: no such batch.
        BadValue: it has left.
    """
    before = require_draft(survey, batch_id)
    with survey.store.change(REMOVE_BATCH, survey.by) as change:
        for item in before.items:
            change.update("batch_item", [item.id], {"gone_at": change.at})
        change.update("batch", [batch_id], {"gone_at": change.at})


@in_one_transaction
def add_to_batch(survey: Survey, batch_id: int, part_id: int, count: int | None = None) -> BatchItem:
    """Put a part into a batch; sizes that were read on it are its sizes before, where the trade changes sizes.

    Args:
        count: how many of it go; all that is in hand unless given.

    Raises:
        NoSuchThing: no such batch or part.
        BadValue: the batch has left, or the part is in a batch already.
    """
    before = require_draft(survey, batch_id)
    with survey.store.change(ADD_TO_BATCH, survey.by) as change:
        row = change.insert("batch_item", _make_new_item_row(survey, batch_id, before.trade, part_id, count, change.at))
    return _get_item(survey, row["id"])[1]


@in_one_transaction
def change_item(survey: Survey, item_id: int, **fields: Any) -> BatchItem:
    """Change fields of an item: ``ITEM_FIELDS``; ``said`` is joined to what is already recorded.

    Raises:
        NoSuchThing: no such item or photo.
        BadValue: an unknown field, an invalid value, or the item has left.
    """
    batch, before = _get_item(survey, item_id)
    known_fields = require_known_fields(fields, ITEM_FIELDS, "An item")
    fixed_fields = [name for name in known_fields if name not in _FIELDS_OPEN_WHILE_OUT]
    if batch.state != "draft" and fixed_fields:
        raise BadValue(
            f"Batch {batch.id} has left: its docket says what went.",
            "Take back that it went out, and send it out again.",
        )
    for photo in known_fields.get("photos", ()):
        if photo is not None:
            require_live_row(survey, "photo", photo)
    columns = make_item_row(before, known_fields, {check.id for check in get_trades().checks if not check.never})
    with survey.store.change(CHANGE_ITEM, survey.by) as change:
        change.update("batch_item", [item_id], {**columns, "by": survey.by, "at": change.at})
    return _get_item(survey, item_id)[1]


@in_one_transaction
def remove_item(survey: Survey, item_id: int) -> None:
    """Take a part out of a batch that has not left.

    Raises:
        NoSuchThing: no such item.
        BadValue: it has left.
    """
    require_draft(survey, _get_item(survey, item_id)[0].id)
    put_row_aside(survey, "batch_item", item_id, REMOVE_ITEM)


def list_departure_checks(survey: Survey, batch_id: int) -> tuple[DepartureCheck, ...]:
    """What is checked before the batch leaves, each yes, no or not recorded."""
    return check_before_departure(get_batch(survey, batch_id), _gather_departure_facts(survey, batch_id))


@in_one_transaction
def send_batch(survey: Survey, batch_id: int, *, day: str = "", signed: str = "", anyway: str = "") -> Batch:
    """The batch leaves: what is in it is away from then on.

    Args:
        day: the local day, today unless given. signed: who signs it out. anyway: why it leaves although something
            that is looked at is open; it lifts no caution that always holds.

    Raises:
        BadValue: it has left, something holds it here, or the day is invalid.
    """
    require_draft(survey, batch_id)
    reason, open_checks = validate_text("reason", anyway), select_open_checks(list_departure_checks(survey, batch_id))
    blocking = [check for check in open_checks if check.keeps_here]
    if blocking:
        raise BadValue(
            f"The batch stays here: {_describe_checks(survey, batch_id, blocking)}.",
            " ".join(dict.fromkeys(check.text for check in blocking)),
        )
    if open_checks and not reason:
        raise BadValue(
            f"Not everything is looked at: {_describe_checks(survey, batch_id, open_checks)}.",
            "See to it, or say why it goes all the same.",
        )
    row = {"state": "out", "out_at": validate_day(day) or get_local_day(),
           "out_by": validate_text("name", signed) or survey.by,
           "anyway": reason if open_checks else ""}  # fmt: skip
    with survey.store.change(SEND_BATCH, survey.by) as change:
        change.update("batch", [batch_id], {**row, "by": survey.by, "at": change.at})
    return get_batch(survey, batch_id)


@in_one_transaction
def receive_item(
    survey: Survey, item_id: int, came_back: int, *, day: str = "", after: Mapping[str, str] | None = None,
    threads: str = "", damage: str = "", short_note: str = "",
) -> BatchItem:  # fmt: skip
    """Look an item over on its return. Its part is here again; the count of the part is not changed.

    Args:
        came_back: how many are back. day: the local day, today unless given. after: sizes as they are now.
        threads: run or closed. damage: what was damaged. short_note: what became of those that did not come back.

    Raises:
        NoSuchThing: no such item.
        BadValue: its batch is not out, or an invalid value.
    """
    batch, before = _get_item(survey, item_id)
    if batch.state != "out":
        raise BadValue(f"Batch {batch.id} is not out.", "Only what is out can be taken back.")
    if threads not in ("", *THREADS_WORDS):
        raise BadValue(f"{threads!r} is nothing to say of threads.", "Say run or closed, or nothing.")
    sizes = make_item_row(before, {"after": after or {}}, ())
    back_at = validate_day(day) or get_local_day()
    if back_at < batch.out_at:
        raise BadValue(f"It went out on {batch.out_at}, so it was not back on {back_at}.", "Write the day again.")
    remarks = {
        "damage": validate_text("damage", damage),
        "short_note": validate_text("note", short_note),
        "threads": threads,
    }
    count = validate_count("number that came back", came_back, least=0)
    with survey.store.change(TAKE_BACK, survey.by) as change:
        change.update("batch_item", [item_id], {
            **sizes, **remarks, "came_back": count, "back_at": back_at, "checked_at": change.at, "by": survey.by,
            "at": change.at,
        })  # fmt: skip
    return _get_item(survey, item_id)[1]


@in_one_transaction
def close_batch(survey: Survey, batch_id: int, *, day: str = "", signed: str = "") -> Batch:
    """All of it is back, or what became of the rest is recorded: the batch is done with.

    Raises:
        BadValue: it is not out, or an item is not accounted for.
    """
    before = get_batch(survey, batch_id)
    if before.state != "out":
        raise BadValue(f"Batch {batch_id} is not out.", "Only what is out can come back.")
    if before.unaccounted:
        names = ", ".join(dict.fromkeys(f"part {item.part}" for item in before.unaccounted))
        raise BadValue(
            f"The batch is not done with: nothing accounts for {names}.",
            "Look each over, and where some did not come back say what became of them.",
        )
    last = max((item.back_at for item in before.items), default=before.out_at)
    back_at = validate_day(day) or last or get_local_day()
    if back_at < last:
        raise BadValue(f"Something of it was back on {last}, so not all was back on {back_at}.", "Write the day again.")
    row = {"state": "back", "back_at": back_at, "in_by": validate_text("name", signed) or survey.by}
    with survey.store.change(CLOSE_BATCH, survey.by) as change:
        change.update("batch", [batch_id], {**row, "by": survey.by, "at": change.at})
    return get_batch(survey, batch_id)


def list_returns(survey: Survey, batch_id: int) -> tuple[Return, ...]:
    """What is found of each item that came back: short, damaged, sizes changed, threads closed."""
    return check_returns(get_batch(survey, batch_id), _gather_departure_facts(survey, batch_id))


def require_draft(survey: Survey, batch_id: int) -> Batch:
    """The batch, if it has not left.

    Raises:
        NoSuchThing: no such batch.
        BadValue: it has left.
    """
    batch = get_batch(survey, batch_id)
    if batch.state != "draft":
        raise BadValue(f"Batch {batch_id} has left.", "What is in it cannot be changed; make up another.")
    return batch


def _get_item(survey: Survey, item_id: int) -> tuple[Batch, BatchItem]:
    for batch in list_batches(survey):
        for item in batch.items:
            if item.id == item_id:
                return batch, item
    raise NoSuchThing(f"There is no item {item_id} in any batch.", NextStep.SEE_ITEMS)


def require_not_in_batch(survey: Survey, part_id: int) -> None:
    """Refuse a part that is in a batch that has not come back.

    Raises:
        BadValue: it is.
    """
    for batch in list_batches(survey):
        items = batch.items if batch.state == "draft" else batch.away
        if any(item.part == part_id for item in items):
            raise BadValue(
                f"Part {part_id} is in batch {batch.id} already ({batch.name}).", "Take it out of that one first."
            )


def _make_new_item_row(
    survey: Survey, batch_id: int, trade: Trade, part_id: int, count: int | None, at: str
) -> dict[str, Any]:  # fmt: skip
    part = require_live_row(survey, "part", part_id)
    require_not_in_batch(survey, part_id)
    readings = next((one.readings for one in list_parts(survey) if one.part.id == part_id), ())
    sizes = {one.name.replace("-", " "): one.written for one in readings if "-book" not in one.name}
    how_many = part["quantity"] if count is None else count
    return {
        "batch": batch_id, "part": part_id, "count": validate_count("count", how_many),
        "before": json.dumps(sizes if trade.sizes else {}, ensure_ascii=False), "by": survey.by, "at": at,
    }  # fmt: skip


def _gather_departure_facts(survey: Survey, batch_id: int) -> DepartureFacts:
    batch, graded = get_batch(survey, batch_id), {part.part.id: part for part in list_parts(survey)}
    marring = {kind.id for kind in load_finding_kinds() if kind.speaks_of == "substance"}
    first: dict[int, Trade] = {}
    for item in batch.items if batch.state == "draft" else ():
        earlier = find_earlier_trade(graded[item.part], batch.trade, list_batches(survey), get_trades())
        if earlier is not None:
            first[item.id] = earlier
    return DepartureFacts(
        parts=graded,
        trades=get_trades(),
        first=first,
        facts={step for step, state in fetch_step_states(survey.store).items() if state == "done"},
        examined=find_crack_tested(graded.values(), list_batches(survey), marring),
    )


def _describe_checks(survey: Survey, batch_id: int, checks: Iterable[DepartureCheck]) -> str:
    """Each check that is open with its part: ``crack-tested, bare (part 3): not said``."""
    part_of = {item.id: item.part for item in get_batch(survey, batch_id).items}
    parts_by_label: dict[str, list[str]] = {}
    for check in checks:
        label = check.label[:1].lower() + check.label[1:]
        parts_by_label.setdefault(label, []).extend([f"part {part_of[check.item]}"] if check.item is not None else [])
    return "; ".join(f"{label} ({', '.join(where)})" if where else label for label, where in parts_by_label.items())
