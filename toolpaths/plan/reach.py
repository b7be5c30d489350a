"""What a round cutter reaches of an opening: every wall along its length, but for the sharp corners it rolls into.

A cutter of radius r touches a wall where its centre, r off the wall, is nowhere nearer to another wall. Its path tells
that: each wall must be followed from the tangent point in the corner at its one end to that in the corner at the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.crossing import crossings
from toolpaths.geometry.offset import distance, distances, offset
from toolpaths.geometry.segment import TURN, XY, Arc, Line, Segment

SHORT: Final = 1e-3
"""mm; a wall of which less than this is not followed is followed: the step of a printed program."""

TOUCHES: Final = 1e-6
"""mm; a centre that is this much too near still touches."""

BARELY: Final = 0.01
"""mm; in a hollow this little larger than the cutter its path is a point rather than an arc."""

SMALLEST: Final = 0.05
"""mm; the radius of the thinnest cutter that anybody could ask for."""

_FAR: Final = 1e5
"""mm; a line this long stands for one without end."""


@dataclass(frozen=True, slots=True)
class Rolled:
    """A cutter in a sharp corner: its ``centre``, and how far from the corner it touches the walls before and after."""

    centre: XY
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Corner:
    """A sharp inside corner: its point and the walls that end and begin there; ``index`` is that of the latter."""

    point: XY
    before: Segment
    after: Segment
    index: int

    def left(self, radius: float) -> float:
        """From the corner to the cutter's arc, mm: r (1/sin(a/2) - 1) between straight walls at an angle a."""
        rolled = roll(self, radius)
        return math.inf if rolled is None else math.dist(rolled.centre, self.point) - radius


def inside_corners(shape: Contour) -> tuple[Corner, ...]:
    """The sharp corners of a counter-clockwise opening that a round cutter cannot fill."""
    turns = {round(at, 9) for at, turn in shape.corners() if turn > 0}
    found = []
    begin = 0.0
    for index, segment in enumerate(shape.segments):
        if round(begin, 9) in turns:
            found.append(Corner(segment.start, shape.segments[index - 1], segment, index))
        begin += segment.length
    return tuple(found)


def roll(corner: Corner, radius: float) -> Rolled | None:
    """The cutter that touches both walls of a corner, each run on beyond its end; None where no such cutter does."""
    one, two = _beside(corner.before, radius), _beside(corner.after, radius)
    if one is None or two is None:
        return None
    centre = min(crossings(one, two), key=lambda point: math.dist(point, corner.point), default=None)
    if centre is None:
        return None
    return Rolled(centre, _back(corner, centre), _ahead(corner, centre))


def reaches(shape: Contour, radius: float) -> bool:
    """Whether a cutter of ``radius`` follows every wall of a counter-clockwise opening, sharp corners aside."""
    paths = offset(shape, -radius)
    if not paths:
        return False
    spared = [0.0] * len(shape.segments)
    corners = inside_corners(shape)
    for corner in corners:
        rolled = roll(corner, radius)
        if rolled is None or distance(shape, rolled.centre) < radius - TOUCHES:
            return False
        spared[corner.index - 1] += rolled.before
        spared[corner.index] += rolled.after
    path = [segment for contour in paths for segment in contour.segments]
    between = {corner.index for corner in corners} & {(corner.index - 1) % len(spared) for corner in corners}
    if any(spared[index] > shape.segments[index].length + SHORT for index in between):
        return False  # a wall between two corners that the cutter nowhere touches
    return all(
        _followed(wall, path, shape, radius) >= wall.length - spare - SHORT
        for wall, spare in zip(shape.segments, spared, strict=True)
    )


@lru_cache(maxsize=256)
def largest_radius(shape: Contour, most: float) -> float:
    """The radius up to which cutters below ``most`` reach every part, to 0.005 mm; 0 where not even a hair does."""
    if not reaches(shape, SMALLEST):
        return 0.0
    low, high = SMALLEST, most
    while high - low > 0.005:
        middle = (low + high) / 2
        low, high = (middle, high) if reaches(shape, middle) else (low, middle)
    return low


