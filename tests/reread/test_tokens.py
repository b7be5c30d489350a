import pytest

from toolpaths.errors import RereadError
from toolpaths.reread.tokens import blocks_of, lines_of


def words(text: str) -> list[str]:
    return [str(word) for block in blocks_of(lines_of(text)) for word in block.words]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("g0x +0. 12 34y 7", ["G0", "X0.1234", "Y7"]),  # 3.3: the report's own example of spaces inside numbers
        ("G1\tX 1 . 5", ["G1", "X1.5"]),  # 3.3: tabs too
        ("N00012 g01 x.5 y-.5 z+3.", ["G1", "X0.5", "Y-0.5", "Z3"]),  # 3.3.1, 3.3.2.1
        ("n7", []),
        ("(G1 X5)", []),  # 3.3.4
        ("G0 (to the left) X1 (again)", ["G0", "X1"]),
        ("G0 X1 ; G1 X2 (this) never counts", ["G0", "X1"]),  # a later extension
        ("(a ; inside) G0 X1", ["G0", "X1"]),
        ("G0 X1\r\n\r\nY2\rZ3\n", ["G0", "X1", "Y2", "Z3"]),  # 3.3: CR, LF or both; blank lines are ignored
        ("\n%\nG0 X1\n % \n\n", ["G0", "X1"]),  # 3.1
        ("X" + "0" * 254 + "5", ["X5"]),  # 3.3: 256 characters
    ],
)
def test_a_line_is_read_as_sections_3_1_to_3_3_say(text: str, expected: list[str]) -> None:
    """Spaces, case, comments, line numbers and % lines are read as sections 3.1 to 3.3 of the report allow."""
    assert words(text) == expected


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("N000009 G0", "one to five digits"),  # 3.3.1 names 000009 as bad
        ("N-1 G0", "one to five digits"),
        ("N1.5 G0", "whole number"),
        ("G0 N5", "only at the beginning"),
        ("X", "without a number"),
        ("X--1", "without a number"),
        ("X.", "without a number"),
        ("X1.2.3", "no word begins with ."),
        ("X1E3", "no word begins with E"),  # 3.3.2.1: no exponent
        ("U1", "no word begins with U"),  # 3.3.2
        ("O100", "no word begins with O"),
        ("G0 X#3", "parameter"),  # 3.3.2.2
        ("#3=6", "parameter"),
        ("G0 X[1 + 2 * 3 - 4 / 5]", "expression"),  # C.2
        ("X1(a)2", "no word begins with 2"),
        ("(a (b)", "inside a comment"),  # 3.3.4
        ("(a", "not closed"),
        ("a)", "without a number"),
        ("G0 X1)", "closes no comment"),
        ("G0 / X1", "only at the beginning"),
        ("G0 X1 %", "stand alone"),
        ("G0 X1 (Höhe)", "not allowed"),
        ("G0\x0bX1", "not allowed"),
        ("X٣", "not allowed"),
        ("X" + "0" * 256, "at most 256"),
        ("X99999999", "beyond any machine"),
        ("%\nG0 X1\n", "does not end with one"),  # 3.1
        ("%", "does not end with one"),
        ("G0 X1\n%\n", "does not match one at the beginning"),
        ("%\nG0 X1\n%\nG0 X9\n", "after the closing"),
    ],
)
def test_what_is_not_allowed_is_refused(text: str, says: str) -> None:
    """Anything that sections 3.1 to 3.3 do not explicitly allow is an error that says why."""
    with pytest.raises(RereadError) as caught:
        tuple(blocks_of(lines_of(text)))
    assert says in caught.value.message


def test_an_error_names_its_line() -> None:
    """The line in an error counts every line of the text from 1, blank ones and comments included."""
    with pytest.raises(RereadError) as caught:
        tuple(blocks_of(lines_of("(title)\r\n\r\nG0 X1\nG0 E1\n")))
    assert caught.value.line == 4
