"""Sizes: what restorers write is read exactly, and what cannot be read is refused with a reason."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from survey.errors import BadSize
from survey.units import (
    LARGEST,
    MM_PER_INCH,
    UNITS,
    Size,
    find_nearest_fraction,
    format_both_ways,
    format_decimal,
    format_fraction,
    format_inches,
    format_mm,
    parse_size,
)


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("1/4 in", F("6.35")),
        ('1/4"', F("6.35")),
        ("1/4''", F("6.35")),
        ('.250"', F("6.35")),
        ("0.25in", F("6.35")),
        (".25 inch", F("6.35")),
        ("0,250 in", F("6.35")),
        ("¼ in", F("6.35")),
        ("1⁄4″", F("6.35")),
        ("6.35 mm", F("6.35")),
        ("6,35 mm", F("6.35")),
        ("6.35mm", F("6.35")),
        ("635/100 mm", F("6.35")),
        ("250 thou", F("6.35")),
        ("1 3/16 in", F("30.1625")),
        ("1-3/16 in", F("30.1625")),
        ('1 3/16"', F("30.1625")),
        ("5 thou", F("0.127")),
        ("1 cm", F(10)),
        ("1.5 m", F(1500)),
        ("12 µm", F("0.012")),
        ("12 μm", F("0.012")),
        ("2 ft 3 in", F("685.8")),
        ("2' 3 1/2\"", F("698.5")),
        ("2 feet 3", F("685.8")),
        ("  10 \u00a0mm ", F(10)),
        ("0 mm", F(0)),
    ],
)
def test_lengths_are_read_exactly(written: str, mm: F) -> None:
    size = parse_size(written)
    assert (size.mm, size.dimension, size.written) == (mm, "length", written.strip())


# Three-place decimals as printed in a table of decimal equivalents; the same values stand in the thread tables of
# BS 84 (Whitworth form) and BS 811 (cycle threads) as outside diameters in inches and millimetres.
@pytest.mark.parametrize(
    ("fraction", "decimal_in", "mm"),
    [
        ("1/8 in", "0.125", "3.175"),
        ("5/32 in", "0.1562", "3.969"),
        ("3/16 in", "0.1875", "4.763"),
        ("7/32 in", "0.2188", "5.556"),
        ("5/16 in", "0.3125", "7.938"),
        ("7/16 in", "0.4375", "11.113"),
        ("9/16 in", "0.5625", "14.288"),
        ("31/32 in", "0.9688", "24.606"),
        ("1 3/8 in", "1.375", "34.925"),
    ],
)
def test_thread_diameters_agree_with_the_printed_tables(fraction: str, decimal_in: str, mm: str) -> None:
    size = parse_size(fraction)
    # A table's last figure may be rounded either way at a half, hence half a unit of it.
    assert abs(size.inches - F(decimal_in)) <= F(5, 10**5)
    assert format_decimal(size.mm, 3) == mm


# Pitch in millimetres of a thread given in turns to the inch. BS 84: 26 tpi is 0.9769 mm, 20 tpi 1.27 mm, 14 tpi
# 1.8143 mm, 19 tpi (ISO 228-1) 1.3368 mm; BS 93: the pitch of 0 BA is 1.0 mm, which is 25.4 to the inch.
@pytest.mark.parametrize(
    ("written", "pitch_mm"),
    [("26 tpi", "0.9769"), ("20 tpi", "1.27"), ("14 tpi", "1.8143"), ("19 t.p.i.", "1.3368"), ("25.4 tpi", "1")],
)
def test_pitches_agree_with_the_printed_tables(written: str, pitch_mm: str) -> None:
    size = parse_size(written)
    assert size.dimension == "pitch"
    assert format_decimal(size.mm, 4) == pitch_mm
    assert parse_size(f"{size.tpi} threads per inch").value == size.value


def test_the_inch_is_the_inch_of_1959() -> None:
    # International yard and pound agreement, 1959: 1 yard is 0.9144 m exactly; BS 350 gives 1 in = 25.4 mm.
    assert MM_PER_INCH * 36 == F(9144, 10)
    assert parse_size("3 ft").mm == F(9144, 10)


@pytest.mark.parametrize(
    ("written", "dimension", "value"),
    [
        ("1.5 %", "ratio", F(3, 200)),
        ("1,5 per cent", "ratio", F(3, 200)),
        ("3.5 thou per inch of bore", "ratio", F(35, 10_000)),
        ("60 deg", "angle", F(60)),
        ("60°", "angle", F(60)),
        ("47 1/2 deg", "angle", F("47.5")),  # BS 93: the flank angle of BA threads
        ("47½°", "angle", F("47.5")),
        ("47° 30'", "angle", F("47.5")),
        ("47 deg 30 min", "angle", F("47.5")),
        ("33 off", "count", F(33)),
        ("17 teeth", "count", F(17)),
        ("1.25 mm pitch", "pitch", F("1.25")),
    ],
)
def test_other_dimensions(written: str, dimension: str, value: F) -> None:
    size = parse_size(written)
    assert (size.dimension, size.value) == (dimension, value)


def test_a_bare_number_takes_the_unit_that_was_asked_for() -> None:
    assert parse_size("6.35", default_unit="mm").mm == F("6.35")
    assert parse_size("1 1/4", default_unit="in").mm == F("31.75")
    assert parse_size("33", default_unit="off").value == 33
    assert parse_size('1/4"', default_unit="mm").mm == F("6.35"), "what is written outweighs what was asked for"
    assert parse_size("1/4", default_unit="percent").value == F("1/400"), "a quarter of one per cent is said like that"
    assert parse_size("2", default_unit="percent").to("percent") == 2


@pytest.mark.parametrize("written", ["3/16", "1 3/16", "¼", "1-1/4"])
def test_a_bare_fraction_is_never_taken_for_millimetres(written: str) -> None:
    """Common practice, no source: fractions are of an inch; 3/16 kept as 0.1875 mm would lie inside every limit."""
    with pytest.raises(BadSize, match="has no unit") as refusal:
        parse_size(written, default_unit="mm")
    assert f"{written} in" in refusal.value.next_step


# Each of these has been written by somebody in good faith; the word is one the refusal has to use.
@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("", "No size"),
        ("   ", "No size"),
        ("about that long", "can be read"),
        ("6.35", "no unit"),
        ("1,000 mm", "1.000"),
        ("3 mil", "thousandth"),
        ("-3 mm", "less than nothing"),
        ("−3 mm", "less than nothing"),
        ("3 furlongs", "furlongs"),
        ("1/4 inch dia", "inch dia"),
        ("1/0 in", "divides by nothing"),
        ("1 5/4 in", "whole or more"),
        ("0 tpi", "no thread"),
        ("2.5 off", "whole number of pieces"),
        ("99999999 mm", "larger than"),
        ("1.1.1 mm", "two numbers"),
        ("6 mm 3", "do not go together"),
        ("1 in 6 mm", "do not go together"),
        ("1 ft 14 in", "less than 12"),
        ("1.5 ft 3 in", "whole number of ft"),
        ("1 ft 2 in 3 in", "more than two"),
        ("M6x1", "names a thread"),
        ("M6", "names a thread"),
        ("1/4 x 26", "names a thread"),
        ("1/4-20", "names a thread"),
        ("2 BA", "names a thread"),
        ("1e5 mm", "not a unit"),
        ("٣ mm", "can be read"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(written: str, said: str) -> None:
    with pytest.raises(BadSize) as refused:
        parse_size(written)
    assert said in str(refused.value)
    assert refused.value.sentence.endswith(".")
    assert refused.value.next_step.endswith(".")


def test_a_text_without_end_is_refused_at_once_and_not_said_back() -> None:
    for written in ("9" * 1_000_000, "1/" * 500_000, "x" * 70):
        with pytest.raises(BadSize, match="too long for a size") as refusal:
            parse_size(written)
        assert len(str(refusal.value)) < 200


@pytest.mark.parametrize("written", ["60 deg", "3 %", "33 off"])
def test_what_is_no_length_has_no_millimetres(written: str) -> None:
    with pytest.raises(BadSize, match="no millimetres"):
        _ = parse_size(written).mm
    with pytest.raises(BadSize, match="not the pitch"):
        _ = parse_size(written).tpi


def test_a_size_is_given_in_any_unit_of_its_dimension() -> None:
    size = parse_size("1/4 in")
    assert [size.to(unit) for unit in ("in", "mm", "thou", "cm")] == [F(1, 4), F("6.35"), F(250), F("0.635")]
    assert parse_size("1 mm pitch").to("tpi") == F("25.4")
    with pytest.raises(BadSize, match="an angle is wanted") as refused:
        size.to("deg")
    assert refused.value.next_step == "Write it in deg or min."


def test_decimal_points_are_rounded_as_on_a_drawing() -> None:
    assert format_decimal(F("0.125"), 2) == "0.13"
    assert format_decimal(F("-0.125"), 2) == "-0.13"
    assert format_decimal(F("-0.001"), 2) == "0"
    assert format_decimal(F("2.50"), 2) == "2.5"
    assert format_decimal(F("2.5"), 0) == "3"


def test_sizes_are_said_both_ways() -> None:
    assert format_both_ways(parse_size("1/4 in")) == "1/4 in (6.35 mm)"
    assert format_both_ways(parse_size("6.35 mm")) == "6.35 mm (1/4 in)"
    assert format_both_ways(parse_size("26 tpi")) == "26 tpi (0.977 mm)"
    assert format_both_ways(parse_size("1 mm pitch")) == "1 mm (25.4 tpi)"
    assert format_both_ways(parse_size("1.5 %")) == "1.5 %"
    # 15/64 in is 5.953125 mm, so 6 mm is 0.047 mm over it and 5.94 mm is 0.013 mm under it.
    assert format_both_ways(parse_size("4.5", default_unit="mm")) == "4.5 mm (11/64 in plus 0.134 mm)"
    assert format_both_ways(parse_size("33", default_unit="off")) == "33 off"
    assert format_inches(parse_size("6 mm")) == "15/64 in plus 0.047 mm"
    assert format_inches(parse_size("5.94 mm")) == "15/64 in less 0.013 mm"
    assert format_inches(parse_size("5.953 mm")) == "15/64 in less under 0.001 mm"
    assert format_inches(parse_size("2 in")) == "2 in"
    assert format_mm(parse_size("5 thou")) == "0.13 mm"


lengths = st.fractions(min_value=0, max_value=1000, max_denominator=64)


@given(lengths)
def test_a_fraction_of_an_inch_comes_back_as_it_was_said(inches: F) -> None:
    assert parse_size(f"{format_fraction(inches)} in").inches == inches


@given(st.integers(0, 10**8))
def test_hundredths_of_a_millimetre_come_back_exactly(hundredths: int) -> None:
    value = F(hundredths, 100)
    for text in (format_decimal(value, 2), format_decimal(value, 2).replace(".", ",")):
        assert parse_size(f"{text} mm").mm == value


@given(lengths)
def test_through_inches_and_back_nothing_is_lost(mm: F) -> None:
    size = Size(mm, "length", "mm", f"{mm} mm")
    assert size.inches * MM_PER_INCH == size.mm == mm
    assert all(size.to(unit) * UNITS[unit].per == mm for unit in ("in", "thou", "ft", "µm"))


@given(lengths, st.sampled_from([8, 16, 32, 64]))
def test_the_nearest_fraction_is_the_nearest_and_its_error_is_true(inches: F, parts: int) -> None:
    nearest, left = find_nearest_fraction(inches, parts)
    assert nearest + left == inches
    assert abs(left) <= F(1, 2 * parts)
    assert (nearest * parts).denominator == 1


@given(st.sampled_from(list(UNITS.values())), st.integers(1, 900))
def test_every_spelling_of_a_unit_means_the_same(unit: object, number: int) -> None:
    assert isinstance(unit, type(UNITS["in"]))
    for spelling in unit.spellings:
        if spelling != "'":  # feet after a length, minutes after degrees
            assert parse_size(f"{number} {spelling.upper()}").to(unit.id) == number
    assert parse_size(f"{number}{unit.id}").to(unit.id) == number


@given(st.text(max_size=24) | st.text("0123456789/., -'\"inmxtpideg°½%", max_size=16))
def test_nothing_written_ends_in_anything_but_a_size_or_a_refusal(text: str) -> None:
    try:
        size = parse_size(text)
    except BadSize as refused:
        assert refused.sentence.endswith(".")
    else:
        assert 0 <= size.value <= LARGEST
        assert size.unit in UNITS
