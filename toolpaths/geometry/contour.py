"""A closed chain of lines and arcs: an opening, an outline, or the way of a cutter round one."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import accumulate

from toolpaths.errors import GeometryError
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds, Segment
from toolpaths.tolerance import SAME_POINT

SHARP_TURN = 1e-4
"""Radians; neighbours that turn less run into each other smoothly (0.006 degrees: far below any corner meant)."""


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed chain; each segment begins where the one before it ends, the first where the last ends.

    Counter-clockwise contours have positive area. ``GeometryError`` where the chain has a gap above SAME_POINT, is
    empty, holds a segment without length, or an arc whose ends lie at two radii.
    """

    segments: tuple[Segment, ...]
    _ends: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.segments:
            raise GeometryError("a contour needs at least one segment")
        for before, after in zip((self.segments[-1], *self.segments[:-1]), self.segments, strict=True):
            gap = math.dist(before.end, after.start)
            if not gap <= SAME_POINT:
                raise GeometryError(f"the contour is open by {gap:.3g} mm at {_place(after.start)}")
        for segment in self.segments:
            _check_segment(segment)
        object.__setattr__(self, "_ends", tuple(accumulate(segment.length for segment in self.segments)))

    @property
    def area(self) -> float:
        """Enclosed area, mm²; positive when counter-clockwise."""
        ox, oy = self.segments[0].start
        total = 0.0
        for segment in self.segments:
            (sx, sy), (ex, ey) = segment.start, segment.end
            total += (sx - ox) * (ey - oy) - (sy - oy) * (ex - ox)
            if isinstance(segment, Arc):
                sweep = segment.sweep
                bulge = segment.radius**2 * (sweep - math.sin(sweep))
                total += bulge if segment.ccw else -bulge
        return total / 2

    @property
    def perimeter(self) -> float:
        """Length all round, mm."""
        return self._ends[-1]

    @property
    def bounds(self) -> Bounds:
        """x0, y0, x1, y1, mm."""
        if len(self.segments) == 1:
            return self.segments[0].bounds
        x0, y0, x1, y1 = zip(*(segment.bounds for segment in self.segments), strict=True)
        return min(x0), min(y0), max(x1), max(y1)

    def reversed(self) -> Contour:
        """The same contour travelled the other way, beginning at the same point."""
        return Contour(tuple(segment.reversed() for segment in reversed(self.segments)))

    def starting_at(self, distance: float) -> Contour:
        """The same contour, beginning ``distance`` mm further along (any sign, taken round).

        Within two SAME_POINT of a corner it begins there: a shorter piece would be left out and the contour be open.
        """
        begin = distance % self.perimeter
        begin = next((end for end in (0.0, *self._ends) if abs(end - begin) <= 2 * SAME_POINT), begin)
        return Contour(self.cut(begin, begin + self.perimeter))

    def point_at(self, distance: float) -> XY:
        """The point ``distance`` mm along the contour (any sign, taken round)."""
        segment, begin = self._segment_at(distance)
        return segment.point_at(distance % self.perimeter - begin)

    def tangent_at(self, distance: float) -> XY:
        """Unit direction of travel there; at a corner that of the segment which begins."""
        segment, begin = self._segment_at(distance)
        return segment.tangent_at(distance % self.perimeter - begin)

    def cut(self, d0: float, d1: float) -> tuple[Segment, ...]:
        """The open chain from ``d0`` to ``d1`` mm along the contour; ``d1`` may pass the end and go round again.

        Of a circle it gives arcs of at most one full turn each. ``GeometryError`` where ``d1`` is not beyond ``d0``.
        """
        if d1 - d0 < SAME_POINT:
            raise GeometryError(f"no length between {d0:g} and {d1:g} mm of the contour")
        begin = d0 % self.perimeter
        return tuple(self._pieces(begin, begin + d1 - d0))

    def corners(self) -> tuple[tuple[float, float], ...]:
        """Distance along the contour (mm) and turn (radians, positive to the left) of every sharp corner, in order."""
        found = []
        begin = 0.0
        for before, after, end in zip((self.segments[-1], *self.segments[:-1]), self.segments, self._ends, strict=True):
            ax, ay = before.tangent_at(before.length)
            bx, by = after.tangent_at(0.0)
            turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
            if abs(turn) > SHARP_TURN:
                found.append((begin, turn))
            begin = end
        return tuple(found)

    def mapped(self, function: Callable[[XY], XY], flips: bool = False) -> Contour:
        """The image under a motion of the plane; a mirror (``flips``) turns counter-clockwise into clockwise."""
        return Contour(tuple(segment.mapped(function, flips) for segment in self.segments))

    def _segment_at(self, distance: float) -> tuple[Segment, float]:
        index = min(bisect_right(self._ends, distance % self.perimeter), len(self._ends) - 1)
        return self.segments[index], self._ends[index - 1] if index else 0.0

    def _pieces(self, begin: float, end: float) -> Iterator[Segment]:
        if isinstance(circle := self.segments[0], Arc) and circle.is_circle:
            yield from _turns(circle, begin, end)
            return
        round_start = 0.0
        while round_start < end - SAME_POINT:
            start = round_start
            for segment, segment_end in zip(self.segments, self._ends, strict=True):
                stop = round_start + segment_end
                d0, d1 = max(begin, start), min(end, stop)
                if d1 - d0 >= SAME_POINT:
                    yield segment if (d0, d1) == (start, stop) else _part(segment, d0 - start, d1 - start)
                start = stop
            round_start += self.perimeter


def _part(segment: Segment, d0: float, d1: float) -> Segment:
    """A part whose cuts fall on an end where they are within SAME_POINT of it, so that no sliver is left out."""
    length = segment.length
    d0 = 0.0 if d0 < SAME_POINT else d0
    d1 = length if d1 > length - SAME_POINT else d1
    return segment if d0 == 0.0 and d1 == length else segment.cut(d0, d1)


def _turns(circle: Arc, begin: float, end: float) -> Iterator[Arc]:
    """Full turns of a circle from ``begin``, then the rest."""
    perimeter = circle.length
    first = circle.point_at(begin % perimeter)
    while end - begin >= perimeter - SAME_POINT:
        yield Arc(first, first, circle.centre, circle.ccw)
        begin += perimeter
    if end - begin >= SAME_POINT:
        yield Arc(first, circle.point_at(end % perimeter), circle.centre, circle.ccw)


def _check_segment(segment: Segment) -> None:
    if isinstance(segment, Arc):
        radius = segment.radius
        if abs(math.dist(segment.end, segment.centre) - radius) > 2 * SAME_POINT:
            raise GeometryError(f"an arc's ends lie at two radii from its centre {_place(segment.centre)}")
        if radius * min(segment.sweep, TURN) <= 0:
            raise GeometryError(f"an arc without length at {_place(segment.start)}")
    elif segment.start == segment.end:
        raise GeometryError(f"a line without length at {_place(segment.start)}")


def _place(point: XY) -> str:
    return f"({point[0]:.4f}, {point[1]:.4f})"
