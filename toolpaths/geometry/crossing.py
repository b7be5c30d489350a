"""Where two segments meet, and how far a point is from one: exact, in closed form."""

from __future__ import annotations

import math
from typing import Final

from toolpaths.geometry.segment import TURN, XY, Arc, Line, Segment
from toolpaths.tolerance import SAME_POINT

NODE: Final = SAME_POINT / 4
"""Meeting points of one chain that lie this close are one: four such slips stay within SAME_POINT."""

TOUCH: Final = SAME_POINT / 20
"""A line or circle this far from touching another touches it: at one point, not at two or at none."""

_PARALLEL: Final = 1e-12
"""Sine of the angle below which two lines never cross within 10 m."""


def distance_to(segment: Segment, point: XY) -> float:
    """Shortest distance from ``point`` to the segment, mm."""
    return _to_line(segment, point) if isinstance(segment, Line) else _to_arc(segment, point)


def along(segment: Segment, point: XY) -> float | None:
    """How far along the segment a point of its line or circle lies, mm; None where that is beyond its ends."""
    if isinstance(segment, Line):
        length = segment.length
        tx, ty = segment.tangent_at(0.0)
        distance = (point[0] - segment.start[0]) * tx + (point[1] - segment.start[1]) * ty
    else:
        radius = segment.radius
        length = radius * segment.sweep
        distance = _along_circle(segment, radius, point)
        if radius * TURN - distance < NODE:
            distance = 0.0
    if not -NODE <= distance <= length + NODE:
        return None
    return min(max(distance, 0.0), length)


def crossings(a: Segment, b: Segment) -> list[XY]:
    """Points where the segments cross or touch; and ends that lie on the other segment."""
    if isinstance(a, Line):
        points = _line_line(a, b) if isinstance(b, Line) else _line_circle(a, b)
    else:
        points = _line_circle(b, a) if isinstance(b, Line) else _circle_circle(a, b)
    found = [point for point in points if along(a, point) is not None and along(b, point) is not None]
    found += [point for point in (b.start, b.end) if distance_to(a, point) <= NODE]
    found += [point for point in (a.start, a.end) if distance_to(b, point) <= NODE]
    return found


def _to_line(line: Line, point: XY) -> float:
    (sx, sy), (ex, ey), (px, py) = line.start, line.end, point
    dx, dy, vx, vy = ex - sx, ey - sy, px - sx, py - sy
    square = dx * dx + dy * dy
    part = vx * dx + vy * dy
    if part <= 0:
        return math.hypot(vx, vy)
    if part >= square:
        return math.hypot(px - ex, py - ey)
    return abs(vx * dy - vy * dx) / math.sqrt(square)


def _to_arc(arc: Arc, point: XY) -> float:
    if _faces(arc, point):
        return abs(math.dist(point, arc.centre) - arc.radius)
    return min(math.dist(point, arc.start), math.dist(point, arc.end))


def _faces(arc: Arc, point: XY) -> bool:
    """True where the ray from the centre through ``point`` meets the arc."""
    if arc.is_circle:
        return True
    (cx, cy), first, last = arc.centre, arc.start, arc.end
    if not arc.ccw:
        first, last = last, first
    sx, sy, ex, ey, px, py = first[0] - cx, first[1] - cy, last[0] - cx, last[1] - cy, point[0] - cx, point[1] - cy
    after_start, before_end = sx * py - sy * px >= 0, px * ey - py * ex >= 0
    if sx * ey - sy * ex >= 0:
        return after_start and before_end
    return after_start or before_end


def _along_circle(arc: Arc, radius: float, point: XY) -> float:
    cx, cy = arc.centre
    sx, sy, px, py = arc.start[0] - cx, arc.start[1] - cy, point[0] - cx, point[1] - cy
    turn = math.atan2(sx * py - sy * px, sx * px + sy * py)
    return radius * ((turn if arc.ccw else -turn) % TURN)


def _line_line(a: Line, b: Line) -> list[XY]:
    ax, ay = a.tangent_at(0.0)
    bx, by = b.tangent_at(0.0)
    sine = ax * by - ay * bx
    if abs(sine) < _PARALLEL:
        return []
    distance = ((b.start[0] - a.start[0]) * by - (b.start[1] - a.start[1]) * bx) / sine
    return [(a.start[0] + distance * ax, a.start[1] + distance * ay)]


def _line_circle(line: Line, arc: Arc) -> list[XY]:
    tx, ty = line.tangent_at(0.0)
    vx, vy = arc.centre[0] - line.start[0], arc.centre[1] - line.start[1]
    foot, height, radius = vx * tx + vy * ty, abs(vx * ty - vy * tx), arc.radius
    if abs(radius - height) <= TOUCH:
        distances = [foot]
    elif height > radius:
        return []
    else:
        half = math.sqrt((radius - height) * (radius + height))
        distances = [foot - half, foot + half]
    return [(line.start[0] + d * tx, line.start[1] + d * ty) for d in distances]


def _circle_circle(a: Arc, b: Arc) -> list[XY]:
    dx, dy = b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]
    apart, ra, rb = math.hypot(dx, dy), a.radius, b.radius
    if apart + abs(ra - rb) <= NODE:
        return []
    outside, inside = apart - (ra + rb), abs(ra - rb) - apart
    if outside > TOUCH or inside > TOUCH:
        return []
    ux, uy = dx / apart, dy / apart
    if abs(outside) <= TOUCH:
        foot, half = ra, 0.0
    elif abs(inside) <= TOUCH:
        foot, half = (ra if ra > rb else -ra), 0.0
    else:
        foot = (apart + (ra - rb) * (ra + rb) / apart) / 2
        half = math.sqrt(max(0.0, (ra - foot) * (ra + foot)))
    x, y = a.centre[0] + foot * ux, a.centre[1] + foot * uy
    if half == 0.0:
        return [(x, y)]
    return [(x - half * uy, y + half * ux), (x + half * uy, y - half * ux)]
