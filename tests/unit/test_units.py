"""Lengths, angles and shares as typed, and lengths as a tape reads them."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bayloft.units import (
    LONGEST_MM,
    MM_PER_UNIT,
    angle_deg,
    at_least,
    at_most,
    feet_inches,
    inches,
    length_mm,
    litres,
    share,
    stiffness_mpa,
)

# The inch is 25.4 mm exactly, the foot 12 inches (international yard and pound agreement, 1959); every expected value
# below is that rational, rounded once.
INCH = Fraction(254, 10)

ACCEPTED = {
    "16 1/2 inches": Fraction(33, 2) * INCH,
    "16-1/2 in": Fraction(33, 2) * INCH,
    "16-1/2inches": Fraction(33, 2) * INCH,
    "-16-1/2 in": Fraction(-33, 2) * INCH,
    "1 Inch": INCH,
    "1 foot": 12 * INCH,
    "7 feet": 84 * INCH,
    "7 feet 4-1/2 inches": Fraction(177, 2) * INCH,
    "7 foot 4": 88 * INCH,
    "7' 4-1/2\"": Fraction(177, 2) * INCH,
    "7'4": 88 * INCH,
    "7'4\"": 88 * INCH,
    "7' 4": 88 * INCH,
    "7' 4 1/2\"": Fraction(177, 2) * INCH,
    "6' 3 1/4\"": Fraction(301, 4) * INCH,
    "7'4.5": Fraction(177, 2) * INCH,
    "7'1/2": Fraction(169, 2) * INCH,
    "7'0": 84 * INCH,
    "7 ft 4 in": 88 * INCH,
    "7 FT 4": 88 * INCH,
    "7ft4in": 88 * INCH,
    "7'11 15/16": (84 + 12 - Fraction(1, 16)) * INCH,
    "7'": 84 * INCH,
    "6.5 ft": 78 * INCH,
    '21 1/2"': Fraction(43, 2) * INCH,
    "21 1/2''": Fraction(43, 2) * INCH,
    "2 7/8 in": Fraction(23, 8) * INCH,
    "18 1/2 in": Fraction(37, 2) * INCH,
    "5/4 in": Fraction(5, 4) * INCH,
    "21.5 in": Fraction(43, 2) * INCH,
    ".5 in": INCH / 2,
    "21. in": 21 * INCH,
    "½ in": INCH / 2,
    "21½ in": Fraction(43, 2) * INCH,
    "21 ⅜″": Fraction(171, 8) * INCH,
    "2⅞”": Fraction(23, 8) * INCH,
    "1⅒ in": Fraction(11, 10) * INCH,
    "21 1⁄2 in": Fraction(43, 2) * INCH,
    "7′4″": 88 * INCH,
    "7’4½”": Fraction(177, 2) * INCH,
    "7′4′′": 88 * INCH,
    "545 mm": Fraction(545),
    "545mm": Fraction(545),
    "54.5 cm": Fraction(545),
    "1.2 m": Fraction(1200),
    " \t545\u00a0mm ": Fraction(545),
    "-12 mm": Fraction(-12),
    "−12 mm": Fraction(-12),
    "- 7'4": -88 * INCH,
    "0": Fraction(0),
    "-0.0": Fraction(0),
    "0/8": Fraction(0),
    "100 m": Fraction(100_000),
}

REFUSED = {
    "16-1/2": "without a unit",
    "16--1/2 in": "not a length",
    "16 - 1/2 in": "not a length",
    "16-1 in": "not a length",
    "16-3/2 in": "less than 1",
    "1-16-1/2 in": "not a length",
    "16 inchess": "not a length",
    "16 finch": "not a length",
    "7 feetfeet": "not a length",
    "inches": "not a length",
    "": "empty",
    "  ": "empty",
    "21 1/2": "without a unit",
    "545": "without a unit",
    "54,5 cm": "point",
    "1,200 mm": "point",
    "1/0 in": "denominator 0",
    "21 1/0": "denominator 0",
    "7'12": "less than 12",
    "7' 11 16/16": "less than 1",
    "21 3/2 in": "less than 1",
    "7.5'4": "whole number",
    "7 1/2' 4": "whole number",
    "100.001 m": "more than 100 m",
    "-100.001 m": "more than 100 m",
    "9" * 30: "without a unit",
    "0" * 41: "longer than 40 characters",
    "nan": "not a length",
    "inf mm": "not a length",
    "1e3 mm": "not a length",
    "1e999999999 mm": "not a length",
    "21 1 1/2 in": "not a length",
    "1/2/3 in": "not a length",
    "--4 mm": "not a length",
    "7'-4": "not a length",
    "4\"7'": "not a length",
    "7'4 mm": "not a length",
    "7'4'": "not a length",
    "'": "not a length",
    "-": "not a length",
    "545 mm wide": "not a length",
    "545 km": "not a length",
    "²": "not a length",
    "٣ mm": "not a length",
    "5⅟2 in": "not a length",
}


@pytest.mark.parametrize(("text", "exact_mm"), ACCEPTED.items())
def test_lengths_that_carry_their_unit(text, exact_mm):
    assert length_mm(text, None) == float(exact_mm)
    assert length_mm(text, "m") == float(exact_mm)


@pytest.mark.parametrize(("text", "reason"), REFUSED.items())
def test_texts_that_are_no_length(text, reason):
    with pytest.raises(ValueError, match=reason) as refusal:
        length_mm(text, None)
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("bare", "unit", "expected_mm"),
    [
        ("21 1/2", "in", 546.1),
        ("545", "mm", 545.0),
        (545, "mm", 545.0),
        (54.5, "cm", 545.0),
        (1.2, "m", 1200.0),
        ("7.5", "ft", 2286.0),
        (-3, "in", -76.2),
        (0, None, 0.0),
        (0.0, None, 0.0),
        (1e-7, "m", 1e-4),
        (np.float64(2.5), "in", 63.5),
    ],
)
def test_bare_numbers_take_the_unit_that_is_declared(bare, unit, expected_mm):
    assert length_mm(bare, unit) == expected_mm


@pytest.mark.parametrize("bare", [545, 54.5, "21 1/2"])
def test_bare_numbers_are_refused_where_no_unit_is_declared(bare):
    with pytest.raises(ValueError, match=r"without a unit; write a length such as 545 mm, .*, 7 ft 4 in or 7'4$"):
        length_mm(bare, None)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf"), 1e300, pytest.param(10**5000, id="huge")])
def test_numbers_that_measure_nothing(value):
    for reader in (lambda number: length_mm(number, "mm"), angle_deg, share):
        with pytest.raises(ValueError, match="not finite, or beyond any use"):
            reader(value)


@pytest.mark.parametrize("value", [True, False, None, [1], {"mm": 1}])
def test_values_that_are_neither_number_nor_text(value):
    for reader in (lambda number: length_mm(number, "mm"), angle_deg, share):
        with pytest.raises(ValueError, match="neither a number nor a text"):
            reader(value)


def test_an_unknown_unit_is_named_with_the_known_ones():
    with pytest.raises(ValueError, match=r"one of mm, cm, m, in, ft$"):
        length_mm("545 mm", "yd")


@pytest.mark.parametrize(
    ("text", "expected_deg"), [(12, 12.0), (-1.5, -1.5), ("12 deg", 12.0), ("12°", 12.0), ("-7 1/2 deg", -7.5)]
)
def test_angles(text, expected_deg):
    assert angle_deg(text) == expected_deg


@pytest.mark.parametrize("text", ["", "12 rad", "12 °C", "1e2", "nan", "1,5", "12 deg 30", "1" * 41])
def test_texts_that_are_no_angle(text):
    with pytest.raises(ValueError, match=r"degrees, such as 12|with a point"):
        angle_deg(text)


@pytest.mark.parametrize(
    ("text", "expected"), [(0.35, 0.35), (1, 1.0), ("35 %", 0.35), ("35%", 0.35), ("0.35", 0.35), ("-5 %", -0.05)]
)
def test_shares(text, expected):
    assert share(text) == expected


@pytest.mark.parametrize("text", ["", "%", "35 percent", "35 %%", "0,35", "inf"])
def test_texts_that_are_no_share(text):
    with pytest.raises(ValueError, match=r"such as 0\.35 or 35 %|with a point"):
        share(text)


@pytest.mark.parametrize(
    ("exact_in", "on_the_tape", "in_inches"),
    [
        (Fraction(88), "7' 4\"", '88"'),
        (Fraction(43, 2), '21 1/2"', '21 1/2"'),
        (Fraction(1091, 16), "5' 8 3/16\"", '68 3/16"'),
        (Fraction(0), '0"', '0"'),
        (Fraction(3, 16), '3/16"', '3/16"'),
        (Fraction(575, 16), '35 15/16"', '35 15/16"'),
        (Fraction(36), "3' 0\"", '36"'),
        (Fraction(575, 16) + Fraction(1, 32), "3' 0\"", '36"'),
        (Fraction(72) + Fraction(1, 16), "6' 1/16\"", '72 1/16"'),
        (Fraction(-88), "-7' 4\"", '-88"'),
        (Fraction(-1, 4), '-1/4"', '-1/4"'),
        (Fraction(-1, 1000), '0"', '0"'),
        (Fraction(-72), "-6' 0\"", '-72"'),
    ],
)
def test_lengths_on_the_tape(exact_in, on_the_tape, in_inches):
    assert feet_inches(float(exact_in * INCH)) == on_the_tape
    assert inches(float(exact_in * INCH)) == in_inches


def test_the_denominator_is_the_finest_part_written():
    assert inches(2.7 * 25.4, 8) == '2 3/4"'
    assert inches(2.7 * 25.4, 32) == '2 11/16"'
    assert feet_inches(88.3 * 25.4, 1) == "7' 4\""


def test_litres():
    assert litres(48.3e6) == 48.3


@given(st.integers(-60_000, 60_000), st.sampled_from([1, 2, 4, 8, 16, 32]))
def test_what_the_tape_reads_is_read_back_exactly(parts, denominator):
    exact_mm = float(Fraction(parts, denominator) * INCH)
    assume(abs(exact_mm) <= LONGEST_MM)
    assert length_mm(feet_inches(exact_mm, denominator), None) == exact_mm
    assert length_mm(inches(exact_mm, denominator), None) == exact_mm


@given(st.floats(-99_000, 99_000))
def test_the_tape_is_off_by_half_a_part_at_most(value_mm):
    # Half of 1/16 in, and one rounding of a float of this size.
    half_part_mm = 25.4 / 32 + 1e-10
    assert abs(length_mm(feet_inches(value_mm), None) - value_mm) <= half_part_mm
    assert abs(length_mm(inches(value_mm), None) - value_mm) <= half_part_mm


@given(st.decimals(-99, 99, places=4), st.sampled_from(sorted(MM_PER_UNIT)))
def test_a_number_and_its_text_mean_the_same_length(number, unit):
    exact_mm = Fraction(number) * MM_PER_UNIT[unit]
    assert length_mm(float(number), unit) == length_mm(str(number), unit) == length_mm(f"{number}{unit}", None)
    assert length_mm(float(number), unit) == float(exact_mm)


@given(st.text(alphabet="0123456789 .,/-'\"½⅜’”mcftin%°eE_", max_size=12) | st.text(max_size=60))
def test_any_text_is_a_bounded_length_or_one_line_of_advice(text):
    advice = ""
    value_mm = 0.0
    try:
        value_mm = length_mm(text, "mm")
    except ValueError as refusal:
        advice = str(refusal)
    assert abs(value_mm) <= LONGEST_MM
    assert "\n" not in advice


@pytest.mark.parametrize("mm", [0.79, 1.0, 6.9, 12.7, 44.0, 539.75, 539.8, 1658.8, 2000.0])
def test_a_limit_is_read_so_that_it_is_kept(mm: float) -> None:
    for text, sign in ((at_most(mm), 1), (at_least(mm), -1)):
        tape, metric = text.removesuffix(")").split(" (")
        for reading in (tape, metric):
            over = sign * (length_mm(reading, None) - mm)
            assert -25.4 / 16 < over <= 1e-6
    assert (at_most(539.75), at_least(539.75)) == ('21 1/4" (539.7 mm)', '21 1/4" (539.8 mm)')


def test_a_stiffness_is_read_in_megapascals() -> None:
    # A pound-force per square inch: 0.45359237 kg x 9.80665 m/s2 over (0.0254 m)2 (NIST SP 811: 6.894 757 E+03 Pa).
    assert stiffness_mpa("1000 psi") == pytest.approx(6.894757, rel=1e-7)
    assert [stiffness_mpa(each) for each in ("8 MPa", "8 N/mm2", "0.008 GPa")] == pytest.approx([8.0] * 3)
    with pytest.raises(ValueError, match="such as 8 MPa"):
        stiffness_mpa("8 bar")
