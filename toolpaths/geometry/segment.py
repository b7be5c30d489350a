"""The two pieces every shape is made of: a straight line and a circular arc. Millimetres and radians."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from toolpaths.errors import GeometryError
from toolpaths.tolerance import SAME_POINT

XY = tuple[float, float]
"""A point or a direction in the plane."""

Bounds = tuple[float, float, float, float]
"""x0, y0, x1, y1 with x0 <= x1 and y0 <= y1."""

TURN = 2 * math.pi


def turned(centre: XY, point: XY, angle: float) -> XY:
    """``point``, measured from ``centre``, turned counter-clockwise by ``angle`` rad about it.

    >>> turned((1.0, 1.0), (2.0, 0.0), 0.0)
    (3.0, 1.0)
    """
    cosine, sine = math.cos(angle), math.sin(angle)
    x, y = point
    return centre[0] + cosine * x - sine * y, centre[1] + sine * x + cosine * y


@dataclass(frozen=True, slots=True)
class Line:
    """A straight piece from ``start`` to ``end``."""

    start: XY
    end: XY

    @property
    def length(self) -> float:
        """Length, mm."""
        return math.dist(self.start, self.end)

    def point_at(self, distance: float) -> XY:
        """The point ``distance`` mm from the start; the ends beyond them."""
        length = self.length
        if distance <= 0:
            return self.start
        if distance >= length:
            return self.end
        part = distance / length
        (sx, sy), (ex, ey) = self.start, self.end
        return sx + part * (ex - sx), sy + part * (ey - sy)

    def tangent_at(self, distance: float) -> XY:
        """Unit direction of travel, the same everywhere; (1, 0) for a line without length."""
        length = self.length
        if length == 0:
            return 1.0, 0.0
        return (self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length

    def reversed(self) -> Line:
        """The same piece travelled the other way."""
        return Line(self.end, self.start)

    def cut(self, d0: float, d1: float) -> Line:
        """The part between two lengths from the start, mm; GeometryError where nothing lies between them."""
        _something_between(d0, d1)
        return Line(self.point_at(d0), self.point_at(d1))

    @property
    def bounds(self) -> Bounds:
        """x0, y0, x1, y1."""
        (sx, sy), (ex, ey) = self.start, self.end
        return min(sx, ex), min(sy, ey), max(sx, ex), max(sy, ey)

    def mapped(self, function: Callable[[XY], XY], flips: bool = False) -> Line:
        """The image under a motion of the plane (a rotation, shift or mirror; ``flips`` where it mirrors)."""
        return Line(function(self.start), function(self.end))


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular piece about ``centre``, counter-clockwise where ``ccw``; ``start`` equal to ``end``: the full circle.

    >>> round(Arc((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), ccw=True).length, 6)
    1.570796
    >>> round(Arc((1.0, 0.0), (1.0, 0.0), (0.0, 0.0), ccw=False).length, 6)
    6.283185
    """

    start: XY
    end: XY
    centre: XY
    ccw: bool

    @property
    def radius(self) -> float:
        """Distance of the start from the centre, mm."""
        return math.dist(self.start, self.centre)

    @property
    def sweep(self) -> float:
        """The turn from start to end in radians, always positive; 2 pi for the full circle."""
        if self.start == self.end:
            return TURN
        cx, cy = self.centre
        sx, sy = self.start[0] - cx, self.start[1] - cy
        ex, ey = self.end[0] - cx, self.end[1] - cy
        turn = math.atan2(sx * ey - sy * ex, sx * ex + sy * ey)
        return (turn if self.ccw else -turn) % TURN

    @property
    def is_circle(self) -> bool:
        """True for a full circle."""
        return self.start == self.end

    @property
    def length(self) -> float:
        """Length along the arc, mm."""
        return self.radius * self.sweep

    def point_at(self, distance: float) -> XY:
        """The point ``distance`` mm along the arc from the start; the ends beyond them."""
        if distance <= 0:
            return self.start
        if distance >= self.length:
            return self.end
        cx, cy = self.centre
        turn = self._turn_at(distance)
        cosine, sine = math.cos(turn), math.sin(turn)
        x, y = self.start[0] - cx, self.start[1] - cy
        return cx + cosine * x - sine * y, cy + sine * x + cosine * y

    def tangent_at(self, distance: float) -> XY:
        """Unit direction of travel ``distance`` mm along the arc."""
        x, y = self.point_at(distance)
        rx, ry = x - self.centre[0], y - self.centre[1]
        radius = math.hypot(rx, ry)
        if radius == 0:
            return 1.0, 0.0
        return (-ry / radius, rx / radius) if self.ccw else (ry / radius, -rx / radius)

    def reversed(self) -> Arc:
        """The same piece travelled the other way."""
        return Arc(self.end, self.start, self.centre, not self.ccw)

    def cut(self, d0: float, d1: float) -> Arc:
        """The part between two lengths along the arc, mm; GeometryError where nothing lies between them."""
        _something_between(d0, d1)
        return Arc(self.point_at(d0), self.point_at(d1), self.centre, self.ccw)

    @property
    def bounds(self) -> Bounds:
        """x0, y0, x1, y1 of the piece (not of its whole circle)."""
        (sx, sy), (ex, ey), (cx, cy) = self.start, self.end, self.centre
        radius = self.radius
        if self.is_circle:
            return cx - radius, cy - radius, cx + radius, cy + radius
        x0, y0, x1, y1 = min(sx, ex), min(sy, ey), max(sx, ex), max(sy, ey)
        if self.passes(0.0):
            x1 = cx + radius
        if self.passes(TURN / 4):
            y1 = cy + radius
        if self.passes(TURN / 2):
            x0 = cx - radius
        if self.passes(3 * TURN / 4):
            y0 = cy - radius
        return x0, y0, x1, y1

    def passes(self, angle: float) -> bool:
        """True where the arc runs through the direction ``angle`` (radians from +x) of its centre."""
        begin = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        turn = (angle - begin if self.ccw else begin - angle) % TURN
        return turn <= self.sweep

    def mapped(self, function: Callable[[XY], XY], flips: bool = False) -> Arc:
        """The image under a motion of the plane (a rotation, shift or mirror; ``flips`` where it mirrors)."""
        return Arc(function(self.start), function(self.end), function(self.centre), self.ccw != flips)

    def _turn_at(self, distance: float) -> float:
        turn = distance / self.radius
        return turn if self.ccw else -turn


Segment = Line | Arc


def _something_between(d0: float, d1: float) -> None:
    if d1 - d0 < SAME_POINT:
        raise GeometryError(f"no length between {d0:g} and {d1:g} mm: the second must be the greater")
