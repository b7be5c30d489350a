"""A drawing divided over sheets for a pen: each sheet is a drawing of its own, which is written like any other.

The strokes are cut where a sheet's window ends. Nothing is moved: the paper of a sheet, its ``bounds``, lies where it
belongs in the coordinates of the whole.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from toolpaths.clipping import bounds_of, inside
from toolpaths.drawing import LETTERING, NARROW, Chain, Drawing, Mark, Pen, Polyline
from toolpaths.framing import Numbered, framed
from toolpaths.geometry.segment import XY, Bounds
from toolpaths.sheets import Paper, Tile, Tiling, tiled


def tiling_of(drawing: Drawing, paper: Paper) -> Tiling:
    """The drawing over the fewest sheets, laid so that few of its shapes are cut apart.

    Strokes of lettering are small enough for an overlap.
    """
    shapes = [
        (x0 - pen.width / 2, y0 - pen.width / 2, x1 + pen.width / 2, y1 + pen.width / 2)
        for pen in drawing.pens for mark in pen.marks if isinstance(mark, Chain)
        for x0, y0, x1, y1 in [bounds_of(mark)]
    ]  # fmt: skip
    return tiled(drawing.bounds, paper, shapes)


def sheets_of(drawings: Sequence[Drawing], paper: Paper) -> list[list[Drawing]]:
    """The sheets of each drawing, numbered through: what their windows show, and round it what every sheet has."""
    laid = [(drawing, tiling_of(drawing, paper)) for drawing in drawings]
    total = sum(len(tiling.tiles) for _, tiling in laid)
    numbers = count(1)
    found = []
    for drawing, tiling in laid:
        run = [next(numbers) for _ in tiling.tiles]
        found.append([
            _sheet(drawing, tiling, tile, Numbered(number, total, run[0], "sheet"))
            for tile, number in zip(tiling.tiles, run, strict=True)
        ])  # fmt: skip
    return found


def _sheet(drawing: Drawing, tiling: Tiling, tile: Tile, place: Numbered) -> Drawing:
    left, low = tile.area[0] - tiling.window[0], tile.area[1] - tiling.window[1]
    frame = framed(drawing, tiling, tile, place)
    strokes = [stroke for words in frame.words for stroke in words.strokes()]
    pens = [replace(pen, marks=_shown(pen.marks, tile.area)) for pen in drawing.pens]
    for pen in (
        Pen("sheet frame", NARROW, (), tuple(moved(mark, (left, low)) for mark in frame.lines)),
        Pen("sheet lettering", LETTERING, (), tuple(moved(mark, (left, low)) for mark in [*strokes, *frame.outline])),
    ):
        pens.insert(next((k for k, other in enumerate(pens) if other.width > pen.width), len(pens)), pen)
    paper: Bounds = left, low, left + tiling.width, low + tiling.height
    named = f"{drawing.panel}, {place.called} {place.number} of {place.count}"
    return replace(drawing, panel=named, bounds=paper, pens=tuple(pen for pen in pens if pen.marks))


def _shown(marks: Sequence[Mark], window: Bounds) -> tuple[Mark, ...]:
    return tuple(part for mark in marks for part in inside(mark, window))


def moved(mark: Mark, by: XY) -> Mark:
    """A mark somewhere else."""
    def move(point: XY) -> XY:
        return point[0] + by[0], point[1] + by[1]

    if isinstance(mark, Polyline):
        return Polyline(tuple(map(move, mark.points)))
    return Chain(tuple(segment.mapped(move) for segment in mark.segments), mark.closed)
