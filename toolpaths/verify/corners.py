"""What may stay in sharp inside corners: corner by corner, the figure between both walls and a disc that touches them.

The disc has the largest radius that the design allows, and less where a wall between two corners is too short for two
such discs, or the opening too narrow for one: no cutter that goes in there leaves more than its own radius.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import shapely

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import Arc, Line, Segment
from toolpaths.tolerance import BORE_RATIO, PIECE
from toolpaths.verify import overlay
from toolpaths.verify.swept import disc, facet_angle, pieces

BLUNT = 0.05
"""Radians; a corner that turns less keeps less than PIECE of any cutter in use: r (1/cos(turn/2) - 1)."""


OVER = PIECE / 100
"""The disc is taken larger by this, so that along a wall which it touches nothing is left between: no two corners are
then joined by a hair."""


@dataclass(frozen=True, slots=True)
class _Corner:
    """A sharp corner with the walls before and after it; ``angle`` is between them, on the open side."""

    point: tuple[float, float]
    angle: float
    before: Segment
    after: Segment

    @property
    def slope(self) -> float:
        """Tangent length over radius, between straight walls: cot(angle / 2)."""
        return 1 / math.tan(self.angle / 2)


def sharp_corner_remains(contour: Contour | None, area: Any, limit: float) -> list[Any]:
    """What may stay of ``area`` (the opening), less PIECE along its walls, in its sharp inside corners.

    ``limit`` is the largest radius that may stay. A corner of stated radius keeps nothing.
    """
    if contour is None or limit <= 0:
        return []
    corners = [corner for corner in _corners(contour) if corner is not None]
    if not corners:
        return []
    inscribed = float(shapely.maximum_inscribed_circle(area, PIECE / 10).length)
    most = min(limit, inscribed / BORE_RATIO)
    found = []
    for corner, radius in zip(corners, _radii(contour, most), strict=True):
        figure = _figure(corner, corners, radius)
        if figure is None:
            continue
        # where the opening widens beside the corner, the disc comes nearer to it
        left = overlay.difference(figure, _rolled(area, radius))
        found += [shapely.buffer(part, PIECE / 10, quad_segs=2) for part in pieces(left)]
    return found


def _corners(contour: Contour) -> Iterator[_Corner | None]:
    """For each segment the sharp inside corner at its start, or None."""
    turns = dict(contour.corners())
    begin = 0.0
    for index, segment in enumerate(contour.segments):
        turn = next((turn for at, turn in turns.items() if abs(at - begin) < PIECE / 1000), 0.0)
        before = contour.segments[index - 1]
        yield _Corner(segment.start, math.pi - turn, before, segment) if turn > BLUNT else None
        begin += segment.length


def _radii(contour: Contour, most: float) -> list[float]:
    """The radius for each sharp corner: where two share a straight wall, their discs must both touch it."""
    corners = list(_corners(contour))
    radii = []
    for index, corner in enumerate(corners):
        if corner is None:
            continue
        radius = most
        for wall, other in ((corner.before, corners[index - 1]), (corner.after, corners[(index + 1) % len(corners)])):
            if other is not None and isinstance(wall, Line):
                radius = min(radius, wall.length / (corner.slope + other.slope))
        radii.append(radius)
    return radii


def _figure(corner: _Corner, corners: list[_Corner], radius: float) -> Any | None:
    """Between both walls, run on beyond their ends, and the disc that touches them PIECE off; None where none does."""
    wedge = _wedge(corner, 2 * radius * (corner.slope + 1) + 1.0)
    inner = shapely.buffer(wedge, -PIECE, quad_segs=16)
    tip = shapely.Point(corner.point)
    reach = 1.05 * PIECE / math.sin(corner.angle / 2) + PIECE
    for part in pieces(overlay.difference(inner, _rolled(wedge, radius))):
        if shapely.distance(part, tip) <= reach:
            others = [other for other in corners if other is not corner]
            alone = all(shapely.distance(part, shapely.Point(other.point)) > PIECE for other in others)
            return part if alone else None
    return None


def _rolled(area: Any, radius: float) -> Any:
    """What a disc covers that stays PIECE off the walls of an area."""
    quarter = math.ceil(math.pi / 2 / facet_angle(radius + PIECE))
    centres = shapely.buffer(area, -radius - PIECE, quad_segs=quarter)
    return shapely.buffer(centres, radius + OVER, quad_segs=quarter)


def _wedge(corner: _Corner, size: float) -> Any:
    """All that lies on the open side of both walls within ``size`` of the corner, as if nothing else were there."""
    x, y = corner.point
    box = shapely.box(x - size, y - size, x + size, y + size)
    both = overlay.intersection(_side(corner.before, box, size), _side(corner.after, box, size))
    return min(pieces(both), key=lambda part: shapely.distance(part, shapely.Point(x, y)), default=shapely.Polygon())


def _side(wall: Segment, box: Any, size: float) -> Any:
    """The part of the box on a wall's left: beside a line, inside a hollow arc, outside an arc that sticks out."""
    if isinstance(wall, Arc):
        round_part = disc(wall.centre, wall.radius)
        return overlay.intersection(box, round_part) if wall.ccw else overlay.difference(box, round_part)
    (x, y), (tx, ty) = wall.start, wall.tangent_at(0.0)
    far = 4 * size + wall.length
    ends = (x - far * tx, y - far * ty), (x + far * tx, y + far * ty)
    beside = [(ex - far * ty, ey + far * tx) for ex, ey in ends[::-1]]
    return overlay.intersection(box, shapely.Polygon([*ends, *beside]))
