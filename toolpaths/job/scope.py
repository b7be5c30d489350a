"""The values of a job's expressions: lengths to mm, angles to radians, each within its limits.

A value in error is noted and carried on as ``nan``: the job is thrown away in the end, and no second message comes
of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

from toolpaths.errors import ExpressionError, UnknownName
from toolpaths.job.expression import DRILL_SIZE, Quantity, Unresolved, evaluate
from toolpaths.job.problems import Problems
from toolpaths.tables import load as tables
from toolpaths.tables.toml_file import Place
from toolpaths.units import Units, plain, said, told_apart

LARGEST_SIDE: Final = 10_000.0
"""mm; also the furthest that anything may lie from the origin."""

LEAST_SIZE: Final = 0.01
"""mm; nothing smaller can be made or measured in a shop."""

Names = Mapping[str, Quantity | None]
Wanted = Literal["any", "positive", "not negative"]


@dataclass(frozen=True, slots=True)
class Scope:
    """Where expressions are evaluated: the names known there, and what a bare number means."""

    problems: Problems
    names: Names
    units: Units

    def knowing(self, name: str, length: float) -> Scope:
        """The same with one more name; a length in error is known as having no value."""
        value = None if math.isnan(length) else Quantity(length, True)
        return replace(self, names={**self.names, name: value})

    def quantity(self, raw: float | str, place: Place) -> Quantity | None:
        """The value of an expression or drill size, or None where it has none: the problem is then noted."""
        if isinstance(raw, float):
            return None if math.isnan(raw) else Quantity(raw, False)
        try:
            return quantity_of(raw, self.names, self.units)
        except Unresolved:
            return None
        except (ExpressionError, UnknownName) as error:
            self.problems.add(place, str(error))
            return None

    def length(
        self, raw: float | str, place: Place, wanted: Wanted = "any", least: float = LEAST_SIZE
    ) -> float:
        """A length in mm within the limits; ``nan`` where there is none."""
        quantity = self.quantity(raw, place)
        if quantity is None:
            return math.nan
        value = quantity.as_length(self.units)
        refused = out_of_limits(value, wanted, self.units, least)
        return value if refused is None else self.refused(place, *refused)

    def number(self, raw: float | str, place: Place) -> float:
        """A plain number; ``nan`` where there is none."""
        quantity = self.quantity(raw, place)
        if quantity is None:
            return math.nan
        if quantity.is_length:
            return self.refused(place, "is a length", "it must come to a plain number")
        return quantity.value

    def count(self, raw: float | str, place: Place, least: int = 1, why: str = "") -> int:
        """A whole number from ``least`` on, with the reason for it where there is one; ``least`` where in error."""
        value = self.number(raw, place)
        if math.isnan(value):
            return least
        if value != round(value) or value < least:
            must = f"it must be a whole number, {least} or more"
            self.problems.add(place, f"is {plain(value)}", f"{must}: {why}" if why else must)
            return least
        return round(value)

    def angle(self, raw: float | str, place: Place) -> float:
        """Degrees in the file, radians here, within one turn."""
        return math.radians(math.fmod(self.number(raw, place), 360.0))

    def point(self, raw: tuple[float | str, float | str], place: Place) -> tuple[float, float]:
        """An x and a y in mm."""
        return self.length(raw[0], (*place, 0)), self.length(raw[1], (*place, 1))

    def refused(self, place: Place, message: str, remedy: str) -> float:
        """Notes the problem and gives ``nan``."""
        self.problems.add(place, message, remedy)
        return math.nan

    def said(self, value: float) -> str:
        """A length in the job's units."""
        return said(value, self.units)

    def said_apart(self, value: float, limit: float) -> tuple[str, str]:
        """A length and the limit that it is beyond, so that they differ."""
        return told_apart(value, limit, self.said, self.units)


def out_of_limits(
    value: float, wanted: Wanted, units: Units, least: float = LEAST_SIZE
) -> tuple[str, str] | None:
    """What is wrong with a length in mm and what would be right, or None where it is within the limits."""
    if wanted == "positive" and value < least:
        return f"is {said(value, units)}", f"it must be at least {said(least, units)}"
    if wanted == "not negative" and value < 0:
        return f"is {said(value, units)}", "it must not be negative"
    if abs(value) > LARGEST_SIDE:
        return f"is {said(value, units)}", "nothing may be larger or further off than 10 m"
    return None


def quantity_of(text: str, names: Names, units: Units) -> Quantity:
    """The value of a text: a drill size (``#7``, ``letter F``) or an expression."""
    if DRILL_SIZE.fullmatch(text.strip()):
        name = text.strip()
        tidy = f"#{name[1:].strip()}" if name[0] == "#" else f"letter {name[-1].upper()}"
        return Quantity(tables.drill_size(tidy), True)
    return evaluate(text, names, units)
