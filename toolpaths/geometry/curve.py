"""Curves that are neither lines nor arcs: parts of ellipses, and Bezier curves. ``biarc`` follows them with arcs.

Each has a parameter that runs over ``span``, a point and a direction of travel at every value of it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from toolpaths.errors import GeometryError
from toolpaths.geometry.segment import XY

_NEAR: float = 1e-4
"""Share of the span: where a curve stands still at a point, its direction is that to a point so far along."""


@dataclass(frozen=True, slots=True)
class Ellipse:
    """``centre`` + ``u`` cos t + ``v`` sin t, for t of ``span`` in rad; ``u`` and ``v`` need not be square."""

    centre: XY
    u: XY
    v: XY
    span: tuple[float, float]

    def point(self, t: float) -> XY:
        """Where it is at ``t``."""
        cosine, sine = math.cos(t), math.sin(t)
        (cx, cy), (ux, uy), (vx, vy) = self.centre, self.u, self.v
        return cx + ux * cosine + vx * sine, cy + uy * cosine + vy * sine

    def direction(self, t: float) -> XY:
        """Unit direction of travel at ``t``; GeometryError where both axes lie on one line and it turns back."""
        cosine, sine = math.cos(t), math.sin(t)
        (ux, uy), (vx, vy) = self.u, self.v
        return _unit((vx * cosine - ux * sine, vy * cosine - uy * sine))


@dataclass(frozen=True, slots=True)
class Bezier:
    """A rational Bezier curve of any degree: control ``points`` with ``weights`` above 0; t runs from 0 to 1."""

    points: tuple[XY, ...]
    weights: tuple[float, ...]

    @property
    def span(self) -> tuple[float, float]:
        """Where its parameter begins and ends."""
        return 0.0, 1.0

    def point(self, t: float) -> XY:
        """Where it is at ``t``, by de Casteljau's rule.

        >>> Bezier(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), (1.0, 1.0, 1.0)).point(0.5)
        (0.75, 0.25)
        """
        (ax, ay, aw), (bx, by, bw) = self._last_two(t)
        x, y, w = (1 - t) * ax + t * bx, (1 - t) * ay + t * by, (1 - t) * aw + t * bw
        return x / w, y / w

    def direction(self, t: float) -> XY:
        """Unit direction of travel at ``t``: of the last two points of de Casteljau's rule.

        Where those are one, it is the direction to, or from, a point a little inside.
        """
        (ax, ay, aw), (bx, by, bw) = self._last_two(t)
        way = bx / bw - ax / aw, by / bw - ay / aw
        if math.hypot(*way) > 1e-9 * self._size():
            return _unit(way)
        (sx, sy), (ex, ey) = (
            (self.point(t), self.point(t + _NEAR)) if t + _NEAR <= 1.0 else (self.point(t - _NEAR), self.point(t))
        )
        return _unit((ex - sx, ey - sy))

    def _size(self) -> float:
        xs, ys = [x for x, _ in self.points], [y for _, y in self.points]
        return max(max(xs) - min(xs), max(ys) - min(ys))

    def _last_two(self, t: float) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        row = [(x * w, y * w, w) for (x, y), w in zip(self.points, self.weights, strict=True)]
        while len(row) > 2:
            row = [
                ((1 - t) * ax + t * bx, (1 - t) * ay + t * by, (1 - t) * aw + t * bw)
                for (ax, ay, aw), (bx, by, bw) in pairwise(row)
            ]
        return row[0], row[1]


Curve = Ellipse | Bezier


def beziers(points: Sequence[XY], weights: Sequence[float], knots: Sequence[float], degree: int) -> list[Bezier]:
    """A B-spline as the Bezier curves that it is made of, one for each span of its knots that has a length.

    The control points of a span are the blossom of its curve at the span's ends (L. Ramshaw, "Blossoms are polar
    forms", 1989). Raises GeometryError where the figures make no curve.

    >>> [len(one.points) for one in beziers([(0, 0), (1, 0), (1, 1), (2, 1)], [], [0, 0, 0, 1, 2, 2, 2], 2)]
    [3, 3]
    """
    count = len(points)
    if degree < 1 or count <= degree:
        raise GeometryError(f"{count} control points are too few for degree {degree}")
    if len(knots) != count + degree + 1:
        raise GeometryError(f"{len(knots)} knots; {count} control points of degree {degree} have {count + degree + 1}")
    if any(b < a for a, b in pairwise(knots)):
        raise GeometryError("its knots do not rise")
    heavy = list(weights) or [1.0] * count
    if len(heavy) != count or min(heavy) <= 0:
        raise GeometryError("its weights are not one above 0 for each control point")
    weighted = [(x * w, y * w, w) for (x, y), w in zip(points, heavy, strict=True)]
    found = []
    for span in range(degree, count):
        begin, end = knots[span], knots[span + 1]
        if end - begin <= 1e-12 * max(abs(knots[0]), abs(knots[-1]), 1e-300):
            continue
        made = [
            _blossom(weighted, knots, degree, span, [begin] * (degree - ends) + [end] * ends)
            for ends in range(degree + 1)
        ]
        found.append(Bezier(tuple((x / w, y / w) for x, y, w in made), tuple(w for _, _, w in made)))
    if not found:
        raise GeometryError("it has no length")
    return found


def _blossom(
    points: Sequence[tuple[float, float, float]], knots: Sequence[float], degree: int, span: int, at: Sequence[float]
) -> tuple[float, float, float]:
    """de Boor's rule with another value at each step."""
    row = list(points[span - degree : span + 1])
    for step, value in enumerate(at, start=1):
        for place in range(degree, step - 1, -1):
            low, high = knots[span - degree + place], knots[span + 1 + place - step]
            part = (value - low) / (high - low)
            before, here = row[place - 1], row[place]
            row[place] = (
                (1 - part) * before[0] + part * here[0],
                (1 - part) * before[1] + part * here[1],
                (1 - part) * before[2] + part * here[2],
            )
    return row[degree]


def _unit(way: XY) -> XY:
    length = math.hypot(*way)
    if not 0 < length < math.inf:
        raise GeometryError("the curve stands still")
    return way[0] / length, way[1] / length
