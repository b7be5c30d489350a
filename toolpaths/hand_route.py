"""How a large opening is made by hand, as geometry: the holes that are drilled, and the lines that are sawn between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, TypeGuard

from toolpaths.geometry.contour import SHARP_TURN, Contour
from toolpaths.geometry.judge import inside
from toolpaths.geometry.offset import offset
from toolpaths.geometry.segment import XY, Arc, Line, Segment
from toolpaths.geometry.shapes import circle
from toolpaths.tolerance import LEAST_CORNER

SAW_OFF: Final = 1.0
"""A saw keeps this far inside the line, mm: the rest is filed (common practice)."""

DRILLED_CORNER: Final = 12.5
"""The largest radius of a corner that one drills, mm: step drills and small hole saws end near 25 mm (common practice).
"""

START_HOLE: Final = 6.0
"""Diameter of the hole through which a saw blade goes in, mm, where nobody says what the blade wants (common practice).
"""

APART: Final = 0.4
"""Between two drilled holes, mm: nearer ones let the drill run off into its neighbour (common practice)."""

ROUTED_FROM: Final = 60.0
"""A round opening over this is cut with a router on a pin, in board; a smaller one with a hole saw, mm (common
practice)."""


@dataclass(frozen=True, slots=True)
class Route:
    """``corners``: centre and radius of each hole in a rounded corner, of the corner's own radius. ``starts``: the
    middles of the holes through which the blade goes in. ``saw``: the lines to saw along. All mm."""

    corners: tuple[tuple[XY, float], ...]
    starts: tuple[XY, ...]
    saw: tuple[Segment, ...]


def route(shape: Contour, start_hole: float = START_HOLE) -> Route:
    """The way round a shape through the sheet; a sharp corner has a start hole that touches both saw lines.

    A shape without corners has one start hole beside its longest piece, and one that no saw line fits into has none.
    """
    corners = tuple((arc.centre, arc.radius) for arc in shape.segments if _is_drilled(arc, 0.0))
    starts: list[XY] = []
    saw: list[Segment] = []
    radius = start_hole / 2
    for inner in offset(shape, -SAW_OFF):
        found = [_start_hole(*pair, radius) for pair in pairwise((inner.segments[-1], *inner.segments))]
        for at in found:
            # a hole that ran into its neighbour would let the drill wander: the blade turns there instead
            clear = at is not None and all(math.dist(at, other) >= start_hole + APART for other in starts)
            if at is not None and clear and inside(circle(at, start_hole), shape):
                starts.append(at)
        if not corners and not starts:
            beside = _beside(max(inner.segments, key=lambda piece: piece.length), radius)
            # a key or a slot may be too narrow for the blade, and is filed then
            starts += [beside] if inside(circle(beside, start_hole), shape) else []
        saw += [piece for piece in inner.segments if not _is_drilled(piece, SAW_OFF)]
    return Route(corners, tuple(starts), tuple(saw))


def is_routed(diameter: float | None, depth: float | None, family: str) -> bool:
    """Whether a round opening is one that a router on a pin cuts."""
    return family == "board" and depth is None and diameter is not None and diameter > ROUTED_FROM


def _is_drilled(piece: Segment, within: float) -> TypeGuard[Arc]:
    """Whether a piece that lies so far inside an opening's wall is part of a corner that one drill makes, mm."""
    if not isinstance(piece, Arc) or not piece.ccw or piece.is_circle or piece.sweep < LEAST_CORNER:
        return False
    return SAW_OFF < piece.radius + within <= DRILLED_CORNER


def _start_hole(before: Segment, after: Segment, radius: float) -> XY | None:
    """The middle of the hole that touches both saw lines in a sharp corner; None where there is no such corner."""
    if not (isinstance(before, Line) and isinstance(after, Line)):
        return None
    (ax, ay), (bx, by) = before.tangent_at(0.0), after.tangent_at(0.0)
    if math.atan2(ax * by - ay * bx, ax * bx + ay * by) <= SHARP_TURN:
        return None
    share = radius / (1 + ax * bx + ay * by)
    return after.start[0] - share * (ay + by), after.start[1] + share * (ax + bx)


def _beside(piece: Segment, radius: float) -> XY:
    """The middle of a start hole that touches the middle of a saw line from inside."""
    (x, y), (along, up) = piece.point_at(piece.length / 2), piece.tangent_at(piece.length / 2)
    return x - radius * up, y + radius * along
