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
from survey.outwork.batches import Away, describe_batches, find_away, find_crack_tested, find_parts_to_examine
from survey.outwork.checks import DepartureCheck, DepartureFacts, Return, select_open_checks
from survey.outwork.checks import check_before_departure as work_out_checks
from survey.outwork.checks import check_returns as work_out_returns
from survey.outwork.data import load_trades
from survey.outwork.field_verbs import make_batch_row, make_item_row, only_known, the_trade, trades_by_id, validate_day
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

_OF_BATCHES = ("batch", "batch_item", "part")

_WHILE_OUT = ("photos", "note")
"""What may still be said of an item once it has left: the rest stands on the docket."""

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
    """The trades in their order, what each is told, and what is looked at before a part leaves."""
    return load_trades()


def list_batches(survey: Survey) -> list[Batch]:
    """Every batch that stands, with the items in it, by number."""
    return survey.kept("batches", _OF_BATCHES, lambda: fetch_batches(survey.store, trades_by_id()))


def get_batch(survey: Survey, batch_id: int) -> Batch:
    """One batch.

    Raises:
        NoSuchThing: there is none of that number.
    """
    for one in list_batches(survey):
        if one.id == batch_id:
            return one
    raise NoSuchThing(f"There is no batch {batch_id} in this survey.", NextStep.SEE_BATCHES)


def suggest_batches(survey: Survey) -> tuple[Suggestion, ...]:
    """Which part is for which trade next, and which waits for another trade to be done with it."""
    return suggest_for_trades(list_parts(survey), list_batches(survey), get_trades())


def list_away(survey: Survey) -> dict[int, Away]:
    """By part number, how many of it are out with a trade or have not come back from there, and where in words."""
    found = list_batches(survey)
    items = [item for one in found for item in one.short]
    return find_away(found, {item.id: count_taken_off(survey.store, item) for item in items})


def list_parts_to_examine(survey: Survey) -> dict[int, str]:
    """Safety parts that came back and were not looked over since: by part number, from whom and when."""
    return find_parts_to_examine(list_parts(survey), list_batches(survey))


def describe_outwork(survey: Survey, today: str = "") -> str:
    """How the outwork stands, in a sentence; empty where there is none. ``today``: a day; now unless given."""
    return describe_batches(list_batches(survey), today or get_local_day())


def list_overdue_batches(survey: Survey, today: str = "") -> list[Batch]:
    """Batches of which something should have been back before that day."""
    return [one for one in list_batches(survey) if one.overdue(today or get_local_day())]


def make_batch(survey: Survey, trade: str, part_ids: Iterable[int] = (), **fields: Any) -> Batch:
    """Make up a batch for a trade.

    Args:
        trade: an id of the table of trades.
        part_ids: parts that go into it, all that is in hand of each.
        fields: ``BATCH_FIELDS``.

    Raises:
        NoSuchThing: no such trade or part.
        BadValue: a value that cannot be, or a part that is in another batch.
    """
    known = the_trade(trade)
    said = make_batch_row(None, known, only_known(fields, BATCH_FIELDS, "A batch"))
    wanted = list(dict.fromkeys(part_ids))
    with survey.together(), survey.store.change(MAKE_BATCH, survey.by) as change:
        row = change.insert("batch", {"trade": known.id, **said, "by": survey.by, "at": change.at})
        for part_id in wanted:
            change.insert("batch_item", _new_item(survey, row["id"], known, part_id, None, change.at))
    return get_batch(survey, row["id"])


