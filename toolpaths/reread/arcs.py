"""The centre of an arc in the XY plane, from I and J or from R (section 3.5.3 of RS274/NGC)."""

from __future__ import annotations

import math

from toolpaths.errors import RereadError
from toolpaths.reread.state import State
from toolpaths.stroke import Point

RADIUS_TOLERANCE = {"mm": 0.002, "in": 0.0002 * 25.4}
"""Start and end radius of an arc may differ by this, mm (3.5.3.2), by the text's units."""


def centre_from_offsets(state: State, line: int, end: Point, i: float, j: float) -> tuple[float, float]:
    """Centre format (3.5.3.2): I and J (mm) are increments from the start, whatever the distance mode."""
    x, y, _ = state.position
    centre = (x + i, y + j)
    start_radius, end_radius = math.hypot(i, j), math.hypot(end[0] - centre[0], end[1] - centre[1])
    if start_radius == 0:
        raise RereadError(line, "an arc of radius 0")
    if abs(start_radius - end_radius) > _radius_tolerance(state) + 1e-9:  # of a float's own rounding
        raise RereadError(
            line, f"the arc begins at radius {start_radius:.4f} mm and ends at {end_radius:.4f} mm (3.5.3.2)"
        )
    if centre != state.centre:
        state.centre = centre
    return state.centre  # turns of a helix share theirs: a long program of bored holes takes a sixth less room


def centre_from_radius(state: State, line: int, end: Point, radius: float, ccw: bool) -> tuple[float, float]:
    """Radius format (3.5.3.1): R (mm) above 0 turns at most half a circle, below 0 at least half."""
    (sx, sy, _), (ex, ey, _) = state.position, end
    chord = math.hypot(ex - sx, ey - sy)
    if chord == 0:
        raise RereadError(line, "an arc with R that ends where it began (3.5.3.1)")
    if chord / 2 > abs(radius) + _radius_tolerance(state):
        raise RereadError(line, f"R is too small: the ends lie {chord:.4f} mm apart")
    height = math.sqrt(max(0.0, radius * radius - chord * chord / 4))
    # The centre lies left of the way from start to end for a short anticlockwise turn or a long clockwise one.
    side = height if ccw == (radius > 0) else -height
    return (sx + ex) / 2 - side * (ey - sy) / chord, (sy + ey) / 2 + side * (ex - sx) / chord


def _radius_tolerance(state: State) -> float:
    return RADIUS_TOLERANCE[state.units or "mm"]
