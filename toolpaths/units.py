"""Millimetres inside; inches and their fractions only at the door and on paper.

Literals (``12.5 mm``, ``3/8 in``, ``9 1/4 in``) are read here; expressions over them in ``toolpaths.job.expression``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Final, Literal

from toolpaths.errors import ExpressionError

Units = Literal["mm", "in"]

INCH: Final = 25.4
"""Millimetres in an inch, exactly (international inch of 1959)."""

MOST_DIGITS: Final = 1e12
"""From here on a double has no digit left to round by hand."""

SAME_NUMBER: Final = 1e-9
"""Less than this between two figures is arithmetic."""

_NUMBER = (
    r"(?:(?:(?P<whole>[0-9]+)[ \t]+)?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)|(?P<decimal>[0-9]+(?:\.[0-9]+)?|\.[0-9]+))"
    r"[ \t]*"
)
LITERAL: Final = re.compile(_NUMBER + r"(?P<unit>mm|in)(?![A-Za-z0-9_.])")
"""A number, a fraction or a whole number and a fraction, followed by its unit; no spaces round the ``/``."""

_SPELT = re.compile(_NUMBER + r"(?P<unit>inch|inches)(?![A-Za-z0-9_.])")


def millimetres(value: float, units: Units) -> float:
    """A bare number of ``units`` in mm.

    >>> millimetres(2, "in"), millimetres(2, "mm")
    (50.8, 2.0)
    """
    return value * INCH if units == "in" else float(value)


def literal_value(match: re.Match[str]) -> float:
    """The length in mm of a match of ``LITERAL``; ``ExpressionError`` for a fraction over 0."""
    if match["decimal"] is not None:
        return finite(millimetres(float(match["decimal"]), "in" if match["unit"] == "in" else "mm"), match[0])
    bottom = float(match["bottom"])
    if bottom == 0:
        raise ExpressionError(f"division by zero in '{match[0]}'")
    top = float(match["whole"] or 0) * bottom + float(match["top"])
    # whole numbers as long as possible: 3/8 in is then the double nearest to 9.525
    parts, whole = (254.0, 10.0) if match["unit"] == "in" else (1.0, 1.0)
    return finite(top * parts / (bottom * whole), match[0])


def finite(value: float, text: str) -> float:
    """``value`` itself; ``ExpressionError`` where it is infinite or no number at all."""
    if not math.isfinite(value):
        raise ExpressionError(f"'{shortened(text)}' is too large a number")
    return value


def parse_length(text: str) -> float:
    """The length in mm of a text that is one literal and nothing else.

    Raises ``ExpressionError`` where it is anything else.

    >>> parse_length("9 1/4 in"), parse_length("12.5 mm")
    (234.95, 12.5)
    """
    match = LITERAL.fullmatch(text.strip())
    if match is None:
        refuse_spelt(text.strip())
        raise ExpressionError(f"'{shortened(text)}' is no length; write a number and its unit, as 12.5 mm or 3/8 in")
    return literal_value(match)


def refuse_spelt(text: str, place: int = 0) -> None:
    """``ExpressionError`` where a length whose unit is spelt out begins at a place of a text.

    >>> refuse_spelt("1 3/8 inches")
    Traceback (most recent call last):
    toolpaths.errors.ExpressionError: '1 3/8 inches': units are mm and in; write 1 3/8 in
    """
    if match := _SPELT.match(text, place):
        number = match[0].removesuffix(match["unit"]).rstrip()
        raise ExpressionError(f"'{shortened(match[0])}': units are mm and in; write {shortened(number)} in")


def inch_fraction(length: float, finest: int = 64) -> str:
    """The inch fraction that equals a length in mm, to ``finest`` parts of an inch; empty where none does.

    >>> inch_fraction(9.525), inch_fraction(31.75), inch_fraction(25.4), inch_fraction(10.0)
    ('3/8 in', '1 1/4 in', '1 in', '')
    """
    parts = length / INCH * finest
    count = round(parts)
    # one part in a million of a mm: exact fractions only, whatever the way in which they were computed
    if count <= 0 or abs(parts - count) * INCH / finest > 1e-6:
        return ""
    whole, rest = divmod(count, finest)
    if not rest:
        return f"{whole} in"
    shared = math.gcd(rest, finest)
    fraction = f"{rest // shared}/{finest // shared} in"
    return f"{whole} {fraction}" if whole else fraction


def inch_decimal(length: float) -> str:
    """Inches of a length in mm with three decimals, or four where three do not say it exactly.

    >>> inch_decimal(5.1054), inch_decimal(4.3053), inch_decimal(3.2), inch_decimal(-0.0001)
    ('0.201', '0.1695', '0.1260', '0.000')
    """
    inches = length / INCH
    short = f"{inches:.3f}"
    text = short if abs(float(short) * INCH - length) <= 1e-6 or abs(inches) < 0.00005 else f"{inches:.4f}"
    return text.removeprefix("-") if float(text) == 0 else text


def figure(length: float, units: Units) -> str:
    """A length in mm as a figure of ``units`` without its unit: the inch fraction where one is exact.

    >>> figure(9.525, "in"), figure(5.1054, "in"), figure(9.525, "mm"), figure(0, "in")
    ('3/8', '0.201', '9.525', '0')
    """
    if units == "mm":
        return plain(length)
    if length == 0:
        return "0"
    return inch_fraction(length).removesuffix(" in") or inch_decimal(length)


def said(length: float, units: Units) -> str:
    """A length in mm as a shop of ``units`` says it, with its unit.

    >>> said(38.1, "in"), said(38.1, "mm"), said(2.54, "in")
    ('1 1/2 in', '38.1 mm', '0.100 in')
    """
    return f"{figure(length, units)} {units}"


def said_both(length: float, units: Units) -> str:
    """As ``said``; in inches with the mm beside them, for whoever holds a rule or reads a machine in mm.

    >>> said_both(9.525, "in"), said_both(18, "in"), said_both(9.525, "mm"), said_both(0.05, "in")
    ('3/8 in (9.525 mm)', '0.709 in (18 mm)', '9.525 mm', '0.0020 in (0.05 mm)')
    """
    if units == "mm":
        return said(length, units)
    return f"{inch_words(length)} ({plain(length)} mm)"


def inch_words(length: float) -> str:
    """A length in mm in inches: the fraction of the shop's chart where it is one, else decimals.

    A chart prints the mm of its fractions to three decimals, so a length that was rounded so is that fraction. Decimals
    are thousandths, or finer where those would leave fewer than two figures.

    >>> inch_words(1.588), inch_words(15), inch_words(0.01), inch_words(-6.35), inch_words(0)
    ('1/16 in', '0.591 in', '0.00039 in', '-1/4 in', '0 in')
    """
    sign, size = ("-" if length < 0 else ""), abs(length)
    nearest = round(size / INCH * 64) * INCH / 64
    if nearest and abs(size - nearest) < 0.0005 + SAME_NUMBER:
        return f"{sign}{inch_fraction(nearest)}"
    inches = size / INCH
    if inches < SAME_NUMBER:
        return "0 in"
    return f"{sign}{fixed(inches, max(3, 1 - math.floor(math.log10(inches))))} in"


def ruled(length: float, units: Units, finest: int = 64) -> str:
    """A length in mm as one sets it off with a rule of ``units``, without its unit: the fraction where one is exact.

    Else the nearest one, and behind it what is still missing, in mm: the two together are the length.

    >>> ruled(38.1, "in"), ruled(25, "in"), ruled(-15, "in"), ruled(0.1, "in"), ruled(25, "mm"), ruled(1.588, "in")
    ('1 1/2', '63/64 - 0.003 mm', '-19/32 + 0.08 mm', '0 + 0.1 mm', '25', '1/16')
    """
    if units == "mm":
        return plain(length)
    nearest = round(length / INCH * finest) * INCH / finest
    fraction = f"{'-' if nearest < 0 else ''}{inch_fraction(abs(nearest)).removesuffix(' in') or '0'}"
    missing = length - nearest
    # a chart prints the mm of its fractions to three decimals: a length that was rounded so is that fraction
    if abs(missing) < 0.0005 + SAME_NUMBER:
        return fraction
    amount = plain(abs(missing), 2)
    return f"{fraction} {'+' if missing > 0 else '-'} {plain(abs(missing)) if amount in ('0', '0.01') else amount} mm"


def told(length: float, units: Units) -> str:
    """A length in mm in a sentence for a shop of ``units``: as ``metric``, or in inches with those mm beside them.

    >>> told(9.525, "in"), told(3.14159, "mm"), told(0.008, "in")
    ('3/8 in (9.525 mm)', '3.14 mm', '0.00031 in (0.01 mm)')
    """
    text = f"{metric(length)} mm"
    return f"{inch_words(length)} ({text})" if units == "in" else text


def told_apart(one: float, other: float, say: Callable[[float], str], units: Units) -> tuple[str, str]:
    """Two different lengths in mm as ``say`` says them; with more decimals where both would be the same figure.

    >>> told_apart(65.0004, 65.0, lambda length: said(length, "in"), "in")
    ('2.55907 in', '2.55906 in')
    >>> told_apart(19.0501, 19.05, lambda length: said(length, "in"), "in")
    ('0.750004 in', '0.750000 in')
    >>> told_apart(0.52, 0.5, lambda length: told(length, "in"), "in")
    ('0.0205 in (0.52 mm)', '0.0197 in (0.5 mm)')
    >>> told_apart(12.7, 25.4, lambda length: said(length, "in"), "in")
    ('1/2 in', '1 in')
    """
    words = say(one), say(other)
    first, second = map(_figure_of, words)
    if one == other or (first != second and (first > second) == (one > other)):  # a fraction is not rounded
        return words
    unit = INCH if units == "in" else 1.0
    for decimals in range(4, 10):
        figures = fixed(one / unit, decimals), fixed(other / unit, decimals)
        if figures[0] != figures[1]:
            beside = [f" ({plain(length, decimals - 1)} mm)" if "(" in words[0] else "" for length in (one, other)]
            return f"{figures[0]} {units}{beside[0]}", f"{figures[1]} {units}{beside[1]}"
    return words


def _figure_of(words: str) -> Fraction:
    """The figure of a length in words: ``1 1/2 in (38.1 mm)`` is 3/2."""
    return sum((Fraction(part) for part in words.split(" (")[0].split()[:-1]), Fraction(0))


def metric(length: float) -> str:
    """Mm for a sentence: hundredths; of a fraction of an inch thousandths, as the shop's chart prints it.

    >>> metric(3.175), metric(2.5), metric(1.5875), metric(2.667)
    ('3.175', '2.5', '1.588', '2.67')
    """
    return plain(length, 3 if inch_fraction(abs(length)) else 2)


def is_exact_in_inches(length: float) -> bool:
    """Whether four decimals, or a fraction, say a length in mm exactly.

    >>> is_exact_in_inches(5.1054), is_exact_in_inches(11.90625), is_exact_in_inches(3.2)
    (True, True, False)
    """
    return bool(inch_fraction(length)) or abs(round(length / INCH, 4) * INCH - length) <= 1e-6


_BARE_MM: Final = re.compile(
    r"(?<![0-9.])(?<!in \()(?P<low>[0-9]+(?:\.[0-9]+)?)(?: to (?P<high>[0-9]+(?:\.[0-9]+)?))? mm(?P<rate>/min)?\b"
    r"(?![²³\"]|/| \(|(?: [a-z-]+)? (?:mill|drill|bit|countersink))"
)
"""Lengths and feeds in the sentences of planner and judge; not the names of metric cutters, nor values of keys."""


_MARGIN: Final = re.compile(r"(stock_margin = )\"([0-9.]+) mm\"")
"""The one key whose least value findings write out for the job."""


def _sixteenths_up(length: float) -> str:
    """At least this many mm, as an inch shop writes it: the next sixteenth."""
    return inch_fraction(math.ceil(length / INCH * 16 - SAME_NUMBER) * INCH / 16)


def inches_beside(text: str, units: Units, first: Units | None = None) -> str:
    """A sentence whose lengths are in mm as it is told where ``units`` are in use: in inches with the mm in brackets.

    ``first``: the units told first, where they are others; the inches are then in brackets.

    >>> inches_beside("a 3 mm end mill leaves 6.35 mm, or 1 to 2 mm, at 508 mm/min", "in")
    'a 3 mm end mill leaves 1/4 in (6.35 mm), or 0.039 to 0.079 in (1 to 2 mm), at 20 in/min (508 mm/min)'
    >>> inches_beside("1.5 mm", "in", "mm"), inches_beside("1.5 mm", "mm")
    ('1.5 mm (0.059 in)', '1.5 mm')
    >>> inches_beside('stock_margin = "30 mm"', "in")
    'stock_margin = "1 3/16 in"'
    """
    if units == "mm":
        return text
    if first is None:
        text = _MARGIN.sub(lambda match: f'{match[1]}"{_sixteenths_up(float(match[2]))}"', text)

    def told(match: re.Match[str]) -> str:
        values = [float(value) for value in (match["low"], match["high"]) if value]
        if match["rate"]:
            inches = f"{' to '.join(plain(value / INCH, 1) for value in values)} in/min"
        else:
            inches = " to ".join(inch_words(value).removesuffix(" in") for value in values) + " in"
        return f"{match[0]} ({inches})" if first == "mm" else f"{inches} ({match[0]})"

    return _BARE_MM.sub(told, text)


def plain(value: float, decimals: int = 3) -> str:
    """A number as short as it can be said to ``decimals`` places, never ``-0``.

    >>> plain(3.0), plain(9.525), plain(-0.0001), plain(12.70)
    ('3', '9.525', '0', '12.7')
    """
    text = fixed(value, decimals)
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text


def fixed(value: float, decimals: int) -> str:
    """A number with so many decimals, its halves rounded away from nought as one does by hand, never ``-0``.

    >>> fixed(3.175, 2), fixed(1.005, 2), fixed(-0.0001, 3), fixed(2.5, 0)
    ('3.18', '1.01', '0.000', '3')
    """
    if not abs(value) < MOST_DIGITS:
        return f"{value:.{decimals}f}"
    # whether a double is a half hangs on its last bit: what counts is its decimal text, free of arithmetic's noise
    text = repr(round(float(value), 9))
    whole, _, part = text.partition(".")
    if len(part) <= decimals and part.isdigit():  # nothing to round, as with most figures of a job
        text = f"{whole}.{part.ljust(decimals, '0')}"
    else:
        text = str(Decimal(text).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP))
    return text.removeprefix("-") if float(text) == 0 else text


def duration(seconds: float) -> str:
    """A time as one waits for it.

    >>> duration(44.4), duration(59.7), duration(740), duration(6258), duration(0)
    ('44 s', '1 min', '12 min', '1 h 44 min', '0 s')
    """
    if round(seconds) < 60:
        return f"{round(seconds)} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def on_axis(length: float, units: Units, decimals: int = 3) -> str:
    """A place on an axis, mm, as the display of a machine in ``units`` shows it, without its unit.

    >>> on_axis(12.7, "in"), on_axis(12.7, "mm"), on_axis(-106.96, "mm", 1)
    ('0.5000', '12.7', '-107')
    """
    return f"{length / INCH:.4f}" if units == "in" else plain(length, decimals)


def shortened(text: str, limit: int = 60) -> str:
    """A user's text fit for one line of a message.

    >>> shortened("a" * 5, 4), shortened("a\\nb")
    ('aaa…', 'a b')
    """
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return line if len(line) <= limit else line[: limit - 1] + "…"
