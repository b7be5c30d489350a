"""Many equal openings, as in a vent: how papers tell of them without a row, a tag or a cross for each.

Every hole still has its row in the drilling schedule's CSV. Lengths are mm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from toolpaths.drawing import Polyline
from toolpaths.geometry.segment import XY, Bounds
from toolpaths.units import Units, said

CROWD: Final = 200
"""More equal openings than this are told of together, and their crosses drawn as lines through rows: a pen draws
thousands of crosses for hours, and nobody reads as many rows."""

SAME_ROW: Final = 6
"""Decimals of a mm to which places in one row agree: far finer than any grid is laid."""


@dataclass(frozen=True, slots=True)
class Lattice:
    """How holes stand in columns and rows: how many of each, how far apart, and by how much every second row is
    shifted across (0: not at all)."""

    columns: int
    rows: int
    across: float
    up: float
    shifted: float = 0.0

    def words(self, units: Units) -> str:
        """As one says it.

        >>> Lattice(40, 25, 6.0, 6.0).words("mm"), Lattice(4, 3, 12.7, 25.4, 6.35).words("in")
        ('40 x 25, 6 mm apart', '4 x 3, 1/2 in across and 1 in up, every second row 1/4 in aside')
        """
        across, up = said(round(self.across, 4), units), said(round(self.up, 4), units)
        apart = f"{across} apart" if across == up else f"{across} across and {up} up"
        aside = f", every second row {said(round(abs(self.shifted), 4), units)} aside" if self.shifted else ""
        return f"{self.columns} x {self.rows}, {apart}{aside}"


def lattice(places: Sequence[XY]) -> Lattice | None:
    """The columns and rows in which places stand, row by row from either end; None where they stand otherwise.

    >>> lattice([(0.0, 0.0), (5.0, 0.0), (0.0, 8.0), (5.0, 8.0)])
    Lattice(columns=2, rows=2, across=5.0, up=8.0, shifted=0.0)
    >>> lattice([(0.0, 0.0), (5.0, 0.0), (0.0, 8.0), (5.0, 9.0)])
    """
    by_row: defaultdict[float, list[float]] = defaultdict(list)
    for x, y in places:
        by_row[round(y, SAME_ROW) + 0.0].append(round(x, SAME_ROW) + 0.0)
    heights, rows = sorted(by_row), [sorted(by_row[y]) for y in sorted(by_row)]
    count = len(rows[0]) if rows else 0
    if len(rows) < 2 or count < 2 or any(len(row) != count for row in rows):
        return None
    across, up = (rows[0][-1] - rows[0][0]) / (count - 1), (heights[-1] - heights[0]) / (len(rows) - 1)
    shifted = rows[1][0] - rows[0][0]
    slack = 2 * 10.0**-SAME_ROW
    for index, (y, row) in enumerate(zip(heights, rows, strict=True)):
        left = rows[0][0] + (shifted if index % 2 else 0.0)
        if abs(y - heights[0] - index * up) > slack or across <= slack or any(
            abs(x - left - column * across) > slack for column, x in enumerate(row)
        ):
            return None
    return Lattice(count, len(rows), round(across, SAME_ROW), round(up, SAME_ROW), round(shifted, SAME_ROW) + 0.0)


def rows_of_crosses(crosses: Iterable[tuple[XY, Bounds]]) -> list[Polyline]:
    """Crosses, each with its centre and the box round its arms, as level and upright lines.

    Those of one row are one line where the next begins no farther off than a cross is long: the pen is lifted less.
    """
    level: defaultdict[float, list[tuple[float, float, float]]] = defaultdict(list)
    upright: defaultdict[float, list[tuple[float, float, float]]] = defaultdict(list)
    for (x, y), (x0, y0, x1, y1) in crosses:
        level[round(y, SAME_ROW)].append((x0, x1, y))
        upright[round(x, SAME_ROW)].append((y0, y1, x))
    lines = [Polyline(((low, y), (high, y))) for row in level.values() for low, high, y in _joined(row)]
    return lines + [Polyline(((x, low), (x, high))) for row in upright.values() for low, high, x in _joined(row)]


def _joined(stretches: Iterable[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """Stretches of one line, from where to where and where the line lies; those that lie near as one."""
    found: list[tuple[float, float, float]] = []
    for low, high, at in sorted(stretches):
        if found and low - found[-1][1] <= high - low:
            found[-1] = found[-1][0], max(high, found[-1][1]), found[-1][2]
        else:
            found.append((low, high, at))
    return found
