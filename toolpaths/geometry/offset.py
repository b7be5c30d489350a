"""Exact offsets of contours: lines stay lines, arcs stay arcs about the same centre.

Every segment is moved sideways, convex gaps are bridged by arcs about their corner, all pieces are cut where they
meet, and those are kept that nowhere come nearer to the contour than the distance: by definition the offset.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.crossing import NODE, along, crossings, distance_to
from toolpaths.geometry.judge import boxes_near
from toolpaths.geometry.segment import XY, Arc, Bounds, Line, Segment
from toolpaths.geometry.stitch import stitched
from toolpaths.tolerance import SAME_POINT

_NEARER = SAME_POINT / 10
"""A piece must come nearer than the distance by this to be left out: above float error at 10 m."""

_SMOOTH_GAP = 1e-5
"""A gap up to this at a tangent joint is closed along the tangent: it stems from rounding, not from a corner."""


MANY = 32
"""From so many segments on, as curves of a drawing have them, their boxes are compared all at once."""

KEPT = 2000
"""So many offsets are kept: the same one is asked for by every cutter of that size, and by each way to use it."""

_U_TURN = -0.999999
"""Cosine of a turn so near a half turn that only the bend of both segments tells left from right."""


def offset(contour: Contour, distance: float) -> list[Contour]:
    """The contour moved ``distance`` mm outwards (> 0, away from what lies on its left) or inwards (< 0).

    A counter-clockwise contour grows with distance > 0; sharp outer corners become arcs. Shrinking may split it or
    leave nothing. A grown contour that closes round a bay gives the bay's rest as a clockwise contour.

    >>> from toolpaths.geometry.shapes import rounded_rectangle
    >>> [grown] = offset(rounded_rectangle((0.0, 0.0), 20.0, 10.0), 1.0)
    >>> len(grown.segments), round(grown.area, 6)
    (8, 263.141593)
    >>> offset(grown, -6.0)
    []
    """
    return list(_offset(contour, distance))


@lru_cache(maxsize=KEPT)
def _offset(contour: Contour, distance: float) -> tuple[Contour, ...]:
    return tuple(offset_region([contour], distance))


def opened(contour: Contour, radius: float) -> list[Contour]:
    """What a round cutter of ``radius`` mm can clear inside the contour: inwards by the radius and out again."""
    return offset_region(offset(contour, -radius), radius)


def offset_region(contours: Sequence[Contour], distance: float) -> list[Contour]:
    """The offset of a region bounded by several contours (outer ones counter-clockwise, holes clockwise), as one.

    Parts that grow into each other become one.
    """
    if abs(distance) < NODE:
        return list(contours)
    chains = [_closed_up(contour) for contour in contours]
    walls = [(segment, segment.bounds) for chain in chains for segment in chain]
    moved = [piece for chain in chains for piece in _moved(chain, distance)]
    return stitched(_far_enough(_cut_where_they_meet(moved), walls, abs(distance)))


def distance(contour: Contour, point: XY) -> float:
    """Shortest distance from ``point`` to the contour, mm, never negative."""
    return min(distance_to(segment, point) for segment in contour.segments)


def distances(contour: Contour, points: Sequence[XY]) -> list[float]:
    """The same for many points: only the segments are asked whose boxes come nearer than one that was."""
    segments = contour.segments
    if len(segments) < MANY:
        return [distance(contour, point) for point in points]
    x0, y0, x1, y1 = np.array([segment.bounds for segment in segments]).T
    found: list[float] = []
    for x, y in points:
        away = np.hypot(np.maximum(np.maximum(x0 - x, x - x1), 0.0), np.maximum(np.maximum(y0 - y, y - y1), 0.0))
        least = distance_to(segments[int(away.argmin())], (x, y))
        near = np.flatnonzero(away <= least).tolist()
        found.append(min([least, *(distance_to(segments[index], (x, y)) for index in near)]))
    return found


def _closed_up(contour: Contour) -> list[Segment]:
    """The segments, each beginning at exactly the point where the one before it ends."""
    chain: list[Segment] = []
    start = contour.segments[-1].end
    for segment in contour.segments:
        if isinstance(segment, Line):
            chain.append(Line(start, segment.end))
        else:
            end = start if segment.is_circle else segment.end
            chain.append(Arc(start, end, segment.centre, segment.ccw))
        start = segment.end
    return chain


def _moved(chain: list[Segment], distance: float) -> Iterator[Segment]:
    """Every segment moved to its right, with arcs about the corners that open; not yet cut."""
    pieces = [_sideways(segment, distance) for segment in chain]
    joins: list[Segment | None] = []
    for index, after in enumerate(chain):
        before, piece_before, piece = chain[index - 1], pieces[index - 1], pieces[index]
        bridge = _bridge(before, after, distance)
        if bridge is not None and piece is not None and piece_before is not None and _is_smooth(bridge, piece):
            pieces[index] = _starting(piece, piece_before.end)
            bridge = None
        joins.append(bridge if bridge is not None and _opens(before, after, distance) else None)
    for join, piece in zip(joins, pieces, strict=True):
        if join is not None:
            yield join
        if piece is not None and (piece.start != piece.end or isinstance(piece, Arc)):
            yield piece


def _sideways(segment: Segment, distance: float) -> Segment | None:
    """The segment moved to its right; None for an arc that has no radius left (nothing of it is ever nearest)."""
    start = _beside(segment.start, segment.tangent_at(0.0), distance)
    if isinstance(segment, Line):
        return Line(start, _beside(segment.end, segment.tangent_at(0.0), distance))
    radius = segment.radius + (distance if segment.ccw else -distance)
    if radius <= NODE / 4:
        return None
    end = start if segment.is_circle else _beside(segment.end, segment.tangent_at(segment.length), distance)
    return Arc(start, end, segment.centre, segment.ccw)


def _beside(point: XY, tangent: XY, distance: float) -> XY:
    return point[0] + distance * tangent[1], point[1] - distance * tangent[0]


def _bridge(before: Segment, after: Segment, distance: float) -> Arc | None:
    """The arc about the joint of two segments from the one's moved end to the other's moved start; None: no gap."""
    start = _beside(after.start, before.tangent_at(before.length), distance)
    end = _beside(after.start, after.tangent_at(0.0), distance)
    return None if math.dist(start, end) <= NODE else Arc(start, end, after.start, distance > 0)


def _opens(before: Segment, after: Segment, distance: float) -> bool:
    """True where the joint turns away from the side to which the segments move."""
    (ax, ay), (bx, by) = before.tangent_at(before.length), after.tangent_at(0.0)
    if ax * bx + ay * by < _U_TURN:
        ax, ay = _chord(before, before.length - _ahead(before, after), before.length)
        bx, by = _chord(after, 0.0, _ahead(before, after))
    return (ax * by - ay * bx) * distance > 0


def _ahead(before: Segment, after: Segment) -> float:
    """A length on either side of a joint over which the bend of both segments shows."""
    return min(before.length, after.length) / 4


def _chord(segment: Segment, d0: float, d1: float) -> XY:
    (x0, y0), (x1, y1) = segment.point_at(d0), segment.point_at(d1)
    return x1 - x0, y1 - y0


def _is_smooth(bridge: Arc, piece: Segment) -> bool:
    """True where closing the gap along the tangent leaves the piece's circle by less than NODE."""
    gap = math.dist(bridge.start, bridge.end)
    return gap <= min(_SMOOTH_GAP, _SMOOTH_GAP * bridge.radius) and (
        isinstance(piece, Line) or gap * gap <= NODE * piece.radius
    )


