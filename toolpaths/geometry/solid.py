"""Convex prisms in space: how far apart two of them are, whether they meet, and how far to move one until they do not.

Distances come from the method of Gilbert, Johnson and Keerthi (1988): the point nearest to the origin of the
difference of both solids, approached by simplices of points that lie furthest in a direction. A prism answers that
question exactly, arcs and all, so nothing is faceted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Final

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds, Line

XYZ = tuple[float, float, float]
"""A point or a direction in space."""

Box = tuple[float, float, float, float, float, float]
"""x0, y0, z0, x1, y1, z1."""

CLOSE: Final = 1e-7
"""mm; distances are found to this, and what is nearer touches."""

FURTHEST: Final = 1000.0
"""mm; so far a solid is moved at most to get clear of another."""

_MOST_STEPS: Final = 200
"""Flat solids end in a handful of steps, curved ones in a few dozen."""


@dataclass(frozen=True, slots=True)
class Frame:
    """A plane in space: ``origin``, and the unit directions of its X, its Y, and its normal (X x Y)."""

    origin: XYZ
    x: XYZ
    y: XYZ
    normal: XYZ

    def point(self, place: XY, height: float = 0.0) -> XYZ:
        """The point of space at a place of the plane, ``height`` along the normal.

        >>> Frame((1.0, 2.0, 3.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)).point((10.0, 20.0), 5.0)
        (6.0, 12.0, 23.0)
        """
        (ox, oy, oz), (a, b) = self.origin, place
        (ux, uy, uz), (vx, vy, vz), (nx, ny, nz) = self.x, self.y, self.normal
        return (
            ox + a * ux + b * vx + height * nx,
            oy + a * uy + b * vy + height * ny,
            oz + a * uz + b * vz + height * nz,
        )

    def direction(self, along: XY) -> XYZ:
        """A direction of the plane as one of space."""
        (ux, uy, uz), (vx, vy, vz) = self.x, self.y
        return along[0] * ux + along[1] * vx, along[0] * uy + along[1] * vy, along[0] * uz + along[1] * vz


@dataclass(frozen=True, slots=True)
class _Bow:
    """An arc of a footprint: its furthest point in a direction is on it where the direction is within its turn."""

    x: float
    y: float
    radius: float
    start: XY
    end: XY
    sweep: float

    def holds(self, a: float, b: float) -> bool:
        if self.sweep >= TURN:
            return True
        (sx, sy), (ex, ey) = self.start, self.end
        past_start, before_end = sx * b - sy * a >= 0, a * ey - b * ex >= 0
        return (past_start and before_end) if self.sweep <= math.pi else (past_start or before_end)


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex ``footprint`` in the plane of ``frame``, from ``low`` to ``high`` along its normal.

    GeometryError where the footprint is not convex and counter-clockwise, or nothing lies between low and high.
    """

    frame: Frame
    footprint: Contour
    low: float
    high: float
    _points: tuple[XY, ...] = field(init=False, repr=False, compare=False)
    _bows: tuple[_Bow, ...] = field(init=False, repr=False, compare=False)
    bounds: Box = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.high > self.low:
            raise GeometryError(f"a solid from {self.low:g} to {self.high:g} mm has no height")
        if not _convex(self.footprint):
            raise GeometryError("the footprint of a solid must be convex and counter-clockwise")
        points = tuple(
            segment.start for segment in self.footprint.segments if not (isinstance(segment, Arc) and segment.is_circle)
        )
        object.__setattr__(self, "_points", points)
        object.__setattr__(self, "_bows", tuple(_bows(self.footprint)))
        reach = [self.furthest(axis)[index] for index, axis in enumerate(_AXES)]
        back = [self.furthest(scaled(axis, -1))[index] for index, axis in enumerate(_AXES)]
        object.__setattr__(self, "bounds", (*back, *reach))

    def furthest(self, way: XYZ) -> XYZ:
        """The point of the solid that lies furthest in a direction (any length but 0)."""
        frame = self.frame
        a, b, c = dot(way, frame.x), dot(way, frame.y), dot(way, frame.normal)
        best, place = -math.inf, (0.0, 0.0)
        for point in self._points:
            if (far := a * point[0] + b * point[1]) > best:
                best, place = far, point
        if self._bows:
            length = math.hypot(a, b)
            if length > 0:
                for bow in self._bows:
                    far = a * bow.x + b * bow.y + bow.radius * length
                    if far > best and bow.holds(a, b):
                        best, place = far, (bow.x + bow.radius * a / length, bow.y + bow.radius * b / length)
            elif not self._points:
                place = (self._bows[0].x, self._bows[0].y)
        return frame.point(place, self.high if c > 0 else self.low)

    def faces(self) -> Iterator[XYZ]:
        """Outward directions of its flat faces."""
        yield self.frame.normal
        yield scaled(self.frame.normal, -1)
        for segment in self.footprint.segments:
            if isinstance(segment, Line):
                x, y = segment.tangent_at(0)
                yield self.frame.direction((y, -x))

    def edges(self) -> Iterator[XYZ]:
        """Directions of its straight edges."""
        yield self.frame.normal
        for segment in self.footprint.segments:
            if isinstance(segment, Line):
                yield self.frame.direction(segment.tangent_at(0))

    @property
    def middle(self) -> XYZ:
        """The middle of its bounds."""
        x0, y0, z0, x1, y1, z1 = self.bounds
        return (x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2


_AXES: Final[tuple[XYZ, ...]] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


# The questions -------------------------------------------------------------------------------------------------------


def distance(first: Prism, second: Prism, *, shift: XYZ = (0.0, 0.0, 0.0), enough: float = math.inf) -> float:
    """Shortest distance, mm, to within CLOSE; 0 where they touch or meet.

    ``shift`` moves the first before it is measured. Beyond ``enough`` only a lower bound that exceeds it is given.
    """
    towards = sub(sub(first.middle, second.middle), scaled(shift, -1))
    nearest = _difference(first, second, towards if dot(towards, towards) > 0 else _AXES[0], shift)
    corners = [nearest]
    for _ in range(_MOST_STEPS):
        away = math.sqrt(dot(nearest, nearest))
        if away <= CLOSE:
            return 0.0
        further = _difference(first, second, scaled(nearest, -1), shift)
        least = dot(nearest, further) / away
        if away - least <= CLOSE or least > enough:
            return away if away - least <= CLOSE else least
        if any(further == corner for corner in corners):
            return away
        corners.append(further)
        before = away
        nearest, corners = _nearest(corners)
        if len(corners) == 4 or dot(nearest, nearest) <= CLOSE**2:
            return 0.0
        if dot(nearest, nearest) >= before * before:
            # rounding has the last word: no step leads nearer
            return math.sqrt(dot(nearest, nearest))
    return math.sqrt(dot(nearest, nearest))


def box_distance(first: Box, second: Box) -> float:
    """Distance of two boxes along the axes, mm: never more than that of what lies in them.

    >>> box_distance((0, 0, 0, 1, 1, 1), (4, 5, 0, 6, 6, 1))
    5.0
    """
    dx = max(first[0] - second[3], second[0] - first[3], 0.0)
    dy = max(first[1] - second[4], second[1] - first[4], 0.0)
    dz = max(first[2] - second[5], second[2] - first[5], 0.0)
    return math.sqrt(dx * dx + dy * dy + dz * dz)


def overlap(first: Prism, second: Prism) -> float:
    """How deep two solids are in each other, mm: some move of the first by so much parts them; 0 where they are apart.

    For solids with flat faces alone it is the shortest such move (the theorem of the separating axis); where there
    are arcs it may be a little more.
    """
    ways = _ways(first, second)
    deep, way = min(((_depth(first, second, way), way) for way in ways), key=lambda found: found[0])
    if deep > 0 and (first._bows or second._bows):
        deep = _least_depth(first, second, way, deep)
    return max(0.0, deep)


def slide(first: Prism, second: Prism, way: XYZ, air: float = 0.0, furthest: float = FURTHEST) -> float | None:
    """How far to move the first along a unit ``way`` until it has ``air`` from the second, to 0.00001 mm.

    None where ``furthest`` mm do not suffice.
    """

    def clear(by: float) -> bool:
        apart = distance(first, second, shift=scaled(way, by), enough=air + 2 * CLOSE)
        return apart > air or (air > 0 and apart >= air - CLOSE)

    far = max(0.0, _depth_along(first, second, way)) + air + CLOSE * 2
    if not clear(min(furthest, far)):
        return None
    near = 0.0
    while far - near > 1e-5:
        middle = (near + far) / 2
        near, far = (near, middle) if clear(middle) else (middle, far)
    return far


def moved(solid: Prism, by: XYZ) -> Prism:
    """A solid moved in space, mm.

    >>> moved(box_of((0, 0, 1, 1), 0, 1, Frame((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))), (2, 0, 5)).bounds
    (2.0, 0.0, 5.0, 3.0, 1.0, 6.0)
    """
    return replace(solid, frame=replace(solid.frame, origin=along(solid.frame.origin, by, 1.0)))


# The way there -------------------------------------------------------------------------------------------------------


def _difference(first: Prism, second: Prism, way: XYZ, shift: XYZ) -> XYZ:
    """The furthest point, in a direction, of all differences of a point of the first and one of the second."""
    one, other = first.furthest(way), second.furthest((-way[0], -way[1], -way[2]))
    return one[0] - other[0] + shift[0], one[1] - other[1] + shift[1], one[2] - other[2] + shift[2]


def _nearest(corners: list[XYZ]) -> tuple[XYZ, list[XYZ]]:
    """The point of a simplex that is nearest to the origin, and the corners of the side that it lies on.

    All four corners come back where the origin is inside.
    """
    if len(corners) == 2:
        return _on_line(corners[0], corners[1])
    if len(corners) == 3:
        return _on_triangle(corners[0], corners[1], corners[2])
    best: tuple[XYZ, list[XYZ]] | None = None
    for index in range(4):
        a, b, c = corners[:index] + corners[index + 1 :]
        normal = cross(sub(b, a), sub(c, a))
        own, origin = dot(normal, sub(corners[index], a)), -dot(normal, a)
        # a simplex as flat as this has no inside
        flat = own * own <= 1e-20 * dot(normal, normal)
        if flat or own * origin < 0:
            found = _on_triangle(a, b, c)
            if best is None or dot(found[0], found[0]) < dot(best[0], best[0]):
                best = found
    return best if best is not None else ((0.0, 0.0, 0.0), corners)


def _on_line(a: XYZ, b: XYZ) -> tuple[XYZ, list[XYZ]]:
    ab = sub(b, a)
    long = dot(ab, ab)
    share = -dot(a, ab) / long if long > 0 else 0.0
    if share <= 0:
        return a, [a]
    if share >= 1:
        return b, [b]
    return along(a, ab, share), [a, b]


def _on_triangle(a: XYZ, b: XYZ, c: XYZ) -> tuple[XYZ, list[XYZ]]:
    """By the signs of the three areas that the origin's foot makes with the sides; a flat triangle by its sides."""
    ab, ac = sub(b, a), sub(c, a)
    normal = cross(ab, ac)
    size = dot(normal, normal)
    if size > 1e-24 * dot(ab, ab) * dot(ac, ac):
        of_a = dot(normal, cross(b, c))
        of_b = dot(normal, cross(c, a))
        of_c = dot(normal, cross(a, b))
        if of_a > 0 and of_b > 0 and of_c > 0:
            share = dot(normal, a) / size
            return scaled(normal, share), [a, b, c]
    sides = (_on_line(a, b), _on_line(b, c), _on_line(c, a))
    return min(sides, key=lambda found: dot(found[0], found[0]))


def _depth(first: Prism, second: Prism, way: XYZ) -> float:
    """By how much they overlap along a unit direction: a move of the first by so much against it parts them."""
    return dot(way, first.furthest(way)) - dot(way, second.furthest(scaled(way, -1)))


def _depth_along(first: Prism, second: Prism, way: XYZ) -> float:
    """A move of the first along a unit direction that surely parts them."""
    return dot(way, second.furthest(way)) - dot(way, first.furthest(scaled(way, -1)))


def _ways(first: Prism, second: Prism) -> Iterator[XYZ]:
    yield from first.faces()
    yield from (scaled(way, -1) for way in second.faces())
    for one in first.edges():
        for other in second.edges():
            way = cross(one, other)
            if (long := math.sqrt(dot(way, way))) > 1e-9:
                yield scaled(way, 1 / long)
                yield scaled(way, -1 / long)
    between = sub(second.middle, first.middle)
    for solid in (first, second):
        flat = along(between, solid.frame.normal, -dot(between, solid.frame.normal))
        if (long := math.sqrt(dot(flat, flat))) > 1e-9:
            yield scaled(flat, 1 / long)


def _least_depth(first: Prism, second: Prism, way: XYZ, deep: float) -> float:
    """The depth made smaller by turning the direction a little, again and again: what curved sides allow."""
    step = 0.3
    while step > 1e-4:
        tried = [
            unit(along(way, axis, sign * step)) for axis in _AXES for sign in (1.0, -1.0)
        ]
        least, best = min(((_depth(first, second, other), other) for other in tried), key=lambda found: found[0])
        if least < deep:
            deep, way = least, best
        else:
            step /= 2
    return deep


def _bows(footprint: Contour) -> Iterator[_Bow]:
    for segment in footprint.segments:
        if isinstance(segment, Arc):
            (cx, cy), (sx, sy), (ex, ey) = segment.centre, segment.start, segment.end
            yield _Bow(cx, cy, segment.radius, (sx - cx, sy - cy), (ex - cx, ey - cy), segment.sweep)


def _convex(footprint: Contour) -> bool:
    """Whether it only ever turns to the left, and once round."""
    if footprint.area <= 0 or any(isinstance(segment, Arc) and not segment.ccw for segment in footprint.segments):
        return False
    turn = sum(segment.sweep for segment in footprint.segments if isinstance(segment, Arc))
    pieces = footprint.segments
    for before, after in zip((pieces[-1], *pieces[:-1]), pieces, strict=True):
        if isinstance(after, Arc) and after.is_circle:
            continue
        (ax, ay), (bx, by) = before.tangent_at(before.length), after.tangent_at(0)
        corner = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if corner < -1e-6:
            return False
        turn += corner
    return abs(turn - TURN) < 1e-3


# Small arithmetic ----------------------------------------------------------------------------------------------------


def dot(a: XYZ, b: XYZ) -> float:
    """The scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: XYZ, b: XYZ) -> XYZ:
    """The vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def sub(a: XYZ, b: XYZ) -> XYZ:
    """From b to a."""
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def scaled(a: XYZ, by: float) -> XYZ:
    """``a`` times a number."""
    return a[0] * by, a[1] * by, a[2] * by


def along(a: XYZ, way: XYZ, by: float) -> XYZ:
    """``by`` times a direction further than ``a``."""
    return a[0] + by * way[0], a[1] + by * way[1], a[2] + by * way[2]


def unit(a: XYZ) -> XYZ:
    """The direction of ``a``, of length 1."""
    return scaled(a, 1 / math.sqrt(dot(a, a)))


def box_of(bounds: Bounds, low: float, high: float, frame: Frame) -> Prism:
    """A rectangle of the plane of ``frame``, from ``low`` to ``high``, as a solid."""
    x0, y0, x1, y1 = bounds
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    sides = tuple(Line(corners[index], corners[(index + 1) % 4]) for index in range(4))
    return Prism(frame, Contour(sides), low, high)
