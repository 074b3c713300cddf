"""Is it worth starting: the six gates, answered by what is recorded, and by the owner's word with a reason."""

from __future__ import annotations

from typing import Any

from survey.build_order.records import fetch_step_states
from survey.build_order.verbs import list_blocks
from survey.errors import BadValue, NoSuchThing
from survey.gates.answers import Gate, GateFacts, answer_gates
from survey.gates.data import load_gate_kinds
from survey.gates.records import fetch_gate_answers
from survey.machine.verbs import get_machine
from survey.model.gates import GATE_WORDS, GateWord
from survey.model.verb import Verb
from survey.money.verbs import compute_money
from survey.outwork.verbs import list_parts_to_examine
from survey.parts.verbs import list_parts
from survey.schedule.verbs import list_positions
from survey.store.survey import Survey, in_one_transaction
from survey.validation import validate_text
from survey.wants.records import fetch_wants

SAY_OF_GATE = Verb("say of gate", "Owner’s word on a gate")
OPEN_GATE = Verb("gate open", "Owner’s word on a gate taken back")
GATE_VERBS = (SAY_OF_GATE, OPEN_GATE)


def list_gates(survey: Survey) -> tuple[Gate, ...]:
    """The six gates in their order, each with the survey's answer and the owner's word."""
    done = frozenset(step for step, state in fetch_step_states(survey.store).items() if state == "done")
    facts = GateFacts(
        list_positions(survey), tuple(list_parts(survey)), get_machine(survey).numbers, done, list_blocks(survey),
        fetch_wants(survey.store), compute_money(survey), list_parts_to_examine(survey),
    )  # fmt: skip
    return answer_gates(load_gate_kinds(), facts, fetch_gate_answers(survey.store))


@in_one_transaction
def answer_gate(survey: Survey, gate: str, said: GateWord | None, reason: str = "") -> Gate:
    """Record the owner's word on a gate, with a reason; ``None`` takes it back.

    It is shown beside the survey's own answer: a yes does not turn the survey's no.

    Raises:
        NoSuchThing: no such gate.
        BadValue: no such word, or no reason.
    """
    gate_ids = [kind.id for kind in load_gate_kinds()]
    if gate not in gate_ids:
        raise NoSuchThing(f"There is no gate {gate!r}.", "The gates are: " + ", ".join(gate_ids) + ".")
    if said is not None and said not in GATE_WORDS:
        raise BadValue(f"{said!r} is nothing to say of a gate.", "Say one of: " + ", ".join(GATE_WORDS) + ".")
    text = validate_text("reason", reason)
    if said is not None and not text:
        raise BadValue("A word on a gate needs its reason: it stands beside it.", "Say why, in a sentence.")
    with survey.store.change(OPEN_GATE if said is None else SAY_OF_GATE, survey.by) as change:
        row = {"said": said, "reason": text, "by": survey.by, "at": change.at}
        if said is None:
            change.remove("gate_said", [gate])
        elif change.update("gate_said", [gate], row) is None:
            change.insert("gate_said", {"gate": gate, **row})
    return next(answered for answered in list_gates(survey) if answered.kind.id == gate)


def describe_gate(survey: Survey, rows: list[dict[str, Any]]) -> str:
    """What the row of the owner's word on a gate is, in words."""
    gate, said = rows[0]["gate"], rows[0]["said"].replace("-", " ")
    return f"{next((kind.label for kind in load_gate_kinds() if kind.id == gate), gate)}: {said}"
