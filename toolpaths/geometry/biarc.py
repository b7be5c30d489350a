"""A curve followed by arcs that run into each other without a corner: biarcs (K. M. Bolton, "Biarc curves", 1975).

A biarc is two arcs with one tangent where they meet, between two points with given directions. A part of the curve that
one biarc does not follow closely enough is halved.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from toolpaths.errors import GeometryError
from toolpaths.geometry.crossing import distance_to
from toolpaths.geometry.curve import Curve, Ellipse
from toolpaths.geometry.segment import XY, Arc, Line, Segment
from toolpaths.tolerance import SAME_POINT, STRAIGHT_BOW, STRAIGHT_TURN

LOOKS: Final = 24
"""Points of a part of the curve at which its distance from the biarc is looked at."""

SHARE: Final = 0.95
"""Of the tolerance, that the distances seen may take: between two looks it may be a little more."""

MOST_HALVINGS: Final = 24
"""A part of a curve that is a ten millionth of it, and still not followed, is a cusp or worse."""

LEAST_PARTS: Final = 4
"""A curve is halved at least so often that each part turns by little: a quarter of an ellipse."""

LONGER: Final = 1.02
"""A biarc is at most this much longer than the way through the points looked at: else it took a loop."""


def arcs_along(curve: Curve, tolerance: float) -> list[Segment]:
    """Arcs and lines that follow ``curve`` within ``tolerance`` mm, each beginning in the direction in which the one
    before it ends; the first and last point and direction are the curve's own.

    Raises GeometryError where the curve stands still or turns back, so that it has no direction to follow.
    """
    begin, end = curve.span
    parts = LEAST_PARTS if isinstance(curve, Ellipse) else 1
    stops = [begin + (end - begin) * number / parts for number in range(parts + 1)]
    found: list[Segment] = []
    for start, stop in pairwise(stops):
        found += _followed(curve, start, stop, tolerance, 0)
    return found


def arc_or_line(start: XY, end: XY, centre: XY, ccw: bool) -> Segment:
    """An arc; or a line where it is so flat that nobody could tell it from one."""
    arc = Arc(start, end, centre, ccw)
    turn = arc.sweep
    return Line(start, end) if turn < STRAIGHT_TURN and arc.length * turn / 8 < STRAIGHT_BOW else arc


def _followed(curve: Curve, begin: float, end: float, tolerance: float, halvings: int) -> Iterator[Segment]:
    pieces = _biarc(curve.point(begin), curve.direction(begin), curve.point(end), curve.direction(end))
    if pieces and _is_close(curve, begin, end, pieces, SHARE * tolerance):
        yield from pieces
        return
    if halvings == MOST_HALVINGS:
        x, y = curve.point(begin)
        raise GeometryError(f"the curve turns back on itself at ({x:.4f}, {y:.4f})")
    middle = (begin + end) / 2
    yield from _followed(curve, begin, middle, tolerance, halvings + 1)
    yield from _followed(curve, middle, end, tolerance, halvings + 1)


def _is_close(curve: Curve, begin: float, end: float, pieces: list[Segment], within: float) -> bool:
    points = [curve.point(begin + (end - begin) * look / LOOKS) for look in range(LOOKS + 1)]
    way = sum(map(math.dist, points, points[1:]))
    if sum(piece.length for piece in pieces) > LONGER * way + within:
        return False
    return all(min(distance_to(piece, point) for piece in pieces) <= within for point in points[1:-1])


def _biarc(start: XY, leaving: XY, end: XY, arriving: XY) -> list[Segment]:
    """Two arcs from ``start`` to ``end`` that leave and arrive in these directions; empty where there are none.

    Of all such pairs it is the one whose joint has the same length of tangent to both ends.
    """
    vx, vy = end[0] - start[0], end[1] - start[1]
    square = vx * vx + vy * vy
    if square <= SAME_POINT**2:
        return []
    tx, ty = leaving[0] + arriving[0], leaving[1] + arriving[1]
    along = vx * tx + vy * ty
    rest = 2 * (1 - leaving[0] * arriving[0] - leaving[1] * arriving[1])
    root = math.sqrt(along * along + rest * square)
    # the positive root in the form that loses no digits where the directions are nearly one
    if along + root <= 0:
        return []
    reach = square / (along + root)
    joint = (
        (start[0] + end[0] + reach * (leaving[0] - arriving[0])) / 2,
        (start[1] + end[1] + reach * (leaving[1] - arriving[1])) / 2,
    )
    first = _arc_from(start, leaving, joint)
    second = _arc_from(end, (-arriving[0], -arriving[1]), joint)
    return [] if first is None or second is None else [first, second.reversed()]


def _arc_from(start: XY, leaving: XY, end: XY) -> Segment | None:
    """The arc that leaves ``start`` in a direction and goes through ``end``; None where that lies straight behind."""
    vx, vy = end[0] - start[0], end[1] - start[1]
    square = vx * vx + vy * vy
    if square <= SAME_POINT**2:
        return None
    side, ahead = leaving[0] * vy - leaving[1] * vx, leaving[0] * vx + leaving[1] * vy
    turn = 2 * math.atan2(abs(side), ahead)
    chord = math.sqrt(square)
    if turn < STRAIGHT_TURN and chord * turn / 8 < STRAIGHT_BOW:
        return Line(start, end)
    if turn > math.pi or side == 0:
        return None
    radius = square / (2 * side)  # positive where the centre lies to the left
    centre = start[0] - radius * leaving[1], start[1] + radius * leaving[0]
    return Arc(start, end, centre, side > 0)
