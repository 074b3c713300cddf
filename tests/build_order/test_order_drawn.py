"""The order as a drawing: the lines that are drawn, checked against networkx, and the page that shows them."""

from __future__ import annotations

import networkx
from hypothesis import given
from hypothesis import strategies as st
from web_client import CheckedClient

from survey.build_order.verbs import get_plan
from survey.model.build_order import STEP_WORDS
from survey.store.survey import Survey
from web.presenters.build_order import PIECE, ROW, draw_order, find_nearest

STEPS = 10
edges = st.lists(st.tuples(st.integers(0, STEPS - 1), st.integers(0, STEPS - 1)), max_size=25).map(
    lambda found: {(min(pair), max(pair)) for pair in found if pair[0] != pair[1]}
)


@given(edges)
def test_only_what_follows_from_no_other_line_is_drawn(found: set[tuple[int, int]]) -> None:
    """networkx 3, ``transitive_reduction``."""
    graph = networkx.DiGraph(found)
    graph.add_nodes_from(range(STEPS))
    kept = find_nearest([[a for a, b in found if b == row] for row in range(STEPS)])
    assert {(first, row) for row, firsts in enumerate(kept) for first in firsts} == set(
        networkx.transitive_reduction(graph).edges
    )


def test_no_two_lines_lie_on_each_other(survey: Survey) -> None:
    drawing = draw_order(get_plan(survey), STEP_WORDS)
    assert len(drawing.rows) == len(get_plan(survey).steps)
    for number, one in enumerate(drawing.lines):
        assert 0 < one.x < drawing.dots
        assert one.top == min(one.joints)
        for other in drawing.lines[number + 1 :]:
            apart = one.x != other.x or one.foot < other.top or other.foot < one.top
            assert apart, (one, other)
    assert drawing.rows[1].y - drawing.rows[0].y == ROW


def test_the_page_says_each_step_with_its_state(client: CheckedClient, survey: Survey) -> None:
    page = client.get("/plan/order/drawn")
    for number, one in enumerate(get_plan(survey).steps, 1):
        assert f"{number}. {one.step.label} ({STEP_WORDS[one.state]})" in page.words
    assert any(link["href"] == "/plan/order" for link in page.all("a"))


def test_on_paper_no_row_is_cut_and_none_is_left_out(client: CheckedClient, survey: Survey) -> None:
    drawing = draw_order(get_plan(survey), STEP_WORDS)
    assert len(drawing.pieces) == -(-len(drawing.rows) // PIECE) > 1
    for row in drawing.rows:
        inside = [top for top, high in drawing.pieces if top <= row.y - ROW // 2 and row.y + ROW // 2 <= top + high]
        assert len(inside) == 1
    page = client.get("/plan/order/drawn").html
    assert page.count('<use href="#the-order"/>') == len(drawing.pieces)
    assert page.count('id="the-order"') == 1
