"""The order of the build: ``order``, ``before`` and ``blocks``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from survey.build_order.plan import Plan, PlanStep, describe_loop
from survey.build_order.verbs import (
    add_pair,
    disable_pair,
    enable_pair,
    get_plan,
    list_blocks,
    list_disabled_pairs,
    list_steps,
    remove_pair,
    set_step_state,
)
from survey.cli.common import folder_argument, json_option, open_folder, print_json, print_table
from survey.cli.listing import Column, Listing, json_of
from survey.model.build_order import STEP_WORDS, BeforePair
from survey.words import format_count

_SHOWN_LACKS = 3


@click.command(epilog="Example: teachest order my-machine --done numbers-recorded")
@folder_argument
@click.option("--done", multiple=True, metavar="STEP", help="Say that this step is done; repeat for more.")
@click.option("--not-needed", multiple=True, metavar="STEP", help="Say that this machine does not need the step.")
@click.option("--open", "opened_again", multiple=True, metavar="STEP", help="Take back what was said of the step.")
@click.option("--pairs", is_flag=True, help="List what goes before what, and what is out of use.")
@json_option
def order(
    folder: Path, done: tuple[str, ...], not_needed: tuple[str, ...], opened_again: tuple[str, ...], pairs: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Put the steps of the dry build in order: what must be there first, why, and what holds each up."""
    with open_folder(folder) as survey:
        with survey.together():
            for step in done:
                set_step_state(survey, step, "done")
            for step in not_needed:
                set_step_state(survey, step, "not-needed")
            for step in opened_again:
                set_step_state(survey, step, None)
        found, off = get_plan(survey), list_disabled_pairs(survey)
        labels = {step.id: step.label for step in list_steps(survey)}
    if as_json:
        print_json(_plan_json(found))
        return
    for loop in found.loops:
        click.echo(f"A circle: {describe_loop(loop, labels)}. Drop {loop.drop.id}: it is left out here.")
    if pairs:
        _say_pairs(found.pairs, off, labels)
    else:
        _say_steps(found)


def _say_pairs(
    pairs: tuple[BeforePair, ...], off: tuple[tuple[BeforePair, str], ...], labels: Mapping[str, str]
) -> None:
    rows = [[p.id, labels[p.first], labels[p.then], _strength(p), p.because, p.source] for p in pairs]
    print_table(format_count(len(rows), "pair"), ["pair", "first", "then", "", "because", "source"], rows)
    if off:
        print_table("Out of use", ["pair", "because"], [[pair.id, why] for pair, why in off])


def _strength(pair: BeforePair) -> str:
    return "hard" if pair.hard else "soft"


def _say_steps(found: Plan) -> None:
    rows = [
        [str(number), one.step.id, one.step.label, STEP_WORDS[one.state], _after(one), _waits(one)]
        for number, one in enumerate(found.steps, 1)
    ]
    print_table(format_count(len(rows), "step"), ["", "step", "", "stands", "after", "waits for"], rows)
    if found.next:
        click.echo(f"Next: {found.next.step.label} ({found.next.step.id}).")
        if found.next.step.caution:
            click.echo(f"Caution: {found.next.step.caution}")
    for one in found.steps:
        for need in one.too_early:
            click.echo(f"Done too early? {one.step.label}, before: {need.step.label}. {need.pair.because}")


def _after(one: PlanStep) -> str:
    return ", ".join(need.step.id for need in one.needs if need.open and need.pair.hard)


def _waits(one: PlanStep) -> str:
    named = [f"{lack.component.label} ({lack.words})" for lack in one.lacks[:_SHOWN_LACKS]]
    rest = len(one.lacks) - len(named)
    more = [f"{rest} more"] if rest else []
    earlier = [f"{format_count(len(one.held_by), 'thing')} that earlier steps wait for"] if one.held_by else []
    return "; ".join(named + more + earlier)


