"""Near neighbours among many places, by way of a square grid."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from toolpaths.geometry.segment import XY

PER_CELL = 2.0
"""Places to a cell where they lie evenly."""

CROWDED = 24
"""Cells are halved while one holds more: places that crowd in one corner would all be looked at for each of them."""

ROUNDING = 1.1e-6
"""mm; lengths further apart than this differ when they are rounded to a millionth."""

HALVINGS = 6
"""At most so often: places that coincide are parted by no grid."""


def near_places(places: Sequence[XY], count: int) -> list[list[tuple[int, float]]]:
    """For every place the ``count`` nearest others (fewer where there are not so many) with their distances.

    The nearest come first, equally near ones by their number.

    >>> near_places([(0.0, 0.0), (3.0, 4.0), (1.0, 0.0)], 2)[0]
    [(2, 1.0), (1, 5.0)]
    """
    if len(places) <= count + 1:
        everyone = range(len(places))
        return [_ranked(places, everyone, index, count) for index in everyone]
    cells, side = _grid(places)
    return [_nearest(places, cells, side, index, count) for index in range(len(places))]


Cells = dict[tuple[int, int], list[int]]


def _grid(places: Sequence[XY]) -> tuple[Cells, float]:
    xs, ys = [x for x, _ in places], [y for _, y in places]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    side = max(math.sqrt(wide * high * PER_CELL / len(places)), max(wide, high) / len(places)) or 1.0
    cells = _cells(places, side)
    for _ in range(HALVINGS):
        if max(map(len, cells.values())) <= CROWDED:
            break
        side /= 2
        cells = _cells(places, side)
    return cells, side


def _cells(places: Sequence[XY], side: float) -> Cells:
    cells: Cells = defaultdict(list)
    for index, (x, y) in enumerate(places):
        cells[math.floor(x / side), math.floor(y / side)].append(index)
    return dict(cells)


def _nearest(places: Sequence[XY], cells: Cells, side: float, index: int, count: int) -> list[tuple[int, float]]:
    """Wider and wider squares of cells; what lies outside one of ``ring`` cells is farther than that many sides."""
    x, y = places[index]
    column, row = math.floor(x / side), math.floor(y / side)
    ring = 1
    while True:
        seen: list[int] = []
        for i in range(column - ring, column + ring + 1):
            for j in range(row - ring, row + ring + 1):
                seen += cells.get((i, j), ())
        if len(seen) > count:
            ranked = _ranked(places, seen, index, count)
            if ranked[-1][1] <= ring * side:
                return ranked
        if len(seen) == len(places):
            return _ranked(places, seen, index, count)
        ring *= 2


def _ranked(places: Sequence[XY], seen: Sequence[int], index: int, count: int) -> list[tuple[int, float]]:
    here, dist = places[index], math.dist
    ranked = sorted([(dist(places[other], here), other) for other in seen if other != index])
    return [(other, gap) for gap, other in ranked[:count]]


class Waiting:
    """Places that wait, to be asked for the nearest and taken away one after the other."""

    def __init__(self, places: Sequence[XY]) -> None:
        self.places = places
        self.cells, self.side = _grid(places)

    def remove(self, index: int) -> None:
        """Takes a place away; it must be waiting."""
        cell = self._cell(self.places[index])
        self.cells[cell].remove(index)
        if not self.cells[cell]:
            del self.cells[cell]

    def nearest(self, here: XY) -> int:
        """The nearest that waits, of equally near ones (to a millionth of a mm) the first; one must be left."""
        column, row = self._cell(here)
        ring = 1
        while (2 * ring + 1) ** 2 < len(self.cells):
            around = [
                index
                for i in range(column - ring, column + ring + 1)
                for j in range(row - ring, row + ring + 1)
                for index in self.cells.get((i, j), ())
            ]
            if around:
                gap, index = self._first(around, here)
                if gap < ring * self.side:
                    return index
            ring *= 2
        return self._first([index for cell in self.cells.values() for index in cell], here)[1]

    def _first(self, among: Sequence[int], here: XY) -> tuple[float, int]:
        dist, places = math.dist, self.places
        gaps = [dist(places[index], here) for index in among]
        least = min(gaps)
        within = least + ROUNDING  # rounding is slow, and decides among the nearest alone
        return min([(round(gap, 6), index) for gap, index in zip(gaps, among, strict=True) if gap <= within])

    def _cell(self, place: XY) -> tuple[int, int]:
        return math.floor(place[0] / self.side), math.floor(place[1] / self.side)
