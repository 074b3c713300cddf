"""Is it worth starting: the six gates, answered by what is recorded, and by the owner's word with a reason."""

from __future__ import annotations

from typing import Any

from survey import knowledge
from survey.bench.money import money_of
from survey.bench.order import blocks
from survey.bench.outwork import to_examine
from survey.bench.parts import parts
from survey.bench.said import prove_text
from survey.bench.schedule import standings
from survey.bench.survey import Survey, alone, machine
from survey.errors import BadValue, NoSuchThing
from survey.folder import ordering, spending
from survey.folder.verb import Verb
from survey.folder.wanting import wants_said
from survey.planning.gates import GATE_WORDS, Gate, GateGround, GateWord
from survey.planning.gates import gates as answer

SAY_OF_GATE = Verb("say of gate", "Owner’s word on a gate")
OPEN_GATE = Verb("gate open", "Owner’s word on a gate taken back")
GATE_VERBS = (SAY_OF_GATE, OPEN_GATE)


def gates(survey: Survey) -> tuple[Gate, ...]:
    """The six gates in their order, each with the survey's answer and the owner's word."""
    done = frozenset(step for step, said in ordering.said_of_steps(survey.store).items() if said == "done")
    ground = GateGround(
        standings(survey), tuple(parts(survey)), machine(survey).numbers, done, blocks(survey),
        wants_said(survey.store), money_of(survey), to_examine(survey),
    )  # fmt: skip
    return answer(knowledge.gate_kinds(), ground, spending.gates_said(survey.store))


@alone
def say_of_gate(survey: Survey, gate: str, said: GateWord | None, reason: str = "") -> Gate:
    """Say one's own word of a gate, with a reason; ``None`` takes it back.

    It stands beside the survey's own answer: a no of the survey's is not turned by a yes.

    Raises:
        NoSuchThing: no such gate.
        BadValue: no such word, or no reason.
    """
    known = [kind.id for kind in knowledge.gate_kinds()]
    if gate not in known:
        raise NoSuchThing(f"There is no gate {gate!r}.", "The gates are: " + ", ".join(known) + ".")
    if said is not None and said not in GATE_WORDS:
        raise BadValue(f"{said!r} is nothing to say of a gate.", "Say one of: " + ", ".join(GATE_WORDS) + ".")
    why = prove_text("reason", reason)
    if said is not None and not why:
        raise BadValue("A word on a gate needs its reason: it stands beside it.", "Say why, in a sentence.")
    with survey.store.change(OPEN_GATE if said is None else SAY_OF_GATE, survey.by) as change:
        row = {"said": said, "reason": why, "by": survey.by, "at": change.at}
        if said is None:
            change.remove("gate_said", [gate])
        elif change.update("gate_said", [gate], row) is None:
            change.insert("gate_said", {"gate": gate, **row})
    return next(one for one in gates(survey) if one.kind.id == gate)


def describe_gate(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of the owner's word on a gate is, in words."""
    gate, said = rows[0]["gate"], rows[0]["said"].replace("-", " ")
    return f"{next((one.label for one in knowledge.gate_kinds() if one.id == gate), gate)}: {said}"
