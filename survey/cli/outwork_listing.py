"""A batch as text for the terminal and as JSON."""

from __future__ import annotations

from typing import Any

import click

from survey.cli.common import print_table
from survey.cli.listing import Column, Listing, json_of
from survey.machine.verbs import get_machine
from survey.model.outwork import Batch, BatchItem, Trades
from survey.outwork.checks import ANSWER_WORDS, DepartureCheck
from survey.outwork.docket_verbs import list_outwork_lines
from survey.outwork.suggestions import Candidate, Suggestion
from survey.outwork.verbs import list_departure_checks, list_returns
from survey.parts.verbs import get_part
from survey.store.survey import Survey, get_local_day
from survey.words import format_part_name


def say_batch(survey: Survey, batch: Batch) -> None:
    """A batch with its items, what is open before it leaves, and what was found on its return."""
    line = next(one for one in list_outwork_lines(survey) if one.batch == batch.id)
    click.echo(f"{line.head}. {line.state}.")
    if line.money:
        click.echo(line.money)
    print_table("In it", ["part", "what", "count", "tag", "to be done", "sizes before", "back"],
              [_row(survey, item) for item in batch.items])  # fmt: skip
    if batch.state == "draft":
        parts = {item.id: f"part {item.part}" for item in batch.items}
        rows = [[parts[check.item] if check.item is not None else "", check.label,
                 ANSWER_WORDS[check.answer], _holds(check), check.text]
                for check in list_departure_checks(survey, batch.id) if check.answer != "yes"]  # fmt: skip
        print_table("Before it leaves", ["of", "what", "answer", "", "because"], rows)
    for told in line.found:
        click.echo(told)


def _holds(check: DepartureCheck) -> str:
    return "stays here" if check.keeps_here else "or say why" if check.needs_reason else ""


def _row(survey: Survey, item: BatchItem) -> list[str]:
    return [
        str(item.part), format_part_name(get_part(survey, item.part)), str(item.count), item.tag, item.finish,
        "; ".join(f"{name} {size}" for name, size in item.before),
        "" if item.came_back is None else f"{item.came_back}, {item.back_at}",
    ]  # fmt: skip


def batch_json(survey: Survey, batch: Batch) -> dict[str, Any]:
    """Everything that is known of a batch; money as decimal text."""
    returned = {one.item: list(one.found) for one in list_returns(survey, batch.id)}
    checks = list_departure_checks(survey, batch.id) if batch.state == "draft" else ()
    return {
        **json_of(batch, "batch=id", "trade=trade.id", "who", "contact", "state"),
        "out": batch.out_at or None, "promised": batch.promised or None, "back": batch.back_at or None,
        "overdue": batch.overdue(get_local_day()), **json_of(batch, "carriage", "insured", "paid", "agreed"),
        "price": json_of(batch.price, "low", "likely", "high"), "currency": get_machine(survey).currency,
        "answers": dict(batch.answers), **json_of(batch, "out_by", "in_by", "anyway", "note"),
        "items": [_item_json(item, returned.get(item.id, [])) for item in batch.items],
        "checks": [
            json_of(check, "item", "check=id", "label", "answer", "holds", "says=text", "source") for check in checks
        ],
    }  # fmt: skip


def _item_json(item: BatchItem, found: list[str]) -> dict[str, Any]:
    return {
        **json_of(item, "item=id", "part", "count", "tag", "finish", "plug", "keep_off"), "before": dict(item.before),
        "after": dict(item.after), "photos": item.photos, "hydrogen": item.hydrogen or None, "said": dict(item.said),
        "came_back": item.came_back, "back": item.back_at or None, "threads": item.threads or None,
        **json_of(item, "damage", "short", "short_note", "accounted"), "found": found, "note": item.note,
    }  # fmt: skip


def suggestion_json(one: Suggestion) -> dict[str, Any]:
    """What can go to a trade now, and what later."""
    return {"trade": one.trade.id, "label": one.trade.label,
            "ready": [_candidate_json(each) for each in one.ready],
            "later": [_candidate_json(each) for each in one.later]}  # fmt: skip


def _candidate_json(one: Candidate) -> dict[str, Any]:
    return {
        "part": one.part.part.id, "who": list(one.who), "why": list(one.why), "examine": one.examine,
        "first": one.first.id if one.first else None, "in_batch": one.at.id if one.at else None,
    }  # fmt: skip


ASKS = Listing(
    Column("ask", "id", "ask"), Column("label", head="what"), Column("hint", head="for example")
)  # fmt: skip
CHECKS = Listing(
    Column("check", "id", "check"), Column("label", head="what"), "trades", Column("says", "text", "because"),
    Column("source", head="who says so"), Column("always", lambda one: one.always or one.never),
)  # fmt: skip


def trades_json(known: Trades) -> dict[str, Any]:
    """The trades in their order, what each asks, and what is looked at."""
    return {
        "trades": [{**json_of(one, "trade=id", "label", "about", "source"),
                    "asks": [ASKS.as_json(ask) for ask in one.ask]} for one in known.trades],
        "checks": [CHECKS.as_json(one) for one in known.checks],
    }  # fmt: skip
