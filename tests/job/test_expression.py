"""Expressions as rows: a text and its value, or what the message must say."""

import time

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from toolpaths.errors import ExpressionError
from toolpaths.job.expression import Quantity, Unresolved, evaluate, names_in

NAMES = {
    "board": Quantity(19.0, True),
    "play": Quantity(1.5, True),
    "cabinet_width": Quantity(420.0, False),
    "wrong": None,
}

LENGTHS = [
    ("3/8 in", 9.525),
    ("9 1/4 in", 234.95),
    ("12.5 mm", 12.5),
    ("12.5mm", 12.5),
    ("cabinet_width - 2*board - 2*play", 379.0),
    ("2*3/8 in", 19.05),
    ("2*9 1/4 in", 469.9),
    ("-3/8 in", -9.525),
    ("1 - -3 mm", 4.0),
    ("board/(1/2)", 38.0),
    ("(board + 1)/2", 10.0),
    ("min(board, 5)", 5.0),
    ("max(1, 2, 3 mm)", 3.0),
    ("max(0.5 in, 5)", 12.7),
    ("1/2*board", 9.5),
    ("- board", -19.0),
]

NUMBERS = [
    ("1/2", 0.5),
    ("3", 3.0),
    ("2 + 3*4", 14.0),
    ("(2 + 3)*4", 20.0),
    ("8/4/2", 1.0),
    ("8 - 4 - 2", 2.0),
    ("board/play", 19 / 1.5),
    ("board/(3/8 in)", 19 / 9.525),
    ("max(1, 2)", 2.0),
    (".5", 0.5),
    ("+3", 3.0),
    ("(" * 32 + "1" + ")" * 32, 1.0),
]

ERRORS = [
    ("", "an empty text"),
    ("  ", "an empty text"),
    ("board/3/8 in", "'/ 3/8 in' can be read in two ways"),
    ("board / 9 1/4 in", "'/ 9 1/4 in' can be read in two ways"),
    ("3 / 8 in", "a fraction of an inch without spaces, as 3/8 in"),
    ("1/board", "a plain number divided by a length"),
    ("board*play", "a length times a length"),
    ("1/0", "division by zero"),
    ("board/(play - play)", "division by zero"),
    ("3/0 in", "division by zero"),
    ("bord", "unknown name 'bord'; did you mean 'board'?"),
    ("width", "'width' is the panel's and is not known here"),
    ("12,5", "has a decimal comma; write 12.5"),
    ("2 board", "to multiply write 2*board"),
    ("12 inches", "'12 inches': units are mm and in; write 12 in"),
    ("board + 3/8 inch", "'3/8 inch': units are mm and in; write 3/8 in"),
    ("board mm", "the unit 'mm' must follow a plain number directly"),
    ("(3) in", "the unit 'in' must follow a plain number directly"),
    ("mm", "the unit 'mm' must follow a plain number directly"),
    ("1e3", "units are mm and in"),
    ("#7 + 1", "must be the whole text"),
    ("letter F + 1", "must be the whole text"),
    ("18 ga", "must be the whole text of a panel's thickness"),
    ("(1 + 2", "a ')' is missing at the end"),
    ("1)", "a ')' too many"),
    ("()", "where a number, a length, a name or '(' should be"),
    ("1 +", "the text ends where"),
    ("--3", "'-' stands where"),
    ("max", "needs its values in brackets"),
    ("min()", "')' stands where"),
    ("1 2", "'2' follows '1' without"),
    ("3 1/2", "without + - * or /"),
    ("½ in", "'½' has no place here"),
    ("2 ** 3", "'*' stands where"),
    ("__import__(1)", "unknown name '__import__'"),
    ("9" * 400, "too large a number"),
    ("9" * 300 + "*" + "9" * 190, "too large a number"),
    ("1 + " * 125 + "1", "an expression of 501 characters"),
    ("(" * 33 + "1" + ")" * 33, "nested deeper than 32"),
    ("min(" * 33 + "1" + ")" * 33, "nested deeper than 32"),
    ("1\n2", "U+000A"),
]


@pytest.mark.parametrize(("text", "expected"), LENGTHS)
def test_an_expression_with_a_length_is_a_length(text: str, expected: float) -> None:
    """Lengths come out in mm; a plain number beside a length means job units (here mm)."""
    value = evaluate(text, NAMES, "mm")
    assert value.is_length
    assert value.value == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(("text", "expected"), NUMBERS)
def test_an_expression_without_a_length_is_a_number(text: str, expected: float) -> None:
    """Plain numbers stay plain, and a length over a length is one."""
    assert evaluate(text, NAMES, "mm") == Quantity(pytest.approx(expected, abs=1e-12), False)


@pytest.mark.parametrize(("text", "said"), ERRORS)
def test_what_has_no_value_is_told_in_words(text: str, said: str) -> None:
    """Each mistake has a message that says what would be right."""
    with pytest.raises(ExpressionError) as caught:
        evaluate(text, NAMES, "mm")
    assert said in str(caught.value)
    assert not isinstance(caught.value, Unresolved)


def test_a_number_beside_a_length_means_the_jobs_inches() -> None:
    """In an inch job 1 beside a length is an inch, but 2 times a length is no length of its own."""
    assert evaluate("1 + 2*3 mm", {}, "in") == Quantity(pytest.approx(31.4), True)


def test_a_value_known_to_be_wrong_is_told_apart() -> None:
    """A name whose value was reported already raises Unresolved, so that no second message is made of it."""
    with pytest.raises(Unresolved):
        evaluate("1 + wrong", NAMES, "mm")


def test_names_are_listed_once_and_functions_are_none() -> None:
    """The names that an expression uses decide the order of parameters."""
    assert names_in("b + max(a, b)*3 mm - width") == ("b", "a", "width")
    assert names_in("b + ½") == ()


PIECES = st.sampled_from(
    ["1", "0", "12.5", "3/8", " ", "in", "mm", "+", "-", "*", "/", "(", ")", ",", "min", "max", "board", "x", "#7", "9"]
)


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.text(max_size=520), st.lists(PIECES, max_size=120).map("".join)))
@example("1" * 500)
@example("1 " * 250)
@example("1/" * 250)
@example("(" * 500)
def test_no_text_does_anything_but_have_a_value_or_an_expression_error(text: str) -> None:
    """Whatever is typed, the outcome is a finite value or an ExpressionError, at once."""
    begin = time.process_time()
    try:
        value = evaluate(text, NAMES, "mm")
    except ExpressionError as error:
        assert str(error)
    else:
        assert abs(value.value) < float("inf")
    assert time.process_time() - begin < 0.5


@settings(max_examples=100)
@given(st.recursive(
    st.integers(0, 99).map(str),
    lambda inner: st.tuples(inner, st.sampled_from("+-*"), inner).map(lambda parts: f"({''.join(parts)})"),
    max_leaves=12,
))  # fmt: skip
def test_plain_arithmetic_agrees_with_the_languages_own(text: str) -> None:
    """Precedence and association are those of arithmetic: the same text means the same number in Python."""
    assert evaluate(text, {}, "mm").value == eval(text)
