"""Rules and readings put in words for whoever prints them."""

from __future__ import annotations

import pytest
from rules_cases import facts_from

from survey.grading.data import load_rulebook
from survey.grading.explain import describe_interval, describe_row_when, list_compared_readings
from survey.grading.tables import Between

BOOK = load_rulebook()


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ("crack-handlebar", "crack 2, 3 or 4; on handlebar"),
        ("bent-swinging-arm", "bent 2, 3 or 4; on B011"),
        ("crack-iron", "crack 2 or 3; on barrel or head; of cast-iron; running"),
        ("bent-rim-inside", "bent 2; on rim; measured inside its limit"),
        ("default-running-4", "any finding 4; running"),
        ("look-paint-safety", "safety; seen through paint, plating or dirt"),
        ("only-heard", "not seen; speaks of dirt, finish or substance"),
        ("metal-not-looked-at", "running or safety; only its finish or the dirt on it is recorded"),
        ("nothing-recorded", "nothing is recorded"),
    ],
)
def test_when_a_row_holds(rule: str, said: str) -> None:
    row = BOOK.row(rule)
    assert row is not None
    assert describe_row_when(row) == said


def test_every_row_can_be_put_in_words() -> None:
    for row in BOOK.rows:
        said = describe_row_when(row)
        assert said
        assert "frozenset" not in said
        assert ";;" not in said


def test_what_the_crack_test_row_says() -> None:
    row = BOOK.row("crack-test-owed")
    assert row is not None
    assert "crack test measured, but no limit to hold it against or not measured" in describe_row_when(row)
    assert "so far examine-first" in describe_row_when(row)


@pytest.mark.parametrize(
    ("within", "said"),
    [
        (Between(most=4.0), "no more than 4 mm"),
        (Between(least=3.5, most=8.0), "no less than 3.5 and no more than 8 mm"),
        (Between(below=0.203), "less than 0.203 mm"),
    ],
)
def test_a_limit_in_words(within: Between, said: str) -> None:
    assert describe_interval(within, "mm") == said


def test_a_reading_and_what_it_is_held_against() -> None:
    lateral, radial = list_compared_readings(BOOK, facts_from("safety rim steel", rim_lateral=3.0))[:2]
    assert (lateral.reading, lateral.value, lateral.state) == ("rim-lateral", 3.0, "inside")
    assert lateral.limit == "no more than 4 mm"
    assert "5.2.2" in lateral.source
    assert (radial.value, radial.state) == (None, "none")


def test_the_makers_figure_is_shown_beside_ours() -> None:
    shoe = facts_from("safety brake-shoe lining", lining_thickness=2.5, lining_thickness_book=2.0)
    held = list_compared_readings(BOOK, shoe)[0]
    assert held.limit == "no less than 1.5 mm; no less than 2 mm by the maker's book"
    bore, oval = list_compared_readings(BOOK, facts_from("running barrel cast-iron", bore_wear=0.1))[:2]
    assert bore.limit.startswith("no more than 0.13 mm (disputed: ")
    assert oval.limit == "no more than 0.08 mm (from memory)"


def test_no_limit_is_said_so() -> None:
    held = list_compared_readings(BOOK, facts_from("safety bush copper-alloy", side_play=0.2))[0]
    assert (held.limit, held.source, held.state) == ("no limit on file", "", "no-limit")


def test_an_unknown_part_has_no_readings() -> None:
    assert list_compared_readings(BOOK, facts_from("unknown")) == ()
