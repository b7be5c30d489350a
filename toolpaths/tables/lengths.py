"""A length as table files have it: a bare number of millimetres, or text with its unit, as the trade says it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, WithJsonSchema

from toolpaths.units import parse_length


def _in_mm(value: Any) -> Any:
    return parse_length(value) if isinstance(value, str) else value


def _as_schema(bound: str) -> WithJsonSchema:
    """What a length looks like to an editor: a number, or text with its unit."""
    said = "A number in the file's units, or a length with its unit, such as '12.5 mm', '3/8 in' or '1 1/4 in'."
    return WithJsonSchema({"anyOf": [{"type": "number", bound: 0}, {"type": "string"}], "description": said})


Length = Annotated[float, BeforeValidator(_in_mm), Field(gt=0), _as_schema("exclusiveMinimum")]
"""Millimetres, above 0."""

LengthOrZero = Annotated[float, BeforeValidator(_in_mm), Field(ge=0), _as_schema("minimum")]
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
        else f"{Decimal(repr(value)):f} in"
        if key in columns and type(value) in (int, float) and value > 0
        else value
        for key, value in row.items()
    }
