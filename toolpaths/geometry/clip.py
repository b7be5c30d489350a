"""Which stretches of a contour lie within a rectangle, exactly: of its lines and arcs, not of a faceted copy."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import accumulate, pairwise

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import XY, Arc, Bounds, Segment
from toolpaths.tolerance import SAME_POINT

Span = tuple[float, float]
"""Two distances along a contour, mm; the second may pass its end and go round again."""


def spans_within(contour: Contour, box: Bounds) -> list[Span]:
    """The stretches of the contour whose points lie in ``box`` (its sides may be without end), in order.

    A contour that lies wholly within it gives one span, all round.
    """
    total = contour.perimeter
    stops = sorted({0.0, *accumulate(segment.length for segment in contour.segments), *_crossings(contour, box)})
    spans: list[Span] = []
    for a, b in pairwise(stops):
        if b - a <= SAME_POINT or not _holds(box, contour.point_at((a + b) / 2)):
            continue
        if spans and a - spans[-1][1] <= SAME_POINT:
            spans[-1] = (spans[-1][0], b)
        else:
            spans.append((a, b))
    if len(spans) > 1 and spans[0][0] <= SAME_POINT and spans[-1][1] >= total - SAME_POINT:
        first = spans.pop(0)
        spans[-1] = (spans[-1][0], total + first[1])
    return spans


def crossings_of_line(contour: Contour, axis: int, place: float) -> list[float]:
    """Distances along the contour at which it meets the line X = ``place`` (axis 0) or Y = ``place`` (axis 1)."""
    found: list[float] = []
    done = 0.0
    for segment in contour.segments:
        found += (done + s for s in _on_segment(segment, axis, place))
        done += segment.length
    return found


def _crossings(contour: Contour, box: Bounds) -> Iterator[float]:
    for index, place in enumerate(box):
        if math.isfinite(place):
            yield from crossings_of_line(contour, index % 2, place)


def _on_segment(segment: Segment, axis: int, place: float) -> Iterator[float]:
    if isinstance(segment, Arc):
        across = place - segment.centre[axis]
        if abs(across) >= segment.radius:
            return
        angle = math.acos(across / segment.radius)
        middle = 0.0 if axis == 0 else math.pi / 2
        first = math.atan2(segment.start[1] - segment.centre[1], segment.start[0] - segment.centre[0])
        for at in (middle - angle, middle + angle):
            turn = (at - first if segment.ccw else first - at) % (2 * math.pi)
            if turn <= segment.sweep:
                yield turn * segment.radius
        return
    start, end = segment.start[axis], segment.end[axis]
    if (start - place) * (end - place) < 0:
        yield segment.length * (place - start) / (end - start)


def _holds(box: Bounds, point: XY) -> bool:
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]
