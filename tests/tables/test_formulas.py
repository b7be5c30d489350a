"""Speeds, feeds and drill points against worked examples printed elsewhere; each row names where."""

import math

import pytest

from toolpaths.tables import formulas
from toolpaths.tables.rows import Cutter

FOOT, INCH = 0.3048, 25.4

UF = "Univ. of Florida MAE design lab, Example 2A (pairing of answer and example inferred)"


@pytest.mark.parametrize(
    ("speed", "diameter", "expected", "slack", "source"),
    [
        (60 * FOOT, 5 * INCH, 46, 0.5, "F. D. Jones, Turning and Boring: 45.84 rounded"),
        (300 * FOOT, 0.375 * INCH, 3056, 0.5, "binghamsite.com milling procedures"),
        (250 * FOOT, 1 * INCH, 955, 0.5, UF),
        (80 * FOOT, 0.5 * INCH, 611, 0.5, "collegeincolorado.org exercise, exact formula"),
        (25, 12, 663, 0.5, "phantom.eu, n = 1000 Vc/(3.14 d)"),
    ],
)
def test_spindle_speed_is_that_of_the_worked_examples(
    speed: float, diameter: float, expected: float, slack: float, source: str
) -> None:
    """n = 1000 v / (pi d) gives the printed answer, to the digit printed."""
    assert formulas.rpm(speed, diameter) == pytest.approx(expected, abs=slack), source
    assert formulas.cutting_speed(formulas.rpm(speed, diameter), diameter) == pytest.approx(speed)


@pytest.mark.parametrize(
    ("chip", "flutes", "rpm", "expected", "slack", "source"),
    [
        (0.001 * INCH, 2, 3056, 6.1 * INCH, 0.05 * INCH, "binghamsite.com milling procedures"),
        (0.005 * INCH, 4, 1000, 20 * INCH, 1e-9, "student shop handout (buenastareas.com)"),
        (0.008 * INCH, 4, 955 * 0.6, 18 * INCH, 0.5 * INCH, UF),
        (0.065, 2, 663, 86, 0.5, "phantom.eu"),
        (0.065, 3, 663, 129, 0.5, "phantom.eu"),
        (0.060, 4, 663, 159, 0.5, "phantom.eu"),
        (0.004 * INCH, 32, 88, 11.264 * INCH, 1e-9, "Niagara Cutter, New Concepts in Milling Handbook (1973)"),
    ],
)
def test_feed_is_that_of_the_worked_examples(
    chip: float, flutes: int, rpm: float, expected: float, slack: float, source: str
) -> None:
    """Feed is chip load times flutes times speed, as printed."""
    assert formulas.feed(chip, flutes, rpm) == pytest.approx(expected, abs=slack), source


@pytest.mark.parametrize(
    ("feed", "rpm", "expected"),
    [
        (100, 10000, 0.005),
        (300, 10000, 0.015),
        (300, 18000, 0.008),
        (400, 16000, 0.013),
        (500, 18000, 0.014),
        (600, 10000, 0.030),
    ],
)
def test_chip_load_is_that_of_a_printed_chart(feed: float, rpm: float, expected: float) -> None:
    """in/min, min⁻¹ and two flutes give the in/tooth of carbideprocessors.com's chip load chart (three decimals)."""
    assert formulas.chip_load(feed * INCH, 2, rpm) / INCH == pytest.approx(expected, abs=0.0005)


@pytest.mark.parametrize(
    ("diameter", "angle", "expected", "slack", "source"),
    [
        (0.104, 118, 0.031, 0.0005, "hobby-machinist.com drill tip length thread, #37"),
        (0.406, 135, 0.084, 0.0005, "hobby-machinist.com, 13/32 in: 0.203 x tan 22.5 (computed)"),
        (0.5, 118, 0.15, 0.0005, "calcady.com drill point breakthrough"),
        (1, 118, 0.3004, 0.00005, "calcady.com; calculator.city"),
        (1, 135, 0.2071, 0.00005, "calcady.com"),
        (1, 90, 0.5, 1e-12, "calcady.com"),
        (1, 140, 0.182, 0.00005, "calculator.city"),
    ],
)
def test_drill_point_is_as_long_as_printed(
    diameter: float, angle: float, expected: float, slack: float, source: str
) -> None:
    """(d/2) / tan(point/2) gives the printed tip length, and a cutter's row agrees with the formula."""
    mm, rad = diameter * INCH, math.radians(angle)
    assert formulas.point_length(mm, rad) == pytest.approx(expected * INCH, abs=slack * INCH), source
    drill = Cutter(1, "drill", mm, "HSS", 2, 20, 30, mm, rad, ("metal",), "", "")
    assert drill.point_length == pytest.approx(formulas.point_length(mm, rad))


def test_power_is_force_times_removal() -> None:
    """One cm³ a second at 1 N/mm² is one watt: 1 N/mm² is 1 J/cm³."""
    assert formulas.cutting_power(1, 60 * 1000) == pytest.approx(1)
