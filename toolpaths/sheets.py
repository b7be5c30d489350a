"""Paper to print on, and a full-size drawing laid over as many sheets of it as it takes.

A sheet has its zero at its lower left corner, in millimetres, X right, Y up. Round the window, through which a sheet
shows its part of a drawing, lie a heading, a check bar at the left and one below. Windows of neighbours overlap.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from itertools import accumulate
from typing import Final

from toolpaths.errors import UnknownName
from toolpaths.geometry.segment import XY, Bounds
from toolpaths.units import INCH, Units, plain

MARGIN: Final = 10.0
"""Bare paper all round, mm: most printers cannot reach the edge (common practice)."""

OVERLAP: Final = 10.0
"""So much of a drawing is on both of two neighbours, mm."""

HEAD: Final = 18.0
FOOT: Final = 15.0
SIDE: Final = 9.0
"""Height of the heading, height of the strip below the window and width of the one at its left, mm."""

LEAST_SIDE: Final = 208.0
"""A sheet with a shorter side has no room for the check bars and the words beside them, mm."""

OFF_CENTRE: Final = 7
"""Two sheets, or four, would meet at a drawing's own centre line, where crosses are hard to see: so far off it, mm."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright: ``width`` and ``height`` in mm, and where that is said."""

    name: str
    width: float
    height: float
    source: str


PAPERS: Final = (
    Paper("A4", 210.0, 297.0, "ISO 216 (from memory)"),
    Paper("A3", 297.0, 420.0, "ISO 216 (from memory)"),
    Paper("Letter", 8.5 * INCH, 11 * INCH, "ANSI/ASME Y14.1 size A (from memory)"),
    Paper("Legal", 8.5 * INCH, 14 * INCH, "common practice"),
)


def paper_called(name: str, units: Units) -> Paper:
    """The paper of that name, capitals or not; without one A4 for a job in mm and Letter for one in inches.

    Raises UnknownName with the nearest name, or all of them.
    """
    wanted = name or ("Letter" if units == "in" else "A4")
    known = {paper.name.lower(): paper for paper in PAPERS}
    if wanted.lower() in known:
        return known[wanted.lower()]
    near = get_close_matches(wanted.lower(), known, n=1)
    remedy = f"did you mean {known[near[0]].name}?" if near else f"known are {', '.join(one.name for one in PAPERS)}"
    raise UnknownName(f"no paper is called {name!r}; {remedy}")


def pen_sheet(paper: Paper | None, reach: XY | None) -> Paper | None:
    """What a pen draws on: the paper that was named, where it is known no larger than a plotter's ``reach`` (mm).

    Either way round. None where neither is known: nobody said what it is drawn on.
    """
    if reach is None:
        return paper
    short, long = sorted(reach)
    size = f"{plain(long)} x {plain(short)} mm"
    if paper is None:
        return Paper(size, short, long, "the reach of the pen")
    if paper.width <= short and paper.height <= long:
        return paper
    return Paper(f"{paper.name} within {size}", min(paper.width, short), min(paper.height, long), paper.source)


def true_size(paper: Paper, x: float, y: float) -> Paper:
    """How much of a true drawing goes on upright paper, where all of it is scaled by ``x`` and ``y``."""
    return replace(paper, width=paper.width / x, height=paper.height / y)


def fits(bounds: Bounds, paper: Paper) -> bool:
    """Whether a drawing lies on one sheet, upright or on its side."""
    wide, high = bounds[2] - bounds[0], bounds[3] - bounds[1]
    return any(wide <= across and high <= up for across, up in _ways(paper))