@in_one_transaction
def change_batch(survey: Survey, batch_id: int, **fields: Any) -> Batch:
    """Say something else of a batch. Fields: ``BATCH_FIELDS``; ``answers`` are joined to those that stood.

    Raises:
        NoSuchThing: no such batch.
        BadValue: an unknown field or a value that cannot be.
    """
    before = get_batch(survey, batch_id)
    said = make_batch_row(before, before.trade, only_known(fields, BATCH_FIELDS, "A batch"))
    with survey.store.change(CHANGE_BATCH, survey.by) as change:
        change.update("batch", [batch_id], {**said, "by": survey.by, "at": change.at})
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
        count: how many of it go; all that is in hand unless said.

    Raises:
        NoSuchThing: no such batch or part.
        BadValue: the batch has left, or the part is in a batch already.
    """
    before = require_draft(survey, batch_id)
    with survey.store.change(ADD_TO_BATCH, survey.by) as change:
        row = change.insert("batch_item", _new_item(survey, batch_id, before.trade, part_id, count, change.at))
    return _item(survey, row["id"])[1]


@in_one_transaction
def change_item(survey: Survey, item_id: int, **fields: Any) -> BatchItem:
    """Say something else of an item. Fields: ``ITEM_FIELDS``; ``said`` is joined to what stood.

    Raises:
        NoSuchThing: no such item or photo.
        BadValue: an unknown field, a value that cannot be, or the item has left.
    """
    its, before = _item(survey, item_id)
    named = only_known(fields, ITEM_FIELDS, "An item")
    late = [name for name in named if name not in _WHILE_OUT]
    if its.state != "draft" and late:
        raise BadValue(
            f"Batch {its.id} has left: its docket says what went.", "Take back that it went out, and send it out again."
        )
    for photo in named.get("photos", ()):
        if photo is not None:
            require_live_row(survey, "photo", photo)
    said = make_item_row(before, named, {check.id for check in get_trades().checks if not check.never})
    with survey.store.change(CHANGE_ITEM, survey.by) as change:
        change.update("batch_item", [item_id], {**said, "by": survey.by, "at": change.at})
    return _item(survey, item_id)[1]


@in_one_transaction
def remove_item(survey: Survey, item_id: int) -> None:
    """Take a part out of a batch that has not left.

    Raises:
        NoSuchThing: no such item.
        BadValue: it has left.
    """
    require_draft(survey, _item(survey, item_id)[0].id)
    put_row_aside(survey, "batch_item", item_id, REMOVE_ITEM)


def list_departure_checks(survey: Survey, batch_id: int) -> tuple[DepartureCheck, ...]:
    """What is looked at before the batch leaves, each yes, no or not said."""
    return work_out_checks(get_batch(survey, batch_id), _ground(survey, batch_id))


@in_one_transaction
def send_batch(survey: Survey, batch_id: int, *, day: str = "", signed: str = "", anyway: str = "") -> Batch:
    """The batch leaves: what is in it is away from then on.

    Args:
        day: the local day, today unless said. signed: who signs it out. anyway: why it leaves although something
            that is looked at is open; it lifts no caution that always holds.

    Raises:
        BadValue: it has left, something holds it here, or the day cannot be.
    """
    require_draft(survey, batch_id)
    reason, held = validate_text("reason", anyway), select_open_checks(list_departure_checks(survey, batch_id))
    hard = [check for check in held if check.keeps_here]
    if hard:
        raise BadValue(
            f"The batch stays here: {_told(survey, batch_id, hard)}.", " ".join(dict.fromkeys(one.text for one in hard))
        )
    if held and not reason:
        raise BadValue(
            f"Not everything is looked at: {_told(survey, batch_id, held)}.",
            "See to it, or say why it goes all the same.",
        )
    row = {"state": "out", "out_at": validate_day(day) or get_local_day(),
           "out_by": validate_text("name", signed) or survey.by,
           "anyway": reason if held else ""}  # fmt: skip
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
        came_back: how many are back. day: the local day, today unless said. after: sizes as they are now.
        threads: run or closed. damage: what was damaged. short_note: what became of those that did not come back.

    Raises:
        NoSuchThing: no such item.
        BadValue: its batch is not out, or a value that cannot be.
    """
    its, before = _item(survey, item_id)
    if its.state != "out":
        raise BadValue(f"Batch {its.id} is not out.", "Only what is out can be taken back.")
    if threads not in ("", *THREADS_WORDS):
        raise BadValue(f"{threads!r} is nothing to say of threads.", "Say run or closed, or nothing.")
    said = make_item_row(before, {"after": after or {}}, ())
    back = validate_day(day) or get_local_day()
    if back < its.out_at:
        raise BadValue(f"It went out on {its.out_at}, so it was not back on {back}.", "Write the day again.")
    told = {
        "damage": validate_text("damage", damage),
        "short_note": validate_text("note", short_note),
        "threads": threads,
    }
    count = validate_count("number that came back", came_back, least=0)
    with survey.store.change(TAKE_BACK, survey.by) as change:
        change.update("batch_item", [item_id], {
            **said, **told, "came_back": count, "back_at": back, "checked_at": change.at, "by": survey.by,
            "at": change.at,
        })  # fmt: skip
    return _item(survey, item_id)[1]


