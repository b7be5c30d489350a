"""What lies within a contour, and whether a contour meets itself: exact, in closed form."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.crossing import crossings
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds, Segment
from toolpaths.tolerance import SAME_POINT

JOINT: Final = 1e-5
"""mm; neighbours meet at their joint: a crossing nearer to it than this is that meeting, seen with float error."""


def encloses(contour: Contour, point: XY) -> bool:
    """Whether the contour, either way round, goes round ``point``; for one on the contour itself either may be said.

    By the winding number: the turn of the line of sight along every segment, chord by chord, and a whole turn more for
    an arc with the point between it and its chord.

    >>> from toolpaths.geometry.shapes import d_hole
    >>> hole = d_hole((0.0, 0.0), 10.0, 8.0)
    >>> encloses(hole, (2.9, 0.0)), encloses(hole, (3.1, 0.0)), encloses(hole, (-4.9, 0.0))
    (True, False, True)
    """
    return round(sum(_seen_turn(segment, point) for segment in contour.segments) / TURN) != 0


def _seen_turn(segment: Segment, point: XY) -> float:
    px, py = point
    ax, ay, bx, by = segment.start[0] - px, segment.start[1] - py, segment.end[0] - px, segment.end[1] - py
    cross = ax * by - ay * bx
    turn = math.atan2(cross, ax * bx + ay * by)
    if not isinstance(segment, Arc):
        return turn
    inside = math.dist(point, segment.centre) < segment.radius
    if segment.is_circle:
        return (TURN if segment.ccw else -TURN) if inside else 0.0
    # of the two parts of the disc the one on the arc's side of the chord; the chord itself runs from start to end
    on_side = cross < 0 if segment.ccw else cross > 0
    if inside and on_side:
        return turn + (TURN if segment.ccw else -TURN)
    return turn


def meets_itself(contour: Contour) -> XY | None:
    """A point where two segments meet that are no neighbours, or neighbours elsewhere than at their joint."""
    segments = contour.segments
    last = len(segments) - 1
    for i, j in near_pairs([segment.bounds for segment in segments]):
        a, b = segments[i], segments[j]
        joints = [a.end] if j == i + 1 else []
        joints += [a.start] if (i, j) == (0, last) else []
        for point in crossings(a, b):
            if all(math.dist(point, joint) > JOINT for joint in joints):
                return point
    return None


def near_pairs(boxes: Sequence[Bounds], reach: float = SAME_POINT) -> Iterator[tuple[int, int]]:
    """Pairs of boxes, by their places, the smaller first, that come within ``reach``: a sweep along X."""
    order = sorted(range(len(boxes)), key=lambda index: boxes[index][0])
    open_ones: list[int] = []
    for index in order:
        x0, y0, _, y1 = boxes[index]
        open_ones = [other for other in open_ones if boxes[other][2] + reach >= x0]
        for other in open_ones:
            if boxes[other][1] - reach <= y1 and y0 - reach <= boxes[other][3]:
                yield (other, index) if other < index else (index, other)
        open_ones.append(index)