def holds_bars(paper: Paper) -> bool:
    """Whether both check bars, and what is said beside them, find room on a sheet either way round."""
    return min(paper.width, paper.height) >= LEAST_SIDE


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet of a tiling: its place from the left and from the top, and the part of the drawing that it shows.

    ``area`` is as large as the sheet's window, in the drawing's coordinates.
    """

    column: int
    row: int
    area: Bounds


@dataclass(frozen=True, slots=True)
class Tiling:
    """A drawing over sheets of ``width`` by ``height`` mm: ``columns`` by ``rows`` tiles, from the upper left on."""

    width: float
    height: float
    columns: int
    rows: int
    tiles: tuple[Tile, ...]

    @property
    def window(self) -> Bounds:
        """Where on its sheet a tile shows its part, mm."""
        return MARGIN + SIDE, MARGIN + FOOT, self.width - MARGIN, self.height - MARGIN - HEAD

    def to_sheet(self, tile: Tile, point: XY) -> XY:
        """A point of the drawing as it lies on the sheet of ``tile``: moved, never scaled."""
        left, low, *_ = tile.area
        right, up, *_ = self.window
        return point[0] - left + right, point[1] - low + up

    def crosses(self, tile: Tile) -> list[XY]:
        """The points in a tile's corners that a neighbour shows as well, in the drawing's coordinates."""
        x0, y0, x1, y1 = tile.area
        inset = OVERLAP / 2
        found: list[XY] = []
        for x, across in ((x0 + inset, -1), (x1 - inset, 1)):
            for y, down in ((y1 - inset, -1), (y0 + inset, 1)):
                beside = 0 <= tile.column + across < self.columns
                above_or_below = 0 <= tile.row + down < self.rows
                if beside or above_or_below:
                    found.append((x, y))
        return found


def tiled(bounds: Bounds, paper: Paper, whole: Sequence[Bounds] = ()) -> Tiling:
    """``bounds`` of a drawing over the fewest sheets; upright ones where both ways take as many.

    Where the sheets have room to spare they lie so that as few as may be of the boxes ``whole`` are cut apart, that is,
    are on none of two neighbours as a whole; else the drawing lies about in their middle.
    """
    upright, lying = (_laid(bounds, *size, whole) for size in _ways(paper))
    return lying if len(lying.tiles) < len(upright.tiles) else upright


def room(paper: Paper) -> XY:
    """Width and height of the window of an upright sheet, mm: what is no larger needs one sheet."""
    return paper.width - 2 * MARGIN - SIDE, paper.height - 2 * MARGIN - HEAD - FOOT


def _ways(paper: Paper) -> tuple[XY, XY]:
    return (paper.width, paper.height), (paper.height, paper.width)


def _laid(bounds: Bounds, width: float, height: float, whole: Sequence[Bounds]) -> Tiling:
    wide, high = width - 2 * MARGIN - SIDE, height - 2 * MARGIN - HEAD - FOOT
    x0, y0, x1, y1 = bounds
    columns, rows = _count(x1 - x0, wide), _count(y1 - y0, high)
    left = _begin(x0, x1, wide, columns, [(box[0], box[2]) for box in whole])
    top = _begin(y0, y1, high, rows, [(box[1], box[3]) for box in whole]) + _reach(rows, high)
    tiles = []
    for row in range(rows):
        for column in range(columns):
            x, y = left + column * (wide - OVERLAP), top - row * (high - OVERLAP)
            tiles.append(Tile(column, row, (x, y - high, x + wide, y)))
    return Tiling(width, height, columns, rows, tuple(tiles))


def _begin(low: float, high: float, window: float, count: int, spans: Sequence[XY]) -> float:
    """Where so many windows begin on one axis to cover ``low`` to ``high``; tried in steps of 1 mm.

    A span is cut apart where one window ends before it does, and the next begins after it has begun.
    """
    spare = _reach(count, window) - (high - low)
    middle = low - spare / 2
    steps = math.floor(spare / 2)
    if count == 1 or steps < 1:
        return middle
    first = middle - steps
    cut = [0] * (2 * steps + 2)
    for (begin, end), many in Counter(spans).items():  # holes in a column have the same
        for seam in range(1, count):
            shift = seam * (window - OVERLAP) + first
            start = max(0, math.floor(begin - shift) + 1)
            stop = min(2 * steps + 1, math.ceil(end - OVERLAP - shift))
            if start < stop:
                cut[start] += many
                cut[stop] -= many
    costs = list(accumulate(cut[:-1]))
    wanted = steps + (min(steps, OFF_CENTRE) if count % 2 == 0 else 0)
    best = min(range(len(costs)), key=lambda step: (costs[step], abs(step - wanted)))
    return first + best


def _count(length: float, window: float) -> int:
    """Windows in a row that cover ``length`` mm."""
    return max(1, math.ceil((length - OVERLAP) / (window - OVERLAP) - 1e-9))


def _reach(count: int, window: float) -> float:
    """What so many windows in a row cover, mm."""
    return count * window - (count - 1) * OVERLAP
