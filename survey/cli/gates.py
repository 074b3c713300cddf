"""``teachest gates``: is it worth starting, as far as is known."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from survey.cli.common import folder_argument, json_option, open_folder, print_json
from survey.cli.listing import json_of
from survey.gates.answers import GATE_OUTCOMES, Gate, describe_gates
from survey.gates.verbs import answer_gate, list_gates
from survey.model.gates import GATE_WORDS


@click.command(epilog="Example: teachest gates my-machine room-and-time --say yes --because 'the cowshed, by spring'")
@folder_argument
@click.argument("gate", required=False)
@click.option("--say", "said", type=click.Choice((*GATE_WORDS, "nothing")),
              help="Your own word on the gate; nothing takes it back.")  # fmt: skip
@click.option("--because", default="", help="Why: your word stands with its reason.")
@json_option
def gates(folder: Path, gate: str | None, said: str | None, because: str, as_json: bool) -> None:
    """Six gates before a start: yes, no or not known by what is recorded, or no matter by your own word."""
    if said is not None and gate is None:
        raise click.UsageError("Say which gate is meant.")
    with open_folder(folder) as survey:
        if gate is not None and said is not None:
            answer_gate(survey, gate, None if said == "nothing" else said, because)  # type: ignore[arg-type]
        found = list_gates(survey)
    shown = [one for one in found if gate is None or one.kind.id == gate]
    if gate is not None and not shown:
        raise click.UsageError("The gates are: " + ", ".join(one.kind.id for one in found) + ".")
    if as_json:
        print_json({"says": describe_gates(found), "gates": [_json(one) for one in shown]})
        return
    for one in shown:
        _say(one)
    click.echo(describe_gates(found))


def _say(gate: Gate) -> None:
    click.echo(f"{gate.kind.label} ({gate.kind.id}): {GATE_OUTCOMES[gate.outcome].lower()}.")
    click.echo(f"   {gate.found.why}")
    if gate.said is not None:
        signed = f", {gate.said.by}" if gate.said.by else ""
        click.echo(
            f"   Its owner says {gate.said.said.replace('-', ' ')}: {gate.said.reason} ({gate.said.at[:10]}{signed})"
        )
    if gate.settle:
        click.echo(f"   To settle it: {gate.settle}")
    if gate.kind.caution:
        click.echo(f"   {gate.kind.caution}")


def _json(gate: Gate) -> dict[str, Any]:
    said = gate.said
    return {
        **json_of(gate, "gate=kind.id", "label=kind.label", "asks=kind.asks", "answer=outcome", "recorded=found.says",
                  "why=found.why", "to_settle=settle", "caution=kind.caution"),
        "owner": said and json_of(said, "says=said", "because=reason", "by", "at"),
    }  # fmt: skip


COMMANDS = (gates,)
