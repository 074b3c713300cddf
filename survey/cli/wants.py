"""``teachest wants`` and ``want``: what is to be got, and what was said and done about each."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder, parse_pairs, print_json
from survey.cli.listing import Column, Listing, json_of, say_paths
from survey.machine.verbs import get_machine
from survey.model.paper import PAPERS
from survey.model.wants import SCARCITIES, WANT_STATES, WANT_WORDS
from survey.prices import format_price
from survey.settings import load_settings
from survey.wants.sheet_verbs import WANT_COPIES, write_wants_sheet
from survey.wants.verbs import drop_want, group_wants_by_stall, list_wants, set_currency, set_want
from survey.wants.want_lines import WantLine, describe_wants
from survey.words import format_count


@click.command(epilog="Example: teachest wants my-machine --to pocket.pdf")
@folder_argument
@click.option("--to", "targets", type=click.Path(path_type=Path), multiple=True,
              help="Write them there: a name ending in .pdf or .csv; repeat for more.")  # fmt: skip
@click.option("--copy", type=click.Choice(WANT_COPIES), default=None,
              help="pocket: a sheet to fold. friend: pictures and sizes, no prices, no full numbers.")  # fmt: skip
@click.option("--paper", type=click.Choice(PAPERS), help="Paper of a PDF; A4 unless the settings say otherwise.")
@click.option("--currency", help="Say first in which currency the survey's prices are, like GBP.")
@json_option
def wants(
    folder: Path, targets: tuple[Path, ...], copy: str | None, paper: str | None, currency: str | None, as_json: bool
) -> None:
    """List what is to be got, by kind of stall; or print it for the pocket, for a friend, or as a table."""
    with open_folder(folder) as survey:
        if currency is not None:
            set_currency(survey, currency)
        written = [write_wants_sheet(survey, target, copy or "", paper or load_settings().paper) for target in targets]
        lines, money = list_wants(survey), get_machine(survey).currency
    listing = _listing(money)
    if targets:
        say_paths(written, as_json)
        if copy == "friend" and not as_json:
            click.echo("Look over its pictures before it leaves you: a number in a photo is not hidden.")
    elif as_json:
        print_json([listing.as_json(line) for line in lines])
    else:
        for stall, pile in group_wants_by_stall(lines).items():
            listing.say_table(stall, pile)
            click.echo("")
        click.echo(describe_wants(lines) or "Nothing is to be got that is known of.")


@click.command(
    epilog="Example: teachest want my-machine B055 --state asked --who Wren --high 12.50 --size 'diameter=1/2 in'",
)
@folder_argument
@click.argument("component", required=False)
@click.option("--label", default="", help="A thing of your own that is no position of the schedule, in words.")
@click.option("--state", type=click.Choice(WANT_STATES), help="How far it has got.")
@click.option("--who", help="Whom it has to do with.")
@click.option("--quantity", type=int, help="How many; unless said, as many as the schedule lacks.")
@click.option("--size", "sizes", multiple=True, metavar="NAME=SIZE", help="A size to take along; empty takes it out.")
@click.option("--also", help="What would also do.")
@click.option("--low", help="The least that all of them may cost.")
@click.option("--likely", help="What they will likely cost.")
@click.option("--high", help="The most you will pay.")
@click.option("--scarce", "scarcity", type=click.Choice(tuple(SCARCITIES)), help="How scarce it is.")
@click.option("--note", help="Anything else.")
@click.option("--drop", is_flag=True, help="Put aside what was said of it.")
@json_option
def want(
    folder: Path, component: str | None, label: str, sizes: tuple[str, ...], drop: bool, as_json: bool, **said: Any
) -> None:
    """Say who was asked for a want, how far it has got, its sizes, its price, what would also do."""
    fields = {name: value for name, value in said.items() if value is not None}
    if sizes:
        fields["sizes"] = parse_pairs(sizes)
    with open_folder(folder) as survey:
        if drop:
            drop_want(survey, component, label=label)
        else:
            set_want(survey, component, label=label, **fields)
        lines = [line for line in list_wants(survey) if _is_it(line, component, label)]
        money = get_machine(survey).currency
    if as_json:
        print_json(_listing(money).as_json(lines[0]) if lines else None)
    elif not lines:
        click.echo(f"{component or label}: nothing is wanted.")
    else:
        line = lines[0]
        if line.count:
            click.echo(f"{format_count(line.count, 'piece')} of {line.label}: {_state(line)}.")
        else:
            click.echo(f"{line.label}: {_state(line)}. The schedule lacks none that anybody has looked for.")
            click.echo("Next: say how many with --quantity, or what is so with teachest missing.")
        if line.unknown:
            click.echo(f"Measure before you go: {', '.join(line.unknown)}.")


def _is_it(line: WantLine, component: str | None, label: str) -> bool:
    if component is not None:
        return line.component is not None and line.component.id == component
    return line.component is None and line.label.casefold() == label.strip().casefold()


def _state(line: WantLine) -> str:
    said = line.said
    who = said.who if said else ""
    return f"{WANT_WORDS[line.state].lower()}{f', {who}' if who else ''}"


def _listing(money: str) -> Listing:
    """The columns of wants, their prices in that currency."""
    return Listing(
        Column("component", lambda line: line.component and line.component.id, "component"),
        Column("label", head="what"), Column("count", head="count"), Column("reasons", head="why", text=_reasons),
        Column("stall", "stall.label"), "assembly",
        Column("names", lambda line: line.component.names if line.component else []),
        Column("sizes", lambda line: [json_of(one, "name", "size=written", "on_old_part=worn") for one in line.sizes],
               "sizes", lambda line: "; ".join(f"{size.name} {size.written}" for size in line.sizes)),
        Column("to_measure", "unknown", "to measure", lambda line: ", ".join(line.unknown)),
        Column("wrong_one", "tell_tales"), Column("comes_with_it", "brings"), "parts", _said("also"),
        Column("", lambda line: format_price(line.price, money), "price"),
        Column("state", head="state", text=_state), _said("who"), _said("since"),
        _said("scarce", "scarcity"), _said("note"),
        Column("price", lambda line: json_of(line.price, "low", "likely", "high")),
        Column("currency", lambda line: money),
    )  # fmt: skip


def _reasons(line: WantLine) -> str:
    return "; ".join(line.reasons)


def _said(key: str, field: str = "") -> Column:
    """What the owner wrote of the want; empty where nothing was written."""
    return Column(key, lambda line: getattr(line.said, field or key) if line.said else "")


COMMANDS = (wants, want)
