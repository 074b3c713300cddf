"""``teachest batch`` and ``docket``: work sent away, the paper that goes with it, and what comes back."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder, parse_pairs, print_json, print_table
from survey.cli.outwork_listing import ASKS, CHECKS, batch_json, say_batch, suggestion_json, trades_json
from survey.model.outwork import HYDROGEN_WORDS, THREADS_WORDS, BatchItem
from survey.model.paper import PAPERS
from survey.outwork.docket_verbs import list_outwork_lines, write_docket
from survey.outwork.suggestions import Candidate
from survey.outwork.verbs import (
    add_to_batch,
    change_batch,
    change_item,
    close_batch,
    describe_outwork,
    get_batch,
    get_trades,
    list_batches,
    list_overdue_batches,
    list_parts_to_examine,
    make_batch,
    receive_item,
    remove_batch,
    remove_item,
    send_batch,
    suggest_batches,
)
from survey.settings import load_settings
from survey.store.survey import Survey
from survey.words import format_part_name


@click.command(epilog="Example: teachest batch my-machine --new plate --part 24 --who 'Hollin Brothers'")
@folder_argument
@click.argument("number", metavar="[BATCH]", type=int, required=False)
@click.option("--new", "trade", metavar="TRADE", help="Make one up for this trade; see --trades.")
@click.option("--part", "parts", type=int, multiple=True, help="A part that goes into it; repeat.")
@click.option("--without", type=int, multiple=True, metavar="PART", help="Take this part out of it; repeat.")
@click.option("--who", help="The firm or person.")
@click.option("--contact", help="How to reach them.")
@click.option("--promised", metavar="DAY", help="The day it is promised for, like 2026-07-10.")
@click.option("--carriage", help="Who pays carriage.")
@click.option("--insured", help="For what it is insured.")
@click.option("--low", help="The least that the whole may cost.")
@click.option("--likely", help="What it will likely cost.")
@click.option("--high", help="The most it may cost.")
@click.option("--agreed/--guessed", default=None, help="Whether the price is agreed, or a guess.")
@click.option("--paid", help="What was paid so far.")
@click.option("--answer", "answers", multiple=True, metavar="ASK=WORDS", help="What the trade asks; see --trades.")
@click.option("--note", help="Anything else; it stands on the docket.")
@click.option("--remove", is_flag=True, help="Put the batch into the bin; only before it leaves.")
@click.option("--trades", is_flag=True, help="Show every trade in its order, with what it asks.")
@json_option
def batch(
    folder: Path, number: int | None, trade: str | None, parts: tuple[int, ...], without: tuple[int, ...],
    answers: tuple[str, ...], remove: bool, trades: bool, as_json: bool, **said: Any,
) -> None:  # fmt: skip
    """List what is out, overdue, short and what can go to whom next; or make up a batch and say things of it."""
    if trades:
        _say_trades(as_json)
        return
    fields = {name: value for name, value in said.items() if value is not None}
    if answers:
        fields["answers"] = parse_pairs(answers)
    with open_folder(folder) as survey:
        if trade is not None:
            number = make_batch(survey, trade, parts, **fields).id
        elif number is None:
            if fields or parts or without or remove:
                raise click.UsageError("Say which batch by its number, or make one up with --new.")
            _say_all(survey, as_json)
            return
        else:
            with survey.together():
                _change(survey, number, parts, without, fields)
            if remove:
                remove_batch(survey, number)
                click.echo(f"Batch {number} is in the bin.")
                return
        if as_json:
            print_json(batch_json(survey, get_batch(survey, number)))
        else:
            say_batch(survey, get_batch(survey, number))


@click.command(epilog="Example: teachest docket my-machine 3 --item 24 --tag 24 --finish 'dull zinc' --hydrogen bake")
@folder_argument
@click.argument("number", metavar="BATCH", type=int)
@click.option("--to", "targets", type=click.Path(path_type=Path), multiple=True,
              help="Write it there: a name ending in .pdf or .html; repeat for more.")  # fmt: skip
@click.option("--paper", type=click.Choice(PAPERS), help="Paper of a PDF; A4 unless the settings say otherwise.")
@click.option("--full-numbers", is_flag=True, help="Print stamped numbers whole.")
@click.option("--item", "part_id", type=int, metavar="PART", help="Say something of this part in it.")
@click.option("--count", type=int, help="With --item: how many of it go.")
@click.option("--tag", help="With --item: what stands on its tag.")
@click.option("--finish", help="With --item: what is to be done to it.")
@click.option("--plug", help="With --item: threads and bores to plug, or none.")
@click.option("--keep-off", help="With --item: what is not to be polished, blasted or coated, or none.")
@click.option("--before", multiple=True, metavar="NAME=SIZE", help="With --item: a size before it goes; repeat.")
@click.option("--photo", "photos", type=int, multiple=True, help="With --item: a photo of one side; twice for both.")
@click.option("--hydrogen", type=click.Choice(list(HYDROGEN_WORDS)),
              help="With --item: hardened or spring steel.")  # fmt: skip
@click.option("--say", "said", multiple=True, metavar="CHECK=yes", help="With --item: what was looked at; yes or no.")
@click.option("--note", help="With --item: anything else.")
@click.option("--back", "came_back", type=int, metavar="COUNT", help="With --item: how many of it came back.")
@click.option("--after", multiple=True, metavar="NAME=SIZE", help="With --back: a size after; repeat.")
@click.option("--threads", type=click.Choice(list(THREADS_WORDS)), help="With --back: how its threads are.")
@click.option("--damage", help="With --back: what was damaged.")
@click.option("--short-note", help="With --back: what became of those that did not come back.")
@click.option("--out", is_flag=True, help="The batch leaves.")
@click.option("--in", "closed", is_flag=True, help="All of it is back and accounted for.")
@click.option("--day", help="With --out, --back and --in: the day; today unless said.")
@click.option("--signed", help="With --out and --in: who signs.")
@click.option("--anyway", help="With --out: why it leaves although something is open.")
@json_option
def docket(
    folder: Path, number: int, targets: tuple[Path, ...], paper: str | None, full_numbers: bool, part_id: int | None,
    out: bool, closed: bool, day: str | None, signed: str | None, anyway: str | None, as_json: bool, **said: Any,
) -> None:  # fmt: skip
    """Show what is open before a batch leaves; print its docket, send it out, and take it back item by item."""
    fields = {name: value for name, value in said.items() if value not in (None, ())}
    with open_folder(folder) as survey:
        get_batch(survey, number)
        if part_id is not None:
            _say_of_item(survey, number, part_id, fields, day or "")
        elif fields:
            raise click.UsageError("Say with --item which part is meant.")
        if out:
            send_batch(survey, number, day=day or "", signed=signed or "", anyway=anyway or "")
        if closed:
            close_batch(survey, number, day=day or "", signed=signed or "")
        size = paper or load_settings().paper
        written = [write_docket(survey, number, to, size, full_numbers=full_numbers) for to in targets]
        if as_json:
            print_json({**batch_json(survey, get_batch(survey, number)),
                      "written": [str(path.resolve()) for path in written]})  # fmt: skip
        elif written:
            for path in written:
                click.echo(str(path.resolve()))
            click.echo("Look over its pictures before it leaves you: a number in a photo is not hidden.")
        else:
            say_batch(survey, get_batch(survey, number))


def _change(
    survey: Survey, number: int, parts: tuple[int, ...], without: tuple[int, ...], fields: dict[str, Any]
) -> None:  # fmt: skip
    if fields:
        change_batch(survey, number, **fields)
    for part in parts:
        add_to_batch(survey, number, part)
    for part in without:
        remove_item(survey, _item(survey, number, part).id)


def _item(survey: Survey, number: int, part: int) -> BatchItem:
    for item in get_batch(survey, number).items:
        if item.part == part:
            return item
    raise click.UsageError(f"Part {part} is not in batch {number}.")


def _say_of_item(survey: Survey, number: int, part: int, fields: dict[str, Any], day: str) -> None:
    """What was said of an item before it goes, then of its return."""
    item = _item(survey, number, part)
    for name in ("before", "after", "said"):
        if name in fields:
            fields[name] = parse_pairs(fields[name])
    if "photos" in fields:
        chosen = fields["photos"]
        if len(chosen) > 2:
            raise click.UsageError("Both sides are two photos: give --photo twice at most.")
        fields["photos"] = (chosen[0], chosen[1] if len(chosen) > 1 else item.photos[1])
    back = {name: fields.pop(name) for name in ("after", "threads", "damage", "short_note") if name in fields}
    came_back = fields.pop("came_back", None)
    if back and came_back is None:
        raise click.UsageError("Say with --back how many came back.")
    if fields:
        change_item(survey, item.id, **fields)
    if came_back is not None:
        receive_item(survey, item.id, came_back, day=day, **back)


def _say_all(survey: Survey, as_json: bool) -> None:
    lines, found = list_outwork_lines(survey), suggest_batches(survey)
    if as_json:
        print_json({
            "standing": describe_outwork(survey),
            "batches": [batch_json(survey, one) for one in list_batches(survey)],
            "overdue": [one.id for one in list_overdue_batches(survey)],
            "to_examine": [{"part": part, "says": says} for part, says in list_parts_to_examine(survey).items()],
            "next": [suggestion_json(one) for one in found],
        })  # fmt: skip
        return
    for line in lines:
        click.echo(f"{line.head}. {line.state}.")
        for told in (*line.items, *line.found, line.money):
            if told:
                click.echo(f"   {told}")
    for one in found:
        rows = [[str(c.part.part.id), format_part_name(c.part), ", ".join(c.who), " ".join(c.why)] for c in one.ready]
        rows += [[str(c.part.part.id), format_part_name(c.part), ", ".join(c.who), _waits(c)] for c in one.later]
        print_table(f"Next for: {one.trade.label} (--new {one.trade.id})", ["part", "what", "who", "why"], rows)
    click.echo(describe_outwork(survey) or "Nothing is away.")


def _waits(one: Candidate) -> str:
    if one.at is not None:
        return f"later: it is in batch {one.at.id}, {one.at.trade.label.lower()}"
    return f"later: {one.first.label.lower()} comes first" if one.first else ""


def _say_trades(as_json: bool) -> None:
    known = get_trades()
    if as_json:
        print_json(trades_json(known))
        return
    for trade in known.trades:
        ASKS.say_table(f"{trade.id}: {trade.label}. {trade.about} ({trade.source})", trade.ask)
    CHECKS.say_table("Looked at before it leaves (docket --say)", [one for one in known.checks if not one.never])


COMMANDS = (batch, docket)
