"""``teachest money``, ``spend`` and ``worth``: what it costs, what is paid, what it may be worth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder, print_json, print_table
from survey.cli.listing import json_of
from survey.machine.verbs import get_machine
from survey.model.money import LINE_KINDS, LINE_STATES, LINE_WORDS, MoneyLine
from survey.money.verbs import (
    Reckoning,
    add_money_line,
    change_money_line,
    describe_reckoning,
    get_reckoning,
    record_payment,
    remove_money_line,
    set_contingency,
    write_money_table,
)
from survey.money.worth_verbs import add_comparison, remove_comparison, set_sale_price
from survey.prices import format_money
from survey.store.survey import Survey


@click.command(epilog="Example: teachest money my-machine --contingency 20")
@folder_argument
@click.option("--to", "target", type=click.Path(path_type=Path), help="Write the lines there: a name ending in .csv.")
@click.option("--contingency", help="Your own per cent on what is still to be paid; empty for none.")
@json_option
def money(folder: Path, target: Path | None, contingency: str | None, as_json: bool) -> None:
    """Say what it costs: line by line low, likely and high, a range for the whole and how it was got."""
    with open_folder(folder) as survey:
        if contingency is not None:
            set_contingency(survey, contingency)
        found, told = get_reckoning(survey), describe_reckoning(survey)
        if target is not None:
            write_money_table(survey, target)
    if as_json:
        print_json(_json(found))
    elif target is not None:
        click.echo(str(target.resolve()))
    else:
        _say(told)


@click.command(
    epilog="Example: teachest spend my-machine --what 'plating, small parts' --kind outwork --low 60 --high 140"
)
@folder_argument
@click.option("--what", help="Write down something that costs, in a few words.")
@click.option("--line", "key", help="Which line is meant, as teachest money --json names it: own-3, want-B140.")
@click.option("--kind", type=click.Choice(tuple(LINE_KINDS)), help="What sort of cost; other unless said.")
@click.option("--low", help="What it costs at the least.")
@click.option("--likely", help="What it likely costs.")
@click.option("--high", help="What it costs at the most.")
@click.option("--state", type=click.Choice(LINE_STATES), help="guess unless said; paid: no more is to come.")
@click.option("--paid", "spent", help="What is paid so far, in all.")
@click.option("--on", "spent_at", help="The day it was paid, YYYY-MM-DD; today unless said.")
@click.option("--more", is_flag=True, help="With --line and --paid: more is still to be paid.")
@click.option("--receipt", help="Where the proof of it is.")
@click.option("--note", help="Anything else.")
@click.option("--remove", is_flag=True, help="With --line: put a line of your own aside; the bin keeps it.")
@json_option
def spend(
    folder: Path, what: str | None, key: str | None, more: bool, remove: bool, as_json: bool, **said: str | None
) -> None:
    """Write down what costs, or what was paid for a line: for a want, it then stands as bought."""
    fields = {name: value for name, value in said.items() if value is not None}
    if key is None and what is None:
        raise click.UsageError("Say with --what what costs, or with --line which line is meant.")
    with open_folder(folder) as survey:
        line = None
        if key is None:
            line = add_money_line(survey, what or "", **fields)
        elif remove:
            remove_money_line(survey, _own(key))
        elif key.startswith("own-") and (what is not None or "spent" not in fields or not set(fields) <= _PAYING):
            if more:
                raise click.UsageError("--more goes with --paid, --on and --receipt alone; else say --state committed.")
            named = {"what": what} if what is not None else {}
            line = change_money_line(survey, _own(key), **named, **fields)
        else:
            line = _pay(survey, key, fields, more)
        currency = get_machine(survey).currency
    if as_json:
        print_json(None if line is None else _line(line))
    elif line is None:
        click.echo(f"{key}: put aside; the bin keeps it.")
    else:
        paid = f", {format_money(line.spent, currency)} paid" if line.spent else ""
        click.echo(f"{line.key}: {line.what}, {LINE_WORDS[line.state]}{paid}.")


@click.command(epilog="Example: teachest worth my-machine --like 'running, tidy' --price 1450 --on 2026-05-17")
@folder_argument
@click.option("--like", help="Write down a like machine that was sold or offered, in words.")
@click.option("--price", help="With --like: what it went for.")
@click.option("--on", "seen_on", help="With --like: the day of the price, YYYY-MM-DD.")
@click.option("--asked", is_flag=True, help="With --like: the price was only asked; nobody is known to have paid it.")
@click.option("--condition", default="", help="With --like: its condition.")
@click.option("--where", default="", help="With --like: where it was seen.")
@click.option(
    "--part", "part_id", type=int, help="Say what this part would fetch by itself; nothing said takes it back."
)
@click.option("--low", default="", help="At the least: this machine by that one, or the part.")
@click.option("--likely", default="", help="With --part: what it would likely fetch.")
@click.option("--high", default="", help="At the most: this machine by that one, or the part.")
@click.option("--held", default="", help="With --part: why it is held back and not counted.")
@click.option("--note", default="", help="Anything else.")
@click.option("--remove", type=int, metavar="NUMBER", help="Put a comparison aside; the bin keeps it.")
@json_option
def worth(
    folder: Path, like: str | None, price: str | None, seen_on: str | None, asked: bool, part_id: int | None,
    remove: int | None, as_json: bool, **said: str,
) -> None:  # fmt: skip
    """Say what it may be worth when done, from dated comparisons, and what its parts would fetch."""
    with open_folder(folder) as survey:
        if remove is not None:
            remove_comparison(survey, remove)
        if like is not None:
            named = {name: said[name] for name in ("condition", "where", "low", "high", "note")}
            add_comparison(survey, like, seen_on or "", price or "", sold=not asked, **named)
        elif part_id is not None:
            fetches = {name: said[name] for name in ("low", "likely", "high", "held", "note")}
            set_sale_price(survey, part_id, **fetches)
        found, told = get_reckoning(survey), describe_reckoning(survey)
    if as_json:
        answer = _json(found)
        print_json({name: answer[name] for name in ("worth", "parts", "against", "currency")})
        return
    _say_worth(told)


_PAYING = {"spent", "spent_at", "receipt"}
"""What is said of a payment."""


def _pay(survey: Survey, key: str, fields: dict[str, str], more: bool) -> MoneyLine:
    unused = sorted(set(fields) - _PAYING)
    if unused or "spent" not in fields:
        raise click.UsageError(
            "For a line of a want say --paid, with --on and --receipt; its figures are said with teachest want."
        )
    rest = {name: fields[name] for name in ("spent_at", "receipt") if name in fields}
    return record_payment(survey, key, fields["spent"], settled=not more, **rest)


def _own(key: str) -> int:
    name, _, number = key.partition("-")
    if name != "own" or not number.isascii() or not number.isdigit():
        raise click.UsageError(f"{key!r} is no line of your own; those are called own-1, own-2 and so on.")
    return int(number)


def _say(told: Any) -> None:
    for group in told.groups:
        heads = ["line", "what", "figures", "expected", "stands", "paid", ""]
        print_table(f"{group.label}: {group.expected} expected", heads,
                  [[one.key, one.what, one.figures, one.expected, one.state, one.spent, one.about]
                   for one in group.entries])  # fmt: skip
        click.echo("")
    print_table("In all", ["", ""], told.sums)
    for sentence in told.short:
        click.echo(sentence)
    click.echo(f"{told.head} {told.method}")
    click.echo("")
    _say_worth(told)


def _say_worth(told: Any) -> None:
    click.echo(f"Worth: {told.worth}")
    for one in told.comparisons:
        click.echo(f"   {one.id}. {one.what}: {one.price} ({one.about}); this one by it: {one.ends}")
    click.echo(f"Sold as parts: {told.breaking}")
    for sale in (*told.sales, *told.held):
        click.echo(
            f"   part {sale.part}, {sale.label}: {sale.price or 'no price'}{f' ({sale.about})' if sale.about else ''}"
        )
    for sentence in told.against:
        click.echo(sentence)


def _json(found: Reckoning) -> dict[str, Any]:
    money_, whole = found.money, found.money.whole
    return {
        "currency": found.currency, "date": found.today,
        "lines": [_line(line) for line in money_.lines],
        **json_of(money_, "spent", "committed_to_pay=committed", "guessed_to_come=to_come"),
        **json_of(whole, "expected", "standard_deviation=deviation"),
        "range": [str(whole.least), str(whole.most)], **json_of(whole, "all_lows=low", "all_highs=high"),
        "at_least": money_.at_least, "no_price": [line.key for line in money_.unpriced],
        "no_high_figure": [line.key for line in money_.open_ended],
        **json_of(money_, "contingency_per_cent=contingency", "contingency=set_aside"),
        "worth": None if found.worth is None else {
            "range": [str(found.worth.low), str(found.worth.high)],
            "comparisons": [
                {**json_of(one, "number=id", "what", "date=seen_on", "price", "sold", "condition", "where"),
                 "range": [str(end) for end in one.ends], "note": one.note} for one in found.worth.comparisons
            ],
        },
        "parts": {
            "expected": str(found.breaking.sum.expected) if found.breaking.sum else None,
            "range": [str(found.breaking.sum.least), str(found.breaking.sum.most)] if found.breaking.sum else None,
            "of_parts": found.breaking.of_parts,
            "priced": [_sale(line) for line in found.breaking.counted],
            "held_back": [_sale(line) for line in found.breaking.held],
        },
        "against": None if found.against is None else {
            "heap": str(found.against.heap), "can_be_spent": [str(end) for end in found.against.can_spend],
            "rest_expected": str(found.against.rest), "worth_less_cost": [str(end) for end in found.against.left],
        },
    }  # fmt: skip


def _sale(line: Any) -> dict[str, Any]:
    return {
        **json_of(line, "part=said.part", "label", "held_back=said.held", "note=said.note"),
        **json_of(line.said.price, "low", "likely", "high"),
    }


def _line(line: MoneyLine) -> dict[str, Any]:
    figures = line.figures
    return {
        **json_of(line, "line=key", "what", "kind", "from=origin", "component"),
        **json_of(line.price, "low", "likely", "high"),
        "expected": str(figures.expected) if figures else None,
        "standard_deviation": str(figures.deviation) if figures else None, "committed": line.state != "guess",
        **json_of(line, "state", "spent", "date=spent_at", "receipt", "note"),
    }  # fmt: skip


COMMANDS = (money, spend, worth)
