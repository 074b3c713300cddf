"""The catalogue's own steps and pairs: proved at load, and the trade's check cases.

The check cases are common practice, no source.
"""

from __future__ import annotations

import networkx
import pytest

from survey.build_order.data import PAIRS_FILE, STEPS_FILE, load_build_order, parse_build_orders
from survey.build_order.plan import BuildFacts, find_loops, make_plan
from survey.data_files import read_data_text
from survey.errors import BrokenKnowledge
from survey.model.build_order import BeforePair
from survey.schedule.data import load_catalogues

KINDS = [book.kind for book in load_catalogues()]
KNOWN = {book.kind: {one.id for one in (*book.components, *book.extras)} for book in load_catalogues()}
STEPS = read_data_text(STEPS_FILE)
PAIRS = read_data_text(PAIRS_FILE)

# (earlier, later, whether it keeps from harm or from loss): common practice, no source.
CHECK_CASES = [
    ("front-guard-over-wheel", "front-wheel-in-fork", False),
    ("head-cups-in", "fork-in-frame", False),
    ("crack-tested", "primed", True),
    ("welding-done", "plated", True),
    ("tank-vapour-free", "tank-heated", True),
    ("numbers-recorded", "blasted", True),
]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("earlier", "later", "keeps"), CHECK_CASES)
def test_check_cases_of_the_trade(kind: str, earlier: str, later: str, keeps: bool) -> None:
    order = load_build_order(kind)
    (pair,) = (pair for pair in order.pairs if (pair.first, pair.then) == (earlier, later))
    assert pair.hard
    assert pair.keeps == keeps
    told = [one.step.id for one in make_plan(order.steps, order.pairs, BuildFacts(KNOWN[kind])).steps]
    assert told.index(earlier) < told.index(later)


@pytest.mark.parametrize("kind", KINDS)
def test_wheel_into_fork_before_guard_is_a_circle_and_is_named(kind: str) -> None:
    """Common practice, no source: where the guard sits between the blades, it goes over the wheel first."""
    order = load_build_order(kind)
    own = BeforePair("own-1", "front-wheel-in-fork", "front-guard-over-wheel", "it looked easier", own=1)
    (loop,) = make_plan(order.steps, (*order.pairs, own), BuildFacts(KNOWN[kind])).loops
    assert loop.drop == own
    assert {pair.id for pair in loop.pairs} == {"own-1", "guard-before-wheel"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_an_order_without_a_circle_and_ends_in_sign_off(kind: str) -> None:
    order = load_build_order(kind)
    assert find_loops(order.pairs)[0] == []
    graph = networkx.DiGraph([(pair.first, pair.then) for pair in order.pairs if pair.hard])
    assert networkx.is_directed_acyclic_graph(graph)
    for step in order.steps:
        if step.phase == "build" and step.id != "signed-off":
            assert networkx.has_path(graph, step.id, "signed-off"), step.id
        if step.id in ("coated", "plated", "tank-painted"):
            assert networkx.has_path(graph, "signed-off", step.id)


@pytest.mark.parametrize("kind", KINDS)
def test_every_component_named_is_of_the_kind_and_every_pair_has_reason_and_source(kind: str) -> None:
    order = load_build_order(kind)
    assert {one for step in order.steps for one in step.components} <= KNOWN[kind]
    for pair in order.pairs:
        assert pair.because.endswith(".")
        assert pair.source
    for step in order.steps:
        assert not step.caution or step.caution.endswith(".")


def test_heat_fume_and_springs_carry_their_caution() -> None:
    cautions = {step.id: step.caution for kind in KINDS for step in load_build_order(kind).steps}
    for step in ("tank-vapour-free", "tank-heated", "welding-done", "fork-spring-in", "fork-legs-built", "plated"):
        assert cautions[step], step
    assert "fit for the road" in cautions["signed-off"]


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        ("steps", "primed,Fill and prime,finish,yes,yes", "primed,Fill and prime,finish,yes,perhaps", "'perhaps'"),
        ("pairs", "cups-before-fork,head-cups-in,", "cups-before-fork,head-cup-in,", "there is no step 'head-cup-in'"),
        ("pairs", "legs-before-wheel,fork-legs-built,front-wheel-in-fork,lightweight",
            "legs-before-wheel,fork-legs-built,front-wheel-in-fork,all", "autocycle has not both of its steps"),
        ("pairs", "fork-before-wheel,fork-in-frame,front-wheel-in-fork,all",
            "fork-before-wheel,front-guard-set,fork-in-frame,all", "goes round in a circle"),
        ("pairs", "vapour-before-heat,tank-vapour-free,tank-heated,all,yes", "vapour-before-heat,tank-vapour-free,"
            "tank-heated,all,no", "a pair that keeps from harm is hard"),
        ("pairs", "fork-before-bars,", "fork-before-lamps,", "it is used already at line"),
        ("pairs", "head-cups-in,fork-in-frame,all,yes", "head-cups-in,fork-in-frame,all,maybe", "'maybe'"),
        ("pairs", "head-cups-in,fork-in-frame,all", "head-cups-in,fork-in-frame,moped", "there is no kind 'moped'"),
        ("pairs", "id,first", "id,before", "the columns are not those"),
        ("pairs", "cups-before-fork,head-cups-in,", "cups-before-fork,", "7 cells"),
        ("steps", "A006; A018; A019", "A006; A018; B019", "'B019' is no component of autocycle"),
        ("steps", "A006; A018; A019", "A006; A018; A018", "named twice"),
        ("steps", "in the frame,build,yes", "in the frame,built,yes", "'built' is no phase"),
        ("steps", "Fit the stand,", " Fit the stand,", "' Fit the stand'"),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_file_line_row_and_cell(file: str, old: str, new: str, told: str) -> None:
    texts = {"steps": STEPS, "pairs": PAIRS}
    assert old in texts[file]
    texts[file] = texts[file].replace(old, new, 1)
    with pytest.raises(BrokenKnowledge) as broken:
        parse_build_orders(texts["steps"], texts["pairs"], KNOWN)
    assert told in broken.value.sentence
    assert f"before/{file}.csv, line " in broken.value.sentence


def test_an_unfinished_quote_is_no_csv() -> None:
    with pytest.raises(BrokenKnowledge, match="not readable CSV"):
        parse_build_orders(STEPS, PAIRS + '"open', KNOWN)
