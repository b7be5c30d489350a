"""Where to touch off Z: a place on the bare sheet, clear of everything, the nearest such to the program's zero."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from toolpaths.geometry.segment import XY
from toolpaths.layout.panel import Clamp, Opening, Rectangle
from toolpaths.tolerance import TOUCH_OFF_CLEARANCE

_PLACES: Final = 400
"""The most places along the longer side; on a larger panel they stand several steps apart."""

_FINE: Final = 200
"""Places along the longer side where none is free at whole steps: 1.3 mm apart on a panel of 260 mm."""

_MARGIN: Final = 1e-6
"""mm; a place that is exactly at the clearance would fail a later check by rounding."""


def touch_off(
    stock: Rectangle, corner_radius: float, openings: Sequence[Opening], clamps: Sequence[Clamp], zero: XY, nut: float,
    edge_is_cut: bool = False, step: float = 1.0, engraved: Sequence[Rectangle] = (),
) -> XY | None:
    """A point of the sheet at least 5 mm from openings and clamps, in panel coordinates (mm).

    It lies whole steps from the zero wherever it can, for it is dialled in by hand. It keeps 5 mm from the sheet's edge
    as well, and the collet nut's radius from clamps, where there is such a place.

    Args:
        stock: the sheet.
        corner_radius: of the sheet's corners.
        zero: of several places the one nearest to this point is taken.
        nut: the collet nut's radius.
        edge_is_cut: the sheet's edge is machined, and counts as a feature.
        step: what the operator likes to dial in, mm.
        engraved: boxes of what is engraved, which lies lower than the sheet when Z is set again.

    Returns:
        None where no place is free.
    """
    least_edge = TOUCH_OFF_CLEARANCE if edge_is_cut else 0.5
    for edge, from_clamps in ((TOUCH_OFF_CLEARANCE, TOUCH_OFF_CLEARANCE + nut), (least_edge, TOUCH_OFF_CLEARANCE)):
        inner = (stock[0] + edge, stock[1] + edge, stock[2] - edge, stock[3] - edge)
        for grid in (_Grid(*_whole_steps(inner, zero, step)), _Grid(*_fine_steps(inner))):
            if grid.is_empty:
                continue
            grid.keep_in_corners(stock, corner_radius, edge)
            for clamp in clamps:
                grid.block_box(clamp.area, from_clamps + _MARGIN)
            for opening in openings:
                grid.block_opening(opening, TOUCH_OFF_CLEARANCE + _MARGIN)
            for box in engraved:
                grid.block_box(box, TOUCH_OFF_CLEARANCE + _MARGIN)
            if (place := grid.nearest(zero)) is not None:
                return place
    return None


def _whole_steps(inner: Rectangle, zero: XY, step: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places a whole number of steps from the zero."""
    x0, y0, x1, y1 = inner
    step *= max(1, math.ceil(max(x1 - x0, y1 - y0) / step / _PLACES))

    def along(low: float, high: float, middle: float) -> NDArray[np.float64]:
        first, last = math.ceil((low - middle) / step - _MARGIN), math.floor((high - middle) / step + _MARGIN)
        return np.asarray(middle + step * np.arange(first, last + 1), dtype=np.float64)

    return along(x0, x1, zero[0]), along(y0, y1, zero[1])


def _fine_steps(inner: Rectangle) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    x0, y0, x1, y1 = inner
    if x1 < x0 or y1 < y0:
        return np.zeros(0), np.zeros(0)
    step = max(x1 - x0, y1 - y0, 1e-3) / _FINE
    xs, ys = (np.linspace(a, b, max(2, round((b - a) / step) + 1)) for a, b in ((x0, x1), (y0, y1)))
    return np.asarray(xs, dtype=np.float64), np.asarray(ys, dtype=np.float64)


class _Grid:
    """Places on the sheet, in columns and rows, and which of them are free."""

    def __init__(self, xs: NDArray[np.float64], ys: NDArray[np.float64]) -> None:
        self.xs, self.ys = xs, ys
        self.is_empty = not (len(xs) and len(ys))
        self.free: NDArray[np.bool_] = np.ones((len(ys), len(xs)), dtype=bool)

    def keep_in_corners(self, stock: Rectangle, radius: float, edge: float) -> None:
        """Nothing beyond the rounded corners of the sheet."""
        if radius <= edge:
            return
        x0, y0, x1, y1 = stock
        past_x = np.maximum(np.abs(self.xs - (x0 + x1) / 2) - ((x1 - x0) / 2 - radius), 0.0)
        past_y = np.maximum(np.abs(self.ys - (y0 + y1) / 2) - ((y1 - y0) / 2 - radius), 0.0)
        self.free &= np.hypot(past_x[None, :], past_y[:, None]) <= radius - edge

    def block_box(self, box: Rectangle, clearance: float) -> None:
        """Nothing in a box or nearer to it than ``clearance`` (its corners squared off)."""
        self.free[self.window(box, clearance)] = False

    def block_opening(self, opening: Opening, clearance: float) -> None:
        """Nothing in an opening or nearer to it than ``clearance``; one that is not round counts as its box."""
        if opening.diameter is None:
            self.block_box(opening.shape.bounds, clearance)
            return
        (x, y), radius = opening.centre, opening.diameter / 2
        rows, columns = self.window((x - radius, y - radius, x + radius, y + radius), clearance)
        away = np.hypot(self.xs[columns][None, :] - x, self.ys[rows][:, None] - y)
        self.free[rows, columns] &= away >= radius + clearance

    def window(self, box: Rectangle, clearance: float) -> tuple[slice, slice]:
        """Rows and columns of the places within a box grown by ``clearance``."""
        x0, y0, x1, y1 = box
        columns = np.searchsorted(self.xs, (x0 - clearance, x1 + clearance))
        rows = np.searchsorted(self.ys, (y0 - clearance, y1 + clearance))
        return slice(int(rows[0]), int(rows[1])), slice(int(columns[0]), int(columns[1]))

    def nearest(self, point: XY) -> XY | None:
        """The free place nearest to a point; of two equally near ones the lower, then the one to the left."""
        rows, columns = np.nonzero(self.free)
        if not len(rows):
            return None
        away = np.hypot(self.xs[columns] - point[0], self.ys[rows] - point[1])
        # argmin gives the first of equals, and places are listed from the lower left
        best = int(np.argmin(np.round(away, 6)))
        x, y = float(self.xs[columns[best]]), float(self.ys[rows[best]])
        assert math.isfinite(x + y)
        return x, y