def _beside(wall: Segment, radius: float) -> Segment | None:
    """Where the centre of a cutter lies that touches a wall, run on without end; None in too tight a hollow."""
    if isinstance(wall, Line):
        (x, y), (tx, ty) = wall.start, wall.tangent_at(0.0)
        x, y = x - ty * radius, y + tx * radius
        return Line((x - _FAR * tx, y - _FAR * ty), (x + _FAR * tx, y + _FAR * ty))
    path = wall.radius + (-radius if wall.ccw else radius)
    if path <= TOUCHES:
        return None
    start = (wall.centre[0] + path, wall.centre[1])
    return Arc(start, start, wall.centre, wall.ccw)


def _back(corner: Corner, centre: XY) -> float:
    """From the corner back along the wall before it to the point nearest to ``centre``."""
    wall = corner.before
    if isinstance(wall, Line):
        tx, ty = wall.tangent_at(0.0)
        return (corner.point[0] - centre[0]) * tx + (corner.point[1] - centre[1]) * ty
    return _turned(wall, centre, corner.point) * wall.radius


def _ahead(corner: Corner, centre: XY) -> float:
    wall = corner.after
    if isinstance(wall, Line):
        tx, ty = wall.tangent_at(0.0)
        return (centre[0] - corner.point[0]) * tx + (centre[1] - corner.point[1]) * ty
    return _turned(wall, corner.point, centre) * wall.radius


def _turned(wall: Arc, start: XY, end: XY) -> float:
    """The angle from one direction of an arc's centre to another, the way the arc runs: -pi to pi."""
    (cx, cy), (sx, sy), (ex, ey) = wall.centre, start, end
    sx, sy, ex, ey = sx - cx, sy - cy, ex - cx, ey - cy
    turn = math.atan2(sx * ey - sy * ex, sx * ex + sy * ey)
    return turn if wall.ccw else -turn


def _followed(wall: Segment, path: list[Segment], shape: Contour, radius: float) -> float:
    """How much of a wall the cutter touches on its path, mm along the wall."""
    if isinstance(wall, Line):
        return sum(_along_line(wall, part, radius) for part in path if isinstance(part, Line))
    centre_radius = wall.radius + (-radius if wall.ccw else radius)
    if centre_radius < BARELY:
        return wall.length if distance(shape, wall.centre) >= radius - TOUCHES else 0.0
    return sum(_along_arc(wall, part, centre_radius) for part in path if isinstance(part, Arc))


def _along_line(wall: Line, part: Line, radius: float) -> float:
    (x, y), (tx, ty) = wall.start, wall.tangent_at(0.0)
    places = []
    for px, py in (part.start, part.end):
        if abs((py - y) * tx - (px - x) * ty - radius) > TOUCHES:
            return 0.0
        places.append((px - x) * tx + (py - y) * ty)
    return max(0.0, min(places[1], wall.length) - max(places[0], 0.0))


def _along_arc(wall: Arc, part: Arc, centre_radius: float) -> float:
    if part.ccw != wall.ccw or math.dist(part.centre, wall.centre) > TOUCHES:
        return 0.0
    if abs(part.radius - centre_radius) > TOUCHES:
        return 0.0
    begin = 0.0 if wall.is_circle or part.is_circle else _turned(wall, wall.start, part.start) % TURN
    overlaps = (_shared(begin + turn, begin + turn + part.sweep, wall.sweep) for turn in (-TURN, 0.0))
    return wall.radius * (min(part.sweep, wall.sweep) if wall.is_circle or part.is_circle else sum(overlaps))


def _shared(start: float, end: float, length: float) -> float:
    return max(0.0, min(end, length) - max(start, 0.0))


def farthest(path: list[Contour], others: list[Contour]) -> float:
    """How far the ends and middles of a path's segments lie from other paths at most, mm; inf where there is none."""
    if not others:
        return math.inf
    stops = [point for contour in path for point in _stops(contour)]
    gaps = [distances(other, stops) for other in others]
    nearest: list[float] = [min(to_each) for to_each in zip(*gaps, strict=True)]
    return max(nearest)


def _stops(contour: Contour) -> Iterator[XY]:
    for segment in contour.segments:
        yield segment.start
        yield segment.point_at(segment.length / 2)