def _starting(piece: Segment, start: XY) -> Segment:
    return Line(start, piece.end) if isinstance(piece, Line) else Arc(start, piece.end, piece.centre, piece.ccw)


def _cut_where_they_meet(pieces: list[Segment]) -> list[tuple[Segment, XY]]:
    """All pieces cut at all meeting points, each with its middle."""
    meetings: list[list[XY]] = [[] for _ in pieces]
    bounds = [piece.bounds for piece in pieces]
    pairs: Iterable[tuple[int, int]]
    if len(pieces) < MANY:
        pairs = combinations(range(len(pieces)), 2)
    else:
        near = boxes_near(bounds, 2 * NODE)
        pairs = (pair for one, two in near for pair in zip(one.tolist(), two.tolist(), strict=True))
    for i, j in pairs:
        if _apart(bounds[i], bounds[j]):
            continue
        points = crossings(pieces[i], pieces[j])
        meetings[i] += points
        meetings[j] += points
    return [part for piece, points in zip(pieces, meetings, strict=True) for part in _cut(piece, points)]


def _apart(a: Bounds, b: Bounds) -> bool:
    return a[0] > b[2] + NODE or b[0] > a[2] + NODE or a[1] > b[3] + NODE or b[1] > a[3] + NODE


def _cut(piece: Segment, points: list[XY]) -> Iterator[tuple[Segment, XY]]:
    """The parts of one piece between the points that lie on it, each with its middle."""
    length = piece.length
    if not points:
        if length > 0:
            yield piece, piece.point_at(length / 2)
        return
    places = sorted((place, point) for point in points if (place := along(piece, point)) is not None)
    begin, start = 0.0, piece.start
    for place, point in [*places, (length, piece.end)]:
        is_end = place == length and point == piece.end
        if (is_end and length > begin) or (place - begin > NODE and length - place > NODE):
            middle = piece.point_at((begin + place) / 2)
            part = Line(start, point) if isinstance(piece, Line) else Arc(start, point, piece.centre, piece.ccw)
            yield part, middle
            begin, start = place, point


def _far_enough(
    parts: list[tuple[Segment, XY]], walls: list[tuple[Segment, Bounds]], reach: float
) -> Iterator[Segment]:
    """The parts whose middle is no nearer to any wall than ``reach``; what holds there holds for the whole part."""
    least = reach - _NEARER
    near = _walls_near(walls, least)
    for part, middle in parts:
        if all(distance_to(wall, middle) >= least for wall in near(middle)):
            yield part


def _walls_near(walls: list[tuple[Segment, Bounds]], reach: float) -> Callable[[XY], Iterator[Segment]]:
    """What finds the walls whose boxes come nearer to a point than ``reach`` along X and along Y."""
    if len(walls) < MANY:
        grown = [(wall, (x0 - reach, y0 - reach, x1 + reach, y1 + reach)) for wall, (x0, y0, x1, y1) in walls]
        return lambda at: (wall for wall, box in grown if box[0] < at[0] < box[2] and box[1] < at[1] < box[3])
    x0, y0, x1, y1 = np.array([bounds for _, bounds in walls]).T
    left, low, right, high = x0 - reach, y0 - reach, x1 + reach, y1 + reach

    def near(at: XY) -> Iterator[Segment]:
        found = np.flatnonzero((left < at[0]) & (at[0] < right) & (low < at[1]) & (at[1] < high))
        return (walls[index][0] for index in found.tolist())

    return near
