"""Lengths at the door and on paper."""

import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.errors import ExpressionError
from toolpaths.units import inch_fraction, inches_beside, millimetres, parse_length, plain, ruled

ROWS = [
    ("12.5 mm", 12.5),
    ("3/8 in", 9.525),
    ("9 1/4 in", 234.95),
    ("9 1/4in", 234.95),
    ("1/32 in", 0.79375),
    (".5 in", 12.7),
    (" 0.250 in ", 6.35),
    ("3/2 mm", 1.5),
]


@pytest.mark.parametrize(("text", "expected"), ROWS)
def test_a_literal_has_its_length_in_mm(text: str, expected: float) -> None:
    """A literal's length is exact: the double nearest to it, however it is written."""
    assert parse_length(text) == expected


@pytest.mark.parametrize("text", ["", "3", "3/8", "3 / 8 in", "3/0 in", "1,5 mm", "-3 mm", "3 inch", "3 mm mm", "x"])
def test_what_is_no_literal_is_refused(text: str) -> None:
    """Anything else than one literal is an error, never a guess."""
    with pytest.raises(ExpressionError):
        parse_length(text)


@given(st.integers(1, 64 * 20))
def test_every_64th_of_an_inch_is_said_and_read_back(parts: int) -> None:
    """An exact fraction of an inch is written so that it reads back as the same length."""
    length = millimetres(parts / 64, "in")
    said = inch_fraction(length)
    assert said.endswith(" in")
    read = parse_length(said) if "/" in said else parse_length(said.replace(" in", ".0 in"))
    assert read == pytest.approx(length, abs=1e-12)


@settings(max_examples=50)
@given(st.floats(-1e4, 1e4))
def test_plain_numbers_never_say_minus_nought(value: float) -> None:
    """A number on paper has at most three decimals, no trailing noughts and no -0."""
    text = plain(value)
    assert text != "-0"
    assert not ("." in text and text.endswith("0"))
    assert float(text) == pytest.approx(value, abs=0.0005000001)


@settings(max_examples=300)
@given(st.floats(min_value=-2000, max_value=2000, allow_nan=False))
def test_a_length_on_a_rule_is_its_fraction_and_what_is_missing(length: float) -> None:
    """Fraction and remainder together are the length to a hundredth of a mm, and no nearer 64th exists."""
    text = ruled(length, "in")
    match = re.fullmatch(r"(-?)(?:(\d+) )?(\d+)(?:/(\d+))?(?: ([+-]) ([0-9.]+) mm)?", text)
    assert match, text
    sign, whole, top, bottom, way, missing = match.groups()
    fraction = Fraction(int(top), int(bottom or 1)) + int(whole or 0)
    assert 64 % fraction.denominator == 0
    rest = float(missing or 0) * (-1 if way == "-" else 1)
    assert float(fraction) * 25.4 * (-1 if sign else 1) + rest == pytest.approx(length, abs=0.0051)
    assert abs(rest) <= 25.4 / 128 + 0.005


def test_exact_64ths_stand_bare_on_a_rule() -> None:
    """Every 64th of the first inch, and the chart's three decimals of it, is its own fraction in lowest terms."""
    for count in range(1, 65):
        shortest = Fraction(count, 64)
        assert ruled(count * 25.4 / 64, "in") == str(shortest) == ruled(round(count * 25.4 / 64, 3), "in")


def test_a_margin_to_write_into_an_inch_job_is_told_in_inches() -> None:
    """At least so many mm are rounded up to the next sixteenth, and stay in mm for a job in mm."""
    assert inches_beside('set stock_margin = "25.5 mm"', "in") == 'set stock_margin = "1 1/16 in"'
    assert inches_beside('set stock_margin = "25.4 mm"', "in") == 'set stock_margin = "1 in"'
    assert inches_beside('set stock_margin = "25.5 mm"', "mm") == 'set stock_margin = "25.5 mm"'