def _plan_json(found: Plan) -> dict[str, Any]:
    return {
        "steps": [
            {
                **json_of(one, "step=step.id", "label=step.label", "phase=step.phase", "state"),
                "needs": [need.step.id for need in one.needs], "why": [need.pair.because for need in one.needs],
                "hard": [need.pair.hard for need in one.needs],
                "blocked_by": [
                    {**json_of(lack, "component=component.id", "label=component.label", "state"),
                     "earlier": lack in one.held_by}
                    for lack in (*one.lacks, *one.held_by)
                ],
                "caution": one.step.caution,
            }
            for one in found.steps
        ],
        "loops": [
            {"pairs": [json_of(pair, "pair=id", "first", "then") for pair in loop.pairs], "drop": loop.drop.id}
            for loop in found.loops
        ],
    }  # fmt: skip


@click.command(
    epilog="Example: teachest before my-machine B160 front-guard-set --because 'the stay bolts through the lamp ear'"
)
@folder_argument
@click.argument("first", required=False)
@click.argument("then", required=False)
@click.option("--because", default="", help="Why.")
@click.option("--soft", is_flag=True, help="It is only better so: it holds nothing up.")
@click.option("--remove", type=int, metavar="NUMBER", help="Put this pair of your own aside.")
@click.option("--off", metavar="PAIR", help="Put this pair of the catalogue out of use, with --because.")
@click.option("--on", metavar="PAIR", help="Take it into use again.")
@json_option
def before(
    folder: Path, first: str | None, then: str | None, because: str, soft: bool, remove: int | None, off: str | None,
    on: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Say that one step or component goes on before another; circles are refused and named. Alone: list the pairs."""
    asked = [first is not None, remove is not None, off is not None, on is not None]
    if sum(asked) > 1 or (first is not None) != (then is not None):
        raise click.UsageError("Name what goes first and what then, or one of --remove, --off and --on.")
    if not any(asked):
        _list_pairs(folder, as_json)
        return
    said: dict[str, object]
    with open_folder(folder) as survey:
        if remove is not None:
            remove_pair(survey, remove)
            said = {"pair": f"own-{remove}", "in_use": False}
        elif off is not None:
            disable_pair(survey, off, because)
            said = {"pair": off, "in_use": False}
        elif on is not None:
            enable_pair(survey, on)
            said = {"pair": on, "in_use": True}
        else:
            said = {
                "pair": add_pair(survey, first or "", then or "", because, hard=not soft).id,
                "in_use": True,
            }
    if as_json:
        print_json(said)
    else:
        click.echo(f"The pair {said['pair']} is {'in' if said['in_use'] else 'out of'} use.")


def _list_pairs(folder: Path, as_json: bool) -> None:
    """Every pair in use with its reason, then those out of use with why."""
    with open_folder(folder) as survey:
        pairs, off = get_plan(survey).pairs, list_disabled_pairs(survey)
        labels = {step.id: step.label for step in list_steps(survey)}
    if not as_json:
        _say_pairs(pairs, off, labels)
        return
    every = [(pair, "") for pair in pairs] + list(off)
    print_json([
        {**json_of(pair, "pair=id", "first", "then", "hard", "because", "source"), "in_use": not why,
         "out_because": why}
        for pair, why in every
    ])  # fmt: skip


@click.command(epilog="Example: teachest blocks my-machine")
@folder_argument
@click.option("--all", "every", is_flag=True, help="List also what nobody has looked for.")
@json_option
def blocks(folder: Path, every: bool, as_json: bool) -> None:
    """List what holds steps up and how many wait for it; the next best thing to get comes first."""
    with open_folder(folder) as survey:
        found = list_blocks(survey)
    if as_json:
        print_json([_BLOCKS.as_json(one) for one in found])
        return
    known, unsought = [one for one in found if one.known], [one for one in found if not one.known]
    shown = known + (unsought if every else [])
    _BLOCKS.say_table(f"Holding steps up: {format_count(len(known), 'thing')}", shown)
    if unsought and not every:
        click.echo(
            f"{format_count(len(unsought), 'position')} that nobody has looked for also hold steps up:"
            " look first, with --all."
        )


_BLOCKS = Listing(
    Column("component", "lack.component.id", "component"), Column("label", "lack.component.label", "label"),
    Column("duty", "lack.component.duty"), Column("state", "lack.state"), Column("words", "lack.words", "stands"),
    "waiting", Column("steps", "direct", "directly", lambda one: len(one.direct)), "score",
    Column("arithmetic", head="steps that wait × duty × scarcity"),
)  # fmt: skip

COMMANDS = (order, before, blocks)
