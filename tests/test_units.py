"""Lengths at the door and on paper."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.errors import ExpressionError
from toolpaths.units import inch_fraction, millimetres, parse_length, plain

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