@in_one_transaction
def close_batch(survey: Survey, batch_id: int, *, day: str = "", signed: str = "") -> Batch:
    """All of it is back, or its end is told: the batch is done with.

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
    back = validate_day(day) or last or get_local_day()
    if back < last:
        raise BadValue(f"Something of it was back on {last}, so not all was back on {back}.", "Write the day again.")
    row = {"state": "back", "back_at": back, "in_by": validate_text("name", signed) or survey.by}
    with survey.store.change(CLOSE_BATCH, survey.by) as change:
        change.update("batch", [batch_id], {**row, "by": survey.by, "at": change.at})
    return get_batch(survey, batch_id)


def list_returns(survey: Survey, batch_id: int) -> tuple[Return, ...]:
    """What is found of each item that came back: short, damaged, sizes changed, threads closed."""
    return work_out_returns(get_batch(survey, batch_id), _ground(survey, batch_id))


def require_draft(survey: Survey, batch_id: int) -> Batch:
    """The batch, if it has not left.

    Raises:
        NoSuchThing: no such batch.
        BadValue: it has left.
    """
    found = get_batch(survey, batch_id)
    if found.state != "draft":
        raise BadValue(f"Batch {batch_id} has left.", "What is in it cannot be changed; make up another.")
    return found


def _item(survey: Survey, item_id: int) -> tuple[Batch, BatchItem]:
    for its in list_batches(survey):
        for item in its.items:
            if item.id == item_id:
                return its, item
    raise NoSuchThing(f"There is no item {item_id} in any batch.", NextStep.SEE_ITEMS)


def require_not_in_batch(survey: Survey, part_id: int) -> None:
    """Refuse a part that is in a batch that has not come back.

    Raises:
        BadValue: it is.
    """
    for its in list_batches(survey):
        held = its.items if its.state == "draft" else its.away
        if any(item.part == part_id for item in held):
            raise BadValue(
                f"Part {part_id} is in batch {its.id} already ({its.name}).", "Take it out of that one first."
            )


def _new_item(
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


def _ground(survey: Survey, batch_id: int) -> DepartureFacts:
    its, graded = get_batch(survey, batch_id), {one.part.id: one for one in list_parts(survey)}
    marring = {kind.id for kind in load_finding_kinds() if kind.speaks_of == "substance"}
    first: dict[int, Trade] = {}
    for item in its.items if its.state == "draft" else ():
        ahead = find_earlier_trade(graded[item.part], its.trade, list_batches(survey), get_trades())
        if ahead is not None:
            first[item.id] = ahead
    return DepartureFacts(
        parts=graded,
        trades=get_trades(),
        first=first,
        facts={step for step, said in fetch_step_states(survey.store).items() if said == "done"},
        examined=find_crack_tested(graded.values(), list_batches(survey), marring),
    )


def _told(survey: Survey, batch_id: int, checks: Iterable[DepartureCheck]) -> str:
    """Each check that is open with its part: ``crack-tested, bare (part 3): not said``."""
    of = {item.id: item.part for item in get_batch(survey, batch_id).items}
    told: dict[str, list[str]] = {}
    for check in checks:
        label = check.label[:1].lower() + check.label[1:]
        told.setdefault(label, []).extend([f"part {of[check.item]}"] if check.item is not None else [])
    return "; ".join(f"{label} ({', '.join(where)})" if where else label for label, where in told.items())
