"""Worth starting: six gates, answered by what is recorded, and by the owner's word beside it.

That these six are what is asked before a start, and what each looks at, is common practice, no source. What must hold
whatever is recorded: a gate never says that a part will hold, nobody's yes turns a no that is recorded, and nobody's
yes makes up for an examination of frame or fork that is not.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner

from survey.build_order.blocks import Block
from survey.build_order.data import load_build_order
from survey.build_order.lacks import Lack
from survey.build_order.verbs import list_blocks
from survey.data_files import read_data_text
from survey.document.sheet import Table
from survey.errors import BadValue, BrokenKnowledge, NoSuchThing
from survey.gates.answers import GATE_OUTCOMES, Answer, Gate, GateFacts, answer_gates, describe_gates
from survey.gates.data import load_gate_kinds, parse_gate_kinds
from survey.gates.printed import make_gates_section
from survey.gates.verbs import answer_gate, list_gates
from survey.history.verbs import list_acts, list_events, undo_act
from survey.model.gates import GATE_WORDS, GateAnswer
from survey.model.grading import Verdict
from survey.model.machine import Number
from survey.model.money import MoneyLine
from survey.model.parts import GradedPart, OwnGrade, Part
from survey.model.price import Price
from survey.model.schedule import Component
from survey.model.wants import Want
from survey.money.costs import Money
from survey.parts.finding_verbs import add_look
from survey.parts.verbs import add_part, set_own_grade
from survey.safekeeping.check_verbs import check_survey
from survey.schedule.data import load_catalogues
from survey.schedule.gaps import Position
from survey.schedule.verbs import set_position
from survey.shelf.verbs import make_survey
from survey.store.survey import Survey
from survey.vocabulary import load_vocabulary
from survey.wants.verbs import set_want
from web.main import main

KINDS = load_gate_kinds()
BY = {kind.by: kind for kind in KINDS}
ALL = {one.id: one for book in load_catalogues() for one in book.components}

FRAME = Component("B006", "Frame", "Frame", None, 1, "safety", "frame", "steel")
YOKE = Component("B030", "Top yoke", "Front fork", None, 1, "safety", "yoke", "steel")
CASE = Component("B104", "Crankcase left half", "Engine", None, 1, "running", "casting", "aluminium")
BILL = Component("B005", "Bill of sale for the lot", "Identity and papers", None, 1, "paperwork", "paper", "fibre")
CHAIN = Component("B098", "Rear chain", "Transmission", None, 1, "safety", "chain", "steel")


def part(number: int, component: Component, grade: str | None, waiting: str | None = None) -> GradedPart:
    return GradedPart(Part(number, component.id, ""), component, Verdict(grade, waiting))  # type: ignore[arg-type]


def here(*components: Component) -> tuple[Position, ...]:
    return tuple(Position(one, "here", 1) for one in components)


def answer(by: str, ground: GateFacts) -> Answer:
    return next(one.found for one in answer_gates(KINDS, ground, []) if one.kind.by == by)


# --- the table


def test_there_are_six_and_each_looks_at_something_there_is() -> None:
    assert [kind.label for kind in KINDS] == [
        "Papers settled", "Frame and fork examined", "Crankcases sound or repairable",
        "Nothing that blocks and cannot be had", "Range of cost known", "Room, tools and a time set",
    ]  # fmt: skip
    assert [kind.id for kind in KINDS if kind.strict] == ["frame-and-fork"]
    steps = {step.id for book in load_catalogues() for step in load_build_order(book.kind).steps}
    assert {kind.step for kind in KINDS} - {""} <= steps
    assert {kind.source for kind in KINDS} == {"common practice, no source"}


@pytest.mark.parametrize("book", load_catalogues(), ids=lambda book: book.kind)
def test_every_kind_of_machine_has_what_the_gates_look_at(book: object) -> None:
    """Two crankcase halves, a frame and a fork, and papers, in every catalogue."""
    looked = {
        kind.by: [one for one in book.components if kind.looks_at(one)]  # type: ignore[attr-defined]
        for kind in KINDS
    }
    assert len(looked["sound"]) == 2 and all("rankcase" in one.label for one in looked["sound"])
    assert {"frame"} < {one.part_class for one in looked["examined"]}
    assert {one.duty for one in looked["examined"]} == {"safety"}
    assert len(looked["papers"]) >= 2


@pytest.mark.parametrize(
    ("old", "new", "names"),
    [
        ('classes = ["paper"]', 'classes = ["papyrus"]', "'papyrus' is not known"),
        ('"A094"', '"Z999"', "'Z999' is not known"),
        ('by = "cost"', 'by = "price"', "it has the answers"),
        ("strict = true\n", "", "it has the cells"),
    ],
)
def test_a_faulty_table_of_gates_is_named(old: str, new: str, names: str) -> None:
    text = read_data_text("gates.toml")
    assert old in text
    with pytest.raises(BrokenKnowledge, match=names):
        parse_gate_kinds(text.replace(old, new, 1), load_vocabulary(), set(ALL))


# --- what is recorded


@pytest.mark.parametrize(
    ("ground", "says", "why"),
    [
        (GateFacts(), "not-known", "No stamped number"),
        (GateFacts(here(BILL), (part(1, BILL, "reuse"),), (Number(1, "lug", "82"),)), "yes", "1 number is written"),
        (GateFacts(here(BILL), (part(1, BILL, "reuse"),)), "not-known", "No stamped number"),
        (GateFacts(here(BILL), (part(1, BILL, None, "not-looked-at"),), (Number(1, "lug", "82"),)), "not-known",
         "Bill of sale for the lot (not looked at)"),
        (GateFacts((Position(BILL, "missing", 0),), (), (Number(1, "lug", "82"),)), "no", "(missing)"),
        (GateFacts((Position(BILL, "not-looked", 0),), (), (Number(1, "lug", "82"),)), "not-known", "looked for"),
        (GateFacts((Position(BILL, "not-fitted", 0),), (), (Number(1, "lug", "82"),)), "not-known", "no such"),
    ],
)  # fmt: skip
def test_papers(ground: GateFacts, says: str, why: str) -> None:
    found = answer("papers", ground)
    assert found.says == says
    assert why in found.why


BOTH = (part(1, FRAME, "repair"), part(2, YOKE, "reuse"))
TESTED = frozenset({"crack-tested"})


@pytest.mark.parametrize(
    ("ground", "says", "why"),
    [
        (GateFacts(here(FRAME, YOKE), BOTH, done=TESTED), "yes", "Frame, Top yoke"),
        (GateFacts(here(FRAME, YOKE), BOTH), "not-known", "no crack test"),
        (GateFacts(here(FRAME, YOKE), (BOTH[0], part(2, YOKE, None, "examine-first")), done=TESTED), "not-known",
         "Top yoke (examine first)"),
        (GateFacts(here(FRAME, YOKE), (BOTH[0], part(2, YOKE, None, "take-a-reading")), done=TESTED), "not-known",
         "Top yoke (take a reading)"),
        (GateFacts(here(FRAME, YOKE), (BOTH[0], part(2, YOKE, "replace")), done=TESTED), "yes",
         "Here and looked over: Frame, Top yoke. To be replaced: Top yoke."),
        (GateFacts((*here(FRAME), Position(YOKE, "unseen", 0)), BOTH[:1], done=TESTED), "not-known", "Top yoke"),
        (GateFacts((*here(FRAME), Position(YOKE, "short", 0)), BOTH[:1], done=TESTED), "no", "Top yoke (short)"),
        (GateFacts((*here(FRAME), Position(YOKE, "not-fitted", 0)), BOTH[:1], done=TESTED), "yes", "Frame"),
    ],
)  # fmt: skip
def test_frame_and_fork(ground: GateFacts, says: str, why: str) -> None:
    found = answer("examined", ground)
    assert found.says == says
    assert why in found.why


@pytest.mark.parametrize("by", ["examined", "sound"])
def test_what_is_back_from_a_trade_is_looked_over_before_a_gate_says_yes(by: str) -> None:
    one = CASE if by == "sound" else FRAME
    ground = GateFacts(here(one), (part(1, one, "reuse"),), done=TESTED)
    assert answer(by, ground).says == "yes"
    back = answer(by, replace(ground, unexamined={1}))
    assert (back.says, "not looked over" in back.why) == ("not-known", True)


def test_an_own_grade_lifts_no_examination_that_is_owed() -> None:
    owed = part(2, YOKE, None, "examine-first")
    for own, says in (("reuse", "not-known"), ("repair", "not-known"), ("replace", "yes")):
        held = replace(owed, own_grade=OwnGrade(2, own, "because"))  # type: ignore[arg-type]
        assert answer("examined", GateFacts(here(FRAME, YOKE), (BOTH[0], held), done=TESTED)).says == says


@pytest.mark.parametrize(
    ("grade", "waiting", "own", "says"),
    [
        ("reuse", None, None, "yes"), ("repair", None, None, "yes"), ("replace", None, None, "no"),
        (None, "examine-first", None, "not-known"), (None, "not-looked-at", None, "not-known"),
        ("replace", None, "repair", "yes"), ("reuse", None, "replace", "no"),
    ],
)  # fmt: skip
def test_cases(grade: str | None, waiting: str | None, own: str | None, says: str) -> None:
    one = part(1, CASE, grade, waiting)
    one = replace(one, own_grade=OwnGrade(1, own, "because")) if own else one  # type: ignore[arg-type]
    assert answer("sound", GateFacts(here(CASE), (one,))).says == says
    assert answer("sound", GateFacts((Position(CASE, "missing", 0),))).says == "no"


def block(state: str) -> Block:
    return Block(Lack(CHAIN, state), ("chain-line-proved",), 1, 3, 1)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("blocks", "want", "says"),
    [
        ([], None, "yes"),
        ([block("missing")], None, "not-known"),
        ([block("missing")], Want(1, "B098", scarcity="common"), "yes"),
        ([block("missing")], Want(1, "B098", scarcity="nobody"), "no"),
        ([block("missing")], Want(1, "B098", state="bought"), "yes"),
        ([block("missing")], Want(1, "B098", state="promised"), "not-known"),
        ([block("not-looked")], None, "not-known"),
        ([block("away")], None, "yes"),
        ([block("replace")], Want(1, "B098", scarcity="nobody"), "no"),
    ],
)
def test_blockers(blocks: list[Block], want: Want | None, says: str) -> None:
    assert answer("blockers", GateFacts(blocks=blocks, wants=[want] if want else [])).says == says


def money(*prices: Price, heap: bool = True) -> Money:
    lines = [MoneyLine("own-0", "the heap", "machine", "own", state="paid", spent=Decimal(9))] if heap else []
    return Money(
        (*lines, *(MoneyLine(f"own-{n}", f"line {n}", "other", "own", one) for n, one in enumerate(prices, 1)))
    )


@pytest.mark.parametrize(
    ("said", "says"),
    [
        (money(), "yes"), (money(heap=False), "not-known"), (money(Price()), "not-known"),
        (money(Price(Decimal(1), Decimal(2), Decimal(3))), "yes"), (money(Price(Decimal(1))), "not-known"),
        (money(Price(Decimal(1), Decimal(2), Decimal(3)), heap=False), "not-known"),
    ],
)  # fmt: skip
def test_cost(said: Money, says: str) -> None:
    assert answer("cost", GateFacts(money=said)).says == says


def test_room_and_time_are_for_their_owner_alone() -> None:
    assert answer("word", GateFacts()).says == "not-known"


# --- the owner's word


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.id)
def test_the_word_of_the_owner_over_everything_that_can_be_recorded(kind: object) -> None:
    """The whole product: no recorded no is turned, no strict gate passes without a record, a doubt always counts."""
    for found, said in itertools.product(("yes", "no", "not-known"), (None, *GATE_WORDS)):
        word = GateAnswer(kind.id, said, "because") if said else None  # type: ignore[attr-defined]
        gate = Gate(kind, Answer(found, "why"), word)  # type: ignore[arg-type]
        if found == "no":
            assert gate.outcome in ("no", "no-matter")
        if said in ("no", "no-matter"):
            assert gate.outcome == said
        if kind.strict and gate.outcome == "yes":  # type: ignore[attr-defined]
            assert found == "yes"
        if said is None:
            assert gate.outcome == found
        assert gate.passed == (gate.outcome in ("yes", "no-matter"))
        assert gate.on_a_word == (said == gate.outcome != found), "only a word that changes the answer is told of"
        assert bool(gate.settle) == (gate.outcome == "not-known")
        assert gate.outcome in GATE_OUTCOMES


def test_how_many_of_six_is_told_in_a_sentence() -> None:
    found = answer_gates(KINDS, GateFacts(), [GateAnswer("papers", "no-matter", "x"),
                         GateAnswer("room-and-time", "yes", "x"),
                                        GateAnswer("cost", "no", "x")])  # fmt: skip
    assert describe_gates(found) == "3 of 6 gates: 2 yes, 1 no matter. 1 no, 2 not known."
    assert describe_gates(answer_gates(KINDS, replace(GateFacts(), blocks=[block("missing")]), [])) == (
        "0 of 6 gates. 6 not known."
    )


def test_on_paper_its_owners_word_stands_beside_the_gate_it_was_given_on() -> None:
    said = [GateAnswer("room-and-time", "yes", "the cowshed")]
    table = make_gates_section(answer_gates(KINDS, GateFacts(), said)).blocks[1]
    assert isinstance(table, Table)
    (spoken,) = [row for row in table.rows if "owner says" in " ".join(row)]
    assert spoken[:2] == ("Room, tools and a time set", "Yes")
    assert "Its owner says yes: the cowshed." in spoken[2] and "To settle it" not in spoken[2]


def test_no_word_of_a_gate_passes_anything_as_fit() -> None:
    words = [*GATE_OUTCOMES.values()]
    for kind in KINDS:
        words += [kind.label, kind.asks, kind.settle, kind.caution]
    for ground in (
        GateFacts(here(FRAME, YOKE, CASE, BILL), (*BOTH, part(3, CASE, "reuse"), part(4, BILL, "reuse")),
                   (Number(1, "lug", "82"),), TESTED, money=money()),
        GateFacts(),
    ):  # fmt: skip
        words += [one.found.why for one in answer_gates(KINDS, ground, [])]
    told = " ".join(words).lower()
    assert not re.search(r"\b(safe|fit|roadworthy|will succeed|go ahead|worth it)\b", told)
    assert "decided by the authority alone" in told
    assert "not that the part will hold" in told


# --- the survey


@pytest.fixture
def survey(tmp_path: Path) -> Iterator[Survey]:
    with make_survey(tmp_path / "heap", "lightweight", "Ferryman", by="Wren") as made:
        yield made


def stands(survey: Survey) -> dict[str, str]:
    return {one.kind.id: one.outcome for one in list_gates(survey)}


def test_a_word_is_kept_with_its_reason_and_can_be_taken_back(survey: Survey) -> None:
    assert set(stands(survey).values()) == {"not-known"}
    gate = answer_gate(survey, "room-and-time", "yes", "half the cowshed, until Easter")
    assert gate.said is not None
    assert (gate.outcome, gate.said.by, gate.said.reason, gate.on_a_word) == (
        "yes", "Wren", "half the cowshed, until Easter", True,
    )  # fmt: skip
    answer_gate(survey, "room-and-time", "no", "the roof came in")
    assert list_acts(survey)[0].words == "Owner’s word on a gate: Room, tools and a time set: no"
    undo_act(survey)
    assert stands(survey)["room-and-time"] == "yes"
    answer_gate(survey, "room-and-time", None)
    assert stands(survey)["room-and-time"] == "not-known"
    undo_act(survey)
    assert stands(survey)["room-and-time"] == "yes"
    assert check_survey(survey) == []


def test_what_cannot_be_said_of_a_gate_is_refused(survey: Survey) -> None:
    events = len(list_events(survey))
    with pytest.raises(NoSuchThing, match="no gate"):
        answer_gate(survey, "garden", "yes", "because")
    with pytest.raises(BadValue):
        answer_gate(survey, "papers", "perhaps", "because")  # type: ignore[arg-type]
    with pytest.raises(BadValue, match="reason"):
        answer_gate(survey, "papers", "no-matter", "  ")
    assert len(list_events(survey)) == events


def test_the_cases_follow_what_is_found_on_them(survey: Survey) -> None:
    for number, component in enumerate(("B104", "B105"), 1):
        add_part(survey, component)
        add_look(survey, number, seen="bare")
    assert stands(survey)["cases"] == "yes"
    set_own_grade(survey, 2, "replace", "porous all through")
    assert stands(survey)["cases"] == "no"
    assert answer_gate(survey, "cases", "yes", "it will weld").outcome == "no"
    assert answer_gate(survey, "cases", "no-matter", "a pair is promised").outcome == "no-matter"


def test_the_scarcity_of_a_want_is_said_and_weighs_in_what_to_get_next(survey: Survey) -> None:
    """Weights 1, 2, 3, 5 for easily had, clubs, used only, nobody: judgement."""
    set_position(survey, "B098", "missing")

    def chain() -> Block:
        return next(one for one in list_blocks(survey) if one.lack.component.id == "B098")

    plain = chain()
    for scarcity, weight in (("common", 1), ("clubs", 2), ("used", 3), ("nobody", 5)):
        set_want(survey, "B098", scarcity=scarcity)
        assert chain().score == plain.waiting * plain.duty_weight * weight
    assert "5 (nobody has it)" in chain().arithmetic
    assert stands(survey)["blockers"] == "no"
    with pytest.raises(BadValue):
        set_want(survey, "B098", scarcity="gold")
    set_want(survey, "B098", scarcity="")
    assert chain() == plain


def test_the_command_lists_says_and_takes_back(survey: Survey) -> None:
    folder = str(survey.folder)

    def run(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(main, ["gates", folder, *words], catch_exceptions=False)
        assert result.exit_code == code, result.output
        return result.output

    assert "0 of 6 gates. 6 not known." in run()
    told = run("frame-and-fork", "--say", "yes", "--because", "it looks straight")
    assert "Frame and fork examined (frame-and-fork): not known." in told
    assert "Its owner says yes: it looks straight" in told
    answered = json.loads(run("papers", "--say", "no-matter", "--because", "for the window", "--json"))
    assert answered["says"] == "1 of 6 gates: 1 no matter. 5 not known."
    (gate,) = answered["gates"]
    assert (gate["answer"], gate["recorded"], gate["owner"]["says"]) == ("no-matter", "not-known", "no-matter")
    assert len(json.loads(run("--json"))["gates"]) == 6
    run("papers", "--say", "nothing")
    assert "0 of 6" in run()
    run("--say", "yes", code=2)
    run("garden", code=2)
    run("papers", "--say", "yes", code=1)
