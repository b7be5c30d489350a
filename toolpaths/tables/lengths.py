"""A length as table files have it: a bare number of millimetres, or text with its unit, as the trade says it."""

from __future__ import annotations

import re
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Field

INCH: Final = 25.4
"""mm, exact since 1959."""

_LENGTH: Final = re.compile(r"^(?:(\d+)\s+)?(\d+)/(\d+)\s*(mm|in)$|^(\d+(?:\.\d+)?|\.\d+)\s*(mm|in)$")


def length(text: str) -> float:
    """A stated length in mm.

    Raises:
        ValueError: no number with ``mm`` or ``in`` behind it.

    >>> length("3 mm"), length("1/8 in"), length("1 1/4 in"), length("0.5 in")
    (3.0, 3.175, 31.75, 12.7)
    """
    found = _LENGTH.match(text.strip())
    if not found or (found[3] and int(found[3]) == 0):
        raise ValueError(f"is '{text}'; write a number, or text such as '3 mm' or '1/8 in'")
    if found[5]:
        return float(found[5]) * (INCH if found[6] == "in" else 1.0)
    parts = (int(found[1] or 0) * int(found[3]) + int(found[2])) / int(found[3])
    return parts * (INCH if found[4] == "in" else 1.0)


def _in_mm(value: Any) -> Any:
    return length(value) if isinstance(value, str) else value


Length = Annotated[float, BeforeValidator(_in_mm), Field(gt=0)]
"""Millimetres, above 0."""

LengthOrZero = Annotated[float, BeforeValidator(_in_mm), Field(ge=0)]
"""Millimetres, 0 allowed."""


def with_unit(row: dict[str, Any], columns: frozenset[str], units: str) -> dict[str, Any]:
    """A raw table whose bare numbers in ``columns`` say that they are inches, where the file's units are inches.

    >>> with_unit({"diameter": 0.125, "flutes": 2}, frozenset({"diameter"}), "in")
    {'diameter': '0.125 in', 'flutes': 2}
    """
    if units == "mm":
        return row
    return {
        key: with_unit(value, columns, units)
        if isinstance(value, dict)
        else f"{value:f}".rstrip("0").rstrip(".") + " in"
        if key in columns and isinstance(value, (int, float)) and not isinstance(value, bool) and value > 0
        else value
        for key, value in row.items()
    }
