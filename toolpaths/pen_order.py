"""The marks of a drawing in an order in which the pen travels little: pen by pen, and nothing drawn otherwise.

A stroke may be drawn from either end and a closed chain from any of its corners, but not where the pen's line is
broken: there the dashes would lie elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from toolpaths.drawing import Chain, Drawing, Mark, Pen, Polyline
from toolpaths.geometry.segment import XY
from toolpaths.plan.tour import Way, tour

MOST_STARTS = 4
"""Corners of a closed chain that are tried."""

MOVES = 0
"""No kicks: they would shorten the way by some 3 % more in three times the time, and a pen is quick in the air."""


def short_way(drawing: Drawing) -> Drawing:
    """The same drawing with the marks of each pen in a short order, from the paper's upper left corner on.

    Pens park in that corner of the paper (common practice); each pen goes on where the one before it ended.
    """
    place: XY = (drawing.bounds[0], drawing.bounds[3])
    pens: list[Pen] = []
    for pen in drawing.pens:
        marks = _ordered(pen, place)
        pens.append(replace(pen, marks=marks))
        place = _last(marks[-1]) if marks else place
    return replace(drawing, pens=tuple(pens))


def lifted_way(marks: Sequence[Mark], start: XY) -> float:
    """How far the pen travels above the paper, from ``start`` on to the last of the marks, mm."""
    total = 0.0
    for mark in marks:
        total += math.dist(start, _first(mark))
        start = _last(mark)
    return total


def _ordered(pen: Pen, start: XY) -> tuple[Mark, ...]:
    choices = [[mark] if pen.dash else _alike(mark) for mark in pen.marks]
    stops = [[Way(_first(mark), _last(mark)) for mark in alike] for alike in choices]
    taken = tour(stops, start, moves=MOVES)
    found = tuple(choices[stop][way] for stop, way in taken)
    return min(found, pen.marks, key=lambda marks: round(lifted_way(marks, start), 6))


def _alike(mark: Mark) -> list[Mark]:
    """A mark and others that leave the same line: the other way round, or begun at another corner."""
    if isinstance(mark, Polyline):
        return [mark, Polyline(mark.points[::-1])]
    if not mark.closed:
        return [mark, Chain(tuple(segment.reversed() for segment in reversed(mark.segments)), False)]
    count = len(mark.segments)
    corners = sorted({count * share // MOST_STARTS for share in range(MOST_STARTS)})
    return [Chain((*mark.segments[corner:], *mark.segments[:corner]), True) for corner in corners]


def _first(mark: Mark) -> XY:
    return mark.points[0] if isinstance(mark, Polyline) else mark.segments[0].start


def _last(mark: Mark) -> XY:
    return mark.points[-1] if isinstance(mark, Polyline) else mark.segments[-1].end
