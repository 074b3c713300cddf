"""The spacer from a gap and a width, and how sure it is.

Sources: JCGM 100:2008 (the guide to the expression of uncertainty in measurement, GUM), 5.1.2 equation 10 for the
quadrature of uncorrelated readings, 4.3.7 for an even spread of half-width a (u = a / root 3), F.2.2.1 for the last
figure shown (u = 0.29 of it), 6.3.3 for twice the standard uncertainty and some 95 %; clause numbers from memory.
JCGM 101:2008 for the check by many drawn readings. The inch is 25.4 mm exactly (BS 350).
"""

from __future__ import annotations

import json
import math
import random
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from survey.errors import BadSize
from survey.fits.spacers import describe_spacer, make_spacer
from survey.widths import parse_width
from web.main import main


@pytest.mark.parametrize(
    ("written", "mm", "within_mm"),
    [
        ("112.4 mm ± 0.1 mm", "112.4", 0.1),
        ("112.4 mm +- 0.1", "112.4", 0.1),
        ("112.4 mm +/- 4 thou", "112.4", 0.1016),
        ("4 7/16 in ± 1/64 in", "112.7125", 0.396875),
        ("4.5 in ± 5 thou", "114.3", 0.127),
        # Not said: twice 0.29 of the last figure (F.2.2.1 gives 0.29, which is 1 / (2 root 3)).
        ("112.4 mm", "112.4", 2 * 0.288675 * 0.1),
        ("112,40 mm", "112.4", 2 * 0.288675 * 0.01),
        ("112 mm", "112", 2 * 0.288675),
        ("4 7/16 in", "112.7125", 2 * 0.288675 * 25.4 / 16),
        ("4½ in", "114.3", 2 * 0.288675 * 25.4 / 2),
        ("2 ft 3 1/2 in", "698.5", 2 * 0.288675 * 25.4 / 2),
        ("250 thou", "6.35", 2 * 0.288675 * 0.0254),
    ],
)
def test_a_length_is_read_with_how_sure_it_is(written: str, mm: str, within_mm: float) -> None:
    found = parse_width(written)
    assert found.mm == Fraction(mm)
    assert found.within_mm == pytest.approx(within_mm, rel=1e-5)
    assert found.said == ("±" in written or "+" in written)


def test_quadrature_by_the_triangle_of_three_four_and_five() -> None:
    """5.1.2: 0.3 and 0.4 combine to 0.5, and not to 0.7."""
    found = make_spacer(parse_width("112.4 mm ± 0.3 mm"), parse_width("110 mm ± 0.4 mm"))
    assert (found.left_mm, found.within_mm) == (Fraction(12, 5), pytest.approx(0.5))
    assert describe_spacer(found) == "A spacer of 2.4 mm (3/32 in plus 0.019 mm), give or take 0.5 mm."


def test_an_inch_gap_and_a_metric_part_are_one_sum() -> None:
    """4 3/8 in is 111.125 mm exactly."""
    found = make_spacer(parse_width("4 3/8 in ± 0.1 mm"), parse_width("110 mm ± 0.1 mm"))
    assert found.left_mm == Fraction("1.125")


def test_halves_on_both_sides_share_the_uncertainty() -> None:
    found = make_spacer(parse_width("112.4 mm ± 0.3 mm"), parse_width("110 mm ± 0.4 mm"), 2)
    assert (found.each_mm, found.each_within_mm) == (Fraction(6, 5), pytest.approx(0.25))
    assert describe_spacer(found).startswith(
        "Spacers of 1.2 mm (3/64 in plus 0.009 mm) on each side, give or take 0.25"
    )


def test_a_part_that_is_too_wide_says_so_and_no_spacer_is_named() -> None:
    found = make_spacer(parse_width("71.5 mm ± 0.5 mm"), parse_width("76 mm ± 0.5 mm"))
    assert found.outcome == "too-wide"
    told = describe_spacer(found)
    assert told.startswith("The part is 4.5 mm")
    assert "too wide" in told
    assert "no bolt is to draw it in" in told


def test_what_cannot_be_told_from_nothing_is_not_called_a_spacer() -> None:
    found = make_spacer(parse_width("110.1 mm ± 0.1 mm"), parse_width("110 mm ± 0.1 mm"))
    assert found.outcome == "meets"
    assert "Measure finer first" in describe_spacer(found)
    assert "As sure as the last figure" in describe_spacer(make_spacer(parse_width("112 mm"), parse_width("110 mm")))


def test_against_many_drawn_readings() -> None:
    """JCGM 101: readings are drawn evenly within their last figure; some 95 % or more fall within what is told."""
    gap, width = parse_width("112.4 mm"), parse_width("110.02 mm")
    told, chance = make_spacer(gap, width), random.Random(1957)
    draws = [(112.4 + chance.uniform(-0.05, 0.05)) - (110.02 + chance.uniform(-0.005, 0.005)) for _ in range(40_000)]
    middle = sum(draws) / len(draws)
    spread = math.sqrt(sum((one - middle) ** 2 for one in draws) / len(draws))
    assert middle == pytest.approx(float(told.left_mm), abs=0.001)
    assert 2 * spread == pytest.approx(told.within_mm, rel=0.02)
    inside = sum(abs(one - float(told.left_mm)) <= told.within_mm for one in draws) / len(draws)
    assert inside >= 0.95


lengths = st.integers(1, 500_000).map(lambda thousandths: Fraction(thousandths, 1000))
sure = st.integers(1, 900).map(lambda thousandths: Fraction(thousandths, 1000))


def written(mm: Fraction, within: Fraction) -> str:
    return f"{float(mm):.3f} mm ± {float(min(within, mm / 2)):.4f} mm"


@given(lengths, lengths, sure, sure)
def test_width_and_spacer_make_the_gap(gap: Fraction, width: Fraction, one: Fraction, other: Fraction) -> None:
    """Exact, whatever is measured; the doubt is never less than either reading's, nor more than both together."""
    first, second = parse_width(written(gap, one)), parse_width(written(width, other))
    for sides in (1, 2):
        found = make_spacer(first, second, sides)
        assert second.mm + sides * found.each_mm == first.mm
        assert max(first.within_mm, second.within_mm) <= found.within_mm <= first.within_mm + second.within_mm
        swapped = make_spacer(second, first, sides)
        assert swapped.left_mm == -found.left_mm
        assert {found.outcome, swapped.outcome} in ({"meets"}, {"spacer", "too-wide"})


@pytest.mark.parametrize(
    "text", ["", "wide", "112.4", "26 tpi", "45 deg", "1 mm ± 2 mm", "1 mm ± 1 ± 1", "5 mm ± wide", "-3 mm", "3 off"]
)
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(BadSize):
        parse_width(text)


def test_a_gap_has_one_side_or_two() -> None:
    with pytest.raises(BadSize):
        make_spacer(parse_width("2 mm"), parse_width("1 mm"), 3)


def test_the_command_works_a_spacer_out_alone(tmp_path: Path) -> None:
    def run(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(main, ["fit", str(tmp_path), *words])
        assert result.exit_code == code, result.output
        return result.output

    assert "A spacer of 2.4 mm" in run("--spacer", "112.4 mm ± 0.1 mm", "110 mm ± 0.1 mm")
    told = json.loads(run("--spacer", "112.4 mm", "4 5/16 in", "--side", "both", "--json"))
    assert (told["outcome"], told["sides"], told["uncertainty_said"]) == ("spacer", 2, False)
    assert told["each_mm"] == pytest.approx((112.4 - 4.3125 * 25.4) / 2)
    run("--spacer", "112.4", "110 mm", code=1)
