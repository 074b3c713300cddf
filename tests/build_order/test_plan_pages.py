"""Plan in the browser door: where things stand, the order, and what a person says of either."""

from __future__ import annotations

from web_client import CheckedClient

from survey.build_order.verbs import get_plan, list_blocks, list_disabled_pairs
from survey.schedule.verbs import set_position
from survey.store.survey import Survey
from survey.stuck.verbs import add_stuck, change_stuck, list_stuck, make_stuck_line
from survey.wants.verbs import set_want

WHEEL, GUARD = "front-wheel-in-fork", "front-guard-over-wheel"


def state(survey: Survey, step: str) -> str | None:
    return next((one.state for one in get_plan(survey).steps if one.step.id == step), None)


def test_the_landing_tells_the_next_step_and_the_next_best_thing_to_get(client: CheckedClient, survey: Survey) -> None:
    set_position(survey, "B082", "missing")
    set_want(survey, "B082", state="promised", who="Wren Askham")
    page = client.get("/plan/")
    assert "Missing: promised (Wren Askham)" in page.words, "a name keeps its capital letters"
    assert "Record every stamped number" in page.words
    tyre = next(one for one in list_blocks(survey) if one.lack.component.id == "B082")
    assert tyre.arithmetic in page.words
    assert "Look first:" in page.words
    assert any(one["href"] == "/plan/order" for one in page.all("a"))


def test_the_order_tells_of_each_step_what_goes_before_and_why(client: CheckedClient, survey: Survey) -> None:
    page = client.get("/plan/order")
    assert "Without its cups the head has no bearing and the fork cannot hang true." in page.words
    assert "(common practice, no source)" in page.words
    assert "Petrol vapour in a tank explodes" in page.words
    for one in get_plan(survey).steps:
        assert f'id="step-{one.step.id}"' in page.html


def test_a_step_is_done_not_needed_and_open_again(client: CheckedClient, survey: Survey) -> None:
    page = client.send("/plan/order/step", {"build_step": "primed", "how": "done"})
    assert state(survey, "primed") == "done"
    assert "Done too early?" in page.words
    client.send("/plan/order/step", {"build_step": "primed", "how": "open"})
    assert state(survey, "primed") != "done"
    page = client.send("/plan/order/step", {"build_step": "tank-heated", "how": "not-needed"})
    assert state(survey, "tank-heated") is None
    assert "Not needed on this machine" in page.words
    refused = client.post("/plan/order/step", {"build_step": "tank-vapour-free", "how": "not-needed"}, 400)
    assert "Every machine needs this step" in refused.words
    assert "Nobody said how the step stands." in client.post("/plan/order/step", {"build_step": "primed"}, 400).words
    assert "There is no step" in client.post("/plan/order/step", {"build_step": "prime", "how": "done"}, 404).words


def test_a_circle_is_named_with_the_pair_to_drop(client: CheckedClient, survey: Survey) -> None:
    """Common practice, no source: where the guard sits between the blades, it goes over the wheel first."""
    refused = client.post("/plan/order/pairs", {"first": WHEEL, "then": GUARD, "because": "x", "hard": "hard"}, 400)
    assert "That goes round in a circle" in refused.words
    assert "The pair to drop is" in refused.words
    assert "guard-before-wheel" in refused.words
    assert get_plan(survey).loops == ()


def test_a_pair_of_ones_own_is_added_and_removed(client: CheckedClient, survey: Survey) -> None:
    said = {"first": "B160", "then": "front-guard-set", "because": "the stay bolts through the ear", "hard": "soft"}
    page = client.send("/plan/order/pairs", said)
    assert "the stay bolts through the ear (it is only better so)" in page.words
    assert state(survey, "B160") is not None
    client.send("/plan/order/pairs/1/remove", page.form("/plan/order/pairs/1/remove"))
    assert state(survey, "B160") is None


def test_a_pair_is_put_out_of_use_and_taken_in_again(client: CheckedClient, survey: Survey) -> None:
    page = client.send("/plan/order/pairs/off", {"pair": "guard-before-wheel", "because": "a high guard"})
    assert "a high guard" in page.words
    assert [pair.id for pair, _ in list_disabled_pairs(survey)] == ["guard-before-wheel"]
    client.send("/plan/order/pairs/on", page.form("/plan/order/pairs/on"))
    assert list_disabled_pairs(survey) == ()
    refused = client.post("/plan/order/pairs/off", {"pair": "vapour-before-heat", "because": "hurry"}, 400)
    assert "This pair stays in use." in refused.words


def test_the_landing_lists_what_is_stuck_until_it_is_out(client: CheckedClient, survey: Survey) -> None:
    assert "Stuck or snapped" not in client.get("/plan/").words
    stud = add_stuck(survey, 1, "exhaust stud", conditions=["steel-in-alloy", "proud"], holds="the silencer")
    page = client.get("/plan/")
    assert make_stuck_line(list_stuck(survey)[0]).head in page.words
    assert "It may hold up: the silencer" in page.words
    assert any(one["href"] == "/parts/1#stuck" for one in page.all("a"))
    change_stuck(survey, stud.id, out=True)
    assert "Stuck or snapped" not in client.get("/plan/").words
