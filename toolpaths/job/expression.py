"""The value of a length or number as written in a job: a small tokenizer and recursive descent, never ``eval``.

The grammar::

    expression = term { ("+" | "-") term }
    term       = factor { ("*" | "/") factor }
    factor     = [ "+" | "-" ] ( literal | number | name | "(" expression ")"
                               | ("min" | "max") "(" expression { "," expression } ")" )

A literal (a number and its unit) is matched first and longest.

Every value is a plain number or a length; a plain number beside a length in ``+ - min max`` means job units.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from toolpaths.errors import ExpressionError
from toolpaths.tables.toml_file import nearest
from toolpaths.units import LITERAL, Units, finite, literal_value, millimetres, refuse_spelt, shortened

LONGEST_TEXT: Final = 500
DEEPEST_NESTING: Final = 32
FUNCTIONS: Final = ("min", "max")
PANEL_NAMES: Final = ("width", "height", "thickness")
RESERVED: Final = frozenset({*PANEL_NAMES, *FUNCTIONS, "mm", "in", "letter", "ga"})

DRILL_SIZE: Final = re.compile(r"#[ \t]*[0-9]{1,3}|letter[ \t]+[A-Za-z]")
"""The whole text of a number or letter drill size."""

INCH_MARKS: Final = '"\u201d\u2033'
"""The typewriter's mark, the closing quote and the double prime."""

GAUGE: Final = re.compile(r"([0-9]{1,3})[ \t]*ga")
"""The whole text of a sheet gauge."""

