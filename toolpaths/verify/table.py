"""All moves as columns of numbers, one row a move: what is asked of every move is asked of all of them at once.

It serves to pass over in one step what certainly does no harm; whatever may do some is looked at move by move.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from toolpaths.stroke import Stroke
from toolpaths.tolerance import ROUNDING_MM

SKIN = ROUNDING_MM
"""A tip less than this below the top of the sheet has not begun to cut: it is the rounding of the text."""


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of ``n`` moves; mm in program coordinates, nan where a coordinate is not known.

    ``start`` and ``end`` are (n, 3), ``centre`` is (n, 2) and nan for a straight move. ``low`` and ``high`` are the
    lowest and highest known Z of the tip (inf and -inf where none is), ``placed`` is False while X or Y is not known.
    ``box`` is (n, 4): x0, y0, x1, y1 round the path of the cutter's centre, to within float error.
    """

    start: Any
    end: Any
    centre: Any
    ccw: Any
    cuts: Any
    """Whether it is fed, and no rapid."""
    low: Any
    high: Any
    placed: Any
    box: Any

    @classmethod
    def of(cls, strokes: Sequence[Stroke]) -> Table:
        """The columns of some strokes."""
        unknown = (math.nan, math.nan)
        start = np.array([stroke.start for stroke in strokes], dtype=float).reshape(-1, 3)
        end = np.array([stroke.end for stroke in strokes], dtype=float).reshape(-1, 3)
        centre = np.array([stroke.centre or unknown for stroke in strokes], dtype=float).reshape(-1, 2)
        ccw = np.array([stroke.ccw for stroke in strokes], dtype=bool)
        cuts = np.array([stroke.kind == "cut" for stroke in strokes], dtype=bool)
        low, high = np.fmin(start[:, 2], end[:, 2]), np.fmax(start[:, 2], end[:, 2])
        return cls(
            start, end, centre, ccw, cuts,
            np.where(np.isnan(low), math.inf, low),
            np.where(np.isnan(high), -math.inf, high),
            ~np.isnan(start[:, :2]).any(axis=1) & ~np.isnan(end[:, :2]).any(axis=1),
            _boxes(start[:, :2], end[:, :2], centre, ccw),
        )  # fmt: skip

    @property
    def in_sheet(self) -> Any:
        """Whether the tip goes below the top of the sheet."""
        return self.low < -SKIN

    @property
    def upright(self) -> Any:
        """Whether it moves in Z alone."""
        across = np.hypot(*(self.end[:, :2] - self.start[:, :2]).T)
        return np.isnan(self.centre[:, 0]) & (across < ROUNDING_MM / 10)


    def comes_near(self, area: tuple[float, float, float, float], top: float, widths: Any) -> Any:
        """Whether what is ``widths`` wide about each path comes below ``top`` and to a rectangle x0, y0, x1, y1."""
        x0, y0, x1, y1 = area
        return (
            self.placed & (self.low < top)
            & (self.box[:, 0] - widths < x1) & (self.box[:, 2] + widths > x0)
            & (self.box[:, 1] - widths < y1) & (self.box[:, 3] + widths > y0)
        )  # fmt: skip


def _boxes(start: Any, end: Any, centre: Any, ccw: Any) -> Any:
    """Round the ends, and on an arc round those of its four outermost points that it passes."""
    boxes = np.hstack((np.minimum(start, end), np.maximum(start, end)))
    arcs = np.flatnonzero(~np.isnan(centre[:, 0]))
    if not len(arcs):
        return boxes
    from_centre, to = start[arcs] - centre[arcs], end[arcs] - centre[arcs]
    # A text rounds start, end and centre apart, so the two radii may differ.
    radius = np.maximum(np.hypot(*from_centre.T), np.hypot(*to.T))
    turn = np.where(ccw[arcs], 1.0, -1.0)
    first = np.arctan2(from_centre[:, 1], from_centre[:, 0])
    sweep = (turn * (np.arctan2(to[:, 1], to[:, 0]) - first)) % (2 * math.pi)
    closed = np.hypot(*(end[arcs] - start[arcs]).T) < 1e-9
    sweep = np.where(closed, 2 * math.pi, sweep)
    for quarter, (column, side) in enumerate(((2, 1.0), (3, 1.0), (0, -1.0), (1, -1.0))):
        passed = (turn * (quarter * math.pi / 2 - first)) % (2 * math.pi)
        reached = (passed <= sweep + 1e-9) | (passed >= 2 * math.pi - 1e-9)
        outermost = centre[arcs, column % 2] + side * radius
        further = np.fmax if side > 0 else np.fmin
        boxes[arcs, column] = np.where(reached, further(boxes[arcs, column], outermost), boxes[arcs, column])
    return boxes
