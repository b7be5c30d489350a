"""Polygons with sharp or rounded corners as exact contours, and what is wrong with those that cannot be."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import SHARP_TURN, Contour
from toolpaths.geometry.crossing import NODE, crossings
from toolpaths.geometry.segment import XY, Arc, Line, Segment
from toolpaths.tolerance import SAME_POINT

DOUBLED = 0.01
"""mm; two neighbouring points closer than this are one written twice."""

FOLD = 1e-6
"""Radians; sides that turn back this near to half a turn lie on one another."""


def polygon(
    points: Sequence[XY], corner_radius: float = 0.0, say: Callable[[float], str] = "{:g} mm".format
) -> Contour:
    """The counter-clockwise contour through ``points``, given either way round, every corner of ``corner_radius``.

    It begins on the side that leaves the first point. ``say`` puts a length in mm into words. GeometryError, naming
    points from 1: fewer than three, neighbours that are one, no area, sides that meet, a radius too large for a side.

    >>> len(polygon([(0.0, 0.0), (0.0, 10.0), (20.0, 10.0), (20.0, 0.0)], 2.0).segments)
    8
    """
    if len(points) < 3:
        raise GeometryError(f"a polygon of {len(points)} points; it takes three or more")
    _check_doubled(points, say)
    if _on_one_line(points):
        raise GeometryError("the points lie on one line and enclose no area")
    _check_folds(points)
    _check_crossings([Line(a, b) for a, b in _sides(points)])
    corners = _counter_clockwise(points)
    if corner_radius <= SAME_POINT:
        return Contour(tuple(Line(a, b) for a, b in _sides(corners)))
    _check_radius(points, corner_radius, say)
    return Contour(tuple(_rounded(corners, corner_radius)))


def corner_centres(points: Sequence[XY], corner_radius: float) -> list[XY]:
    """The centres of the arcs in a polygon's inside corners, or those corners where they are sharp, in order.

    Corners that point into the opening are left out: the centres of their arcs lie in what stays.
    """
    corners = _counter_clockwise(points)
    inside = [index for index, turn in enumerate(map(_turn, *_neighbours(corners))) if turn > SHARP_TURN]
    before, here, after = _neighbours(corners)
    return [_centre(before[i], here[i], after[i], corner_radius) for i in inside]


def _counter_clockwise(points: Sequence[XY]) -> list[XY]:
    """The points in that order, still beginning with the first."""
    return list(points) if _area(points) > 0 else [points[0], *points[:0:-1]]


def _sides(points: Sequence[XY]) -> Iterator[tuple[XY, XY]]:
    """Sides in order, the first from the first point."""
    return zip(points, [*points[1:], points[0]], strict=True)


def _neighbours(points: Sequence[XY]) -> tuple[list[XY], list[XY], list[XY]]:
    """For each point the one before it, itself, and the one after it."""
    return [points[-1], *points[:-1]], list(points), [*points[1:], points[0]]


def _area(points: Sequence[XY]) -> float:
    """Signed area, mm²: by the cross products from the first point (plane geometry)."""
    ox, oy = points[0]
    return sum((ax - ox) * (by - oy) - (ay - oy) * (bx - ox) for (ax, ay), (bx, by) in _sides(points)) / 2


def _on_one_line(points: Sequence[XY]) -> bool:
    """Whether no point stands off the line through the first and the one furthest from it."""
    (ox, oy), (fx, fy) = points[0], max(points, key=lambda point: math.dist(points[0], point))
    long = math.hypot(fx - ox, fy - oy)
    return all(abs((fx - ox) * (y - oy) - (fy - oy) * (x - ox)) <= SAME_POINT * long for x, y in points)


def _turn(before: XY, here: XY, after: XY) -> float:
    ax, ay, bx, by = here[0] - before[0], here[1] - before[1], after[0] - here[0], after[1] - here[1]
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _check_doubled(points: Sequence[XY], say: Callable[[float], str]) -> None:
    for index, (a, b) in enumerate(_sides(points), start=1):
        if math.dist(a, b) < DOUBLED:
            one, two = sorted((index, index % len(points) + 1))
            closing = "; the last point joins the first by itself" if (one, two) == (1, len(points)) else ""
            raise GeometryError(f"points {one} and {two} are closer than {say(DOUBLED)}{closing}")


def _check_folds(points: Sequence[XY]) -> None:
    for number, turn in enumerate(map(_turn, *_neighbours(points)), start=1):
        if math.pi - abs(turn) < FOLD:
            raise GeometryError(f"at point {number} the side turns back on itself")


def _check_crossings(sides: Sequence[Line]) -> None:
    count = len(sides)
    for (i, a), (j, b) in combinations(enumerate(sides), 2):
        if j - i in (1, count - 1) or _apart(a, b) or not crossings(a, b):
            continue
        one, two = (f"from point {k + 1} to point {(k + 1) % count + 1}" for k in (i, j))
        raise GeometryError(f"the side {one} meets the side {two}; give the points in order round the opening")


def _apart(a: Segment, b: Segment) -> bool:
    p, q = a.bounds, b.bounds
    return p[0] > q[2] + NODE or q[0] > p[2] + NODE or p[1] > q[3] + NODE or q[1] > p[3] + NODE


def _check_radius(points: Sequence[XY], radius: float, say: Callable[[float], str]) -> None:
    """Each side holds the tangents of the arcs at both its ends: r tan(turn / 2) from each corner (plane geometry)."""
    slopes = [math.tan(abs(turn) / 2) for turn in map(_turn, *_neighbours(points))]
    for index, (a, b) in enumerate(_sides(points)):
        following = (index + 1) % len(points)
        both, side = slopes[index] + slopes[following], math.dist(a, b)
        if radius * both > side + SAME_POINT:
            raise GeometryError(
                f"a corner radius of {say(radius)} is too large at points {index + 1} and {following + 1}: "
                f"the side between them, {say(side)} long, takes at most {say(math.floor(side / both * 1000) / 1000)}"
            )


def _rounded(corners: Sequence[XY], radius: float) -> Iterator[Segment]:
    """The side from each corner to the next, then the arc there: the first side leaves the first corner."""
    before, here, after = _neighbours(corners)
    arcs = [_arc(*corner, radius) for corner in zip(before, here, after, strict=True)]
    for index, arc in enumerate(arcs):
        following = (index + 1) % len(corners)
        start = corners[index] if arc is None else arc.end
        turning = arcs[following]
        end = corners[following] if turning is None else turning.start
        if math.dist(start, end) > SAME_POINT:
            yield Line(start, end)
        if turning is not None:
            yield turning


def _arc(before: XY, here: XY, after: XY, radius: float) -> Arc | None:
    """The arc that rounds a corner; None where the sides run on straight."""
    turn = _turn(before, here, after)
    if abs(turn) <= SHARP_TURN:
        return None
    reach = radius * math.tan(abs(turn) / 2)
    return Arc(
        _towards(here, before, reach), _towards(here, after, reach), _centre(before, here, after, radius), turn > 0
    )


def _centre(before: XY, here: XY, after: XY, radius: float) -> XY:
    turn = _turn(before, here, after)
    x, y = _towards(here, before, radius * math.tan(abs(turn) / 2))
    tx, ty = _direction(before, here)
    side = radius if turn > 0 else -radius
    return x - side * ty, y + side * tx


def _towards(start: XY, end: XY, length: float) -> XY:
    ux, uy = _direction(start, end)
    return start[0] + length * ux, start[1] + length * uy


def _direction(start: XY, end: XY) -> XY:
    length = math.dist(start, end)
    return (end[0] - start[0]) / length, (end[1] - start[1]) / length