_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")
_SPACE = re.compile(r"[ \t]*")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A plain number, or a length in mm."""

    value: float
    is_length: bool

    def as_length(self, units: Units) -> float:
        """The length in mm; a plain number means job units."""
        return self.value if self.is_length else millimetres(self.value, units)


class Unresolved(ExpressionError):
    """A name whose own value has been reported as wrong already: not worth a second message."""


@dataclass(frozen=True, slots=True)
class _Token:
    kind: Literal["length", "number", "name", "sign", "end"]
    text: str
    value: float = 0.0
    fraction: bool = False


def evaluate(text: str, names: Mapping[str, Quantity | None], units: Units) -> Quantity:
    """The value of an expression.

    Args:
        text: the expression, at most 500 characters.
        names: what a name stands for; None where its value is known to be wrong.
        units: what a plain number beside a length means.

    Raises:
        ExpressionError: the text has no value; the message says what would be right.
        Unresolved: it uses a name that stands for None.

    >>> evaluate("3/8 in + 1", {}, "mm")
    Quantity(value=10.525, is_length=True)
    >>> evaluate("1/2", {}, "mm")
    Quantity(value=0.5, is_length=False)
    """
    return _Parser(_tokens(text), names, units).whole()


def names_in(text: str) -> tuple[str, ...]:
    """The names that an expression uses, each once, in order; empty where the text cannot be read.

    >>> names_in("a + 2*max(b, a) - 3 mm")
    ('a', 'b')
    """
    try:
        found = (token.text for token in _tokens(text) if token.kind == "name" and token.text not in FUNCTIONS)
        return tuple(dict.fromkeys(found))
    except ExpressionError:
        return ()


def _tokens(text: str) -> list[_Token]:
    if len(text) > LONGEST_TEXT:
        raise ExpressionError(f"an expression of {len(text)} characters; at most {LONGEST_TEXT} are read")
    tokens: list[_Token] = []
    place = 0
    while True:
        place = _end_of(_SPACE, text, place)
        if place == len(text):
            return [*tokens, _Token("end", "")]
        token = _token_at(text, place)
        if token.fraction and tokens and tokens[-1].text == "/":
            raise ExpressionError(
                f"'/ {token.text}' can be read in two ways; put brackets round ({token.text}) or write it in decimals"
            )
        tokens.append(token)
        place += len(token.text)


def _end_of(pattern: re.Pattern[str], text: str, place: int) -> int:
    match = pattern.match(text, place)
    return match.end() if match else place


def _token_at(text: str, place: int) -> _Token:
    # the literal comes first: '3/8 in' is one length, not three divided by eight inches
    if match := LITERAL.match(text, place):
        return _Token("length", match[0], literal_value(match), match["bottom"] is not None)
    refuse_spelt(text, place)
    if match := _NUMBER.match(text, place):
        return _Token("number", match[0], finite(float(match[0]), match[0]))
    if match := _NAME.match(text, place):
        return _Token("name", match[0])
    sign = text[place]
    if sign in "+-*/(),":
        return _Token("sign", sign)
    if sign == "#":
        raise ExpressionError("a drill size such as '#7' must be the whole text, not part of an expression")
    if sign in INCH_MARKS:
        raise ExpressionError(f"'{sign}' is no unit here; inches are written as 7/8 in or 0.875 in")
    shown = sign if sign.isprintable() else f"U+{ord(sign):04X}"
    raise ExpressionError(f"'{shown}' has no place here; an expression takes numbers, units, names and + - * / ( ) ,")


class _Parser:
    """One pass over the tokens, computing as it goes; ``depth`` counts open brackets."""

    def __init__(self, tokens: list[_Token], names: Mapping[str, Quantity | None], units: Units) -> None:
        self.tokens = tokens
        self.names = names
        self.units = units
        self.place = 0
        self.depth = 0

    @property
    def next(self) -> _Token:
        return self.tokens[self.place]

    @property
    def ended(self) -> bool:
        return self.next.kind == "end"

    def take(self) -> _Token:
        token = self.next
        self.place += 1
        return token

    def takes(self, *signs: str) -> str:
        """The sign taken, if the next token is one of them; else empty."""
        return self.take().text if self.next.kind == "sign" and self.next.text in signs else ""

    def whole(self) -> Quantity:
        if self.ended:
            raise ExpressionError("an empty text; write a length, as 12.5 mm, or an expression")
        value = self.expression()
        if not self.ended:
            raise ExpressionError(self.stray(self.next))
        return value

    def stray(self, token: _Token) -> str:
        before = self.tokens[self.place - 1]
        after = self.tokens[self.place + 1]
        if token.text == "," and before.kind == "number" and after.kind in ("number", "length"):
            return f"'{before.text},{after.text}' has a decimal comma; write {before.text}.{after.text}"
        if token.text == ",":
            return "a comma stands only between the values of min or max; decimals are written with a point"
        if token.text == ")":
            return "a ')' too many"
        if token.text in ("mm", "in"):
            return f"the unit '{token.text}' must follow a plain number directly, as 12.5 mm or 3/8 in"
        if token.text == "ga":
            return "a gauge such as '18 ga' must be the whole text of a panel's thickness"
        if token.kind == "name" and before.kind == "number":
            return f"'{before.text} {token.text}': units are mm and in; to multiply write {before.text}*{token.text}"
        return f"'{token.text}' follows '{before.text}' without + - * or / between them"

    def expression(self) -> Quantity:
        value = self.term()
        while sign := self.takes("+", "-"):
            value = self.add(value, self.term(), 1 if sign == "+" else -1)
        return value

    def term(self) -> Quantity:
        value = self.factor()
        while sign := self.takes("*", "/"):
            other = self.factor()
            value = self.times(value, other) if sign == "*" else self.over(value, other)
        return value

    def factor(self) -> Quantity:
        sign = self.takes("+", "-")
        value = self.primary()
        return Quantity(-value.value, value.is_length) if sign == "-" else value

    def primary(self) -> Quantity:
        token = self.take()
        if token.kind in ("length", "number"):
            return Quantity(token.value, token.kind == "length")
        if token.kind == "name":
            return self.chosen(token.text) if token.text in FUNCTIONS else self.named(token.text)
        if token.text == "(":
            return self.bracketed()[0]
        found = f"'{token.text}' stands" if token.text else "the text ends"
        raise ExpressionError(f"{found} where a number, a length, a name or '(' should be")

    def named(self, name: str) -> Quantity:
        if name in self.names:
            value = self.names[name]
            if value is None:
                raise Unresolved(f"'{name}' has no value")
            return value
        if name in ("mm", "in"):
            raise ExpressionError(f"the unit '{name}' must follow a plain number directly, as 12.5 mm or 3/8 in")
        if name in ("letter", "ga"):
            raise ExpressionError("a drill size or gauge must be the whole text, as 'letter F' or '18 ga'")
        if name in PANEL_NAMES:
            raise ExpressionError(f"'{name}' is the panel's and is not known here")
        remark = nearest(name[:64], self.names) if self.names else "no names are known here"
        raise ExpressionError(f"unknown name '{shortened(name)}'; {remark}")

    def chosen(self, function: str) -> Quantity:
        if not self.takes("("):
            raise ExpressionError(f"'{function}' needs its values in brackets, as {function}(a, b)")
        values = self.bracketed(many=True)
        if any(value.is_length for value in values):
            values = [Quantity(value.as_length(self.units), True) for value in values]
        best = min if function == "min" else max
        return Quantity(best(value.value for value in values), values[0].is_length)

    def bracketed(self, many: bool = False) -> list[Quantity]:
        self.depth += 1
        if self.depth > DEEPEST_NESTING:
            raise ExpressionError(f"brackets nested deeper than {DEEPEST_NESTING}")
        values = [self.expression()]
        while many and self.takes(","):
            values.append(self.expression())
        if not self.takes(")"):
            if self.ended:
                raise ExpressionError("a ')' is missing at the end")
            raise ExpressionError(self.stray(self.next))
        self.depth -= 1
        return values

    def add(self, one: Quantity, other: Quantity, sign: int) -> Quantity:
        if one.is_length or other.is_length:
            return self.checked(one.as_length(self.units) + sign * other.as_length(self.units), True)
        return self.checked(one.value + sign * other.value, False)

    def times(self, one: Quantity, other: Quantity) -> Quantity:
        if one.is_length and other.is_length:
            raise ExpressionError("a length times a length is an area; one of the two must be a plain number")
        return self.checked(one.value * other.value, one.is_length or other.is_length)

    def over(self, one: Quantity, other: Quantity) -> Quantity:
        if other.is_length and not one.is_length:
            raise ExpressionError(
                "a plain number divided by a length is no length; divide the length by the number, "
                "and write a fraction of an inch without spaces, as 3/8 in"
            )
        if other.value == 0:
            raise ExpressionError("division by zero")
        return self.checked(one.value / other.value, one.is_length and not other.is_length)

    def checked(self, value: float, is_length: bool) -> Quantity:
        return Quantity(finite(value, "the result"), is_length)
