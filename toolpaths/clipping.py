"""Marks cut at the sides of a box: a plotter clips nothing, so that the strokes themselves must end there.

Exact: a line stays a line and an arc an arc of the same circle.
"""

from __future__ import annotations

from itertools import pairwise

from toolpaths.drawing import Chain, Mark, Polyline
from toolpaths.geometry.crossing import along, crossings
from toolpaths.geometry.segment import XY, Bounds, Line, Segment
from toolpaths.tolerance import SAME_POINT


def inside(mark: Mark, box: Bounds) -> list[Mark]:
    """The parts of a mark that lie in ``box`` or on its sides, in the order in which the pen comes to them."""
    return _parts(mark, box, wanted=True)


def outside(mark: Mark, box: Bounds) -> list[Mark]:
    """The other parts of it."""
    return _parts(mark, box, wanted=False)


def bounds_of(mark: Mark) -> Bounds:
    """The box round a mark's centre line."""
    if isinstance(mark, Polyline):
        xs, ys = zip(*mark.points, strict=True)
        return min(xs), min(ys), max(xs), max(ys)
    boxes = [segment.bounds for segment in mark.segments]
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _parts(mark: Mark, box: Bounds, wanted: bool) -> list[Mark]:
    x0, y0, x1, y1 = bounds_of(mark)
    if box[0] <= x0 and box[1] <= y0 and x1 <= box[2] and y1 <= box[3]:
        return [mark] if wanted else []
    if x1 < box[0] or box[2] < x0 or y1 < box[1] or box[3] < y0:
        return [] if wanted else [mark]
    pieces = [piece for segment in _segments(mark) for piece in _cut(segment, box)]
    kept = [_holds(box, piece.point_at(piece.length / 2)) == wanted for piece in pieces]
    if all(kept):
        return [mark]
    runs: list[list[Segment]] = []
    for index, (piece, keep) in enumerate(zip(pieces, kept, strict=True)):
        if not keep:
            continue
        if index and kept[index - 1]:
            runs[-1].append(piece)
        else:
            runs.append([piece])
    if isinstance(mark, Chain) and mark.closed and kept[0] and kept[-1]:
        runs[0] = runs.pop() + runs[0]  # what runs through the place where the chain begins is one stroke
    return [_like(mark, run) for run in runs]


def _like(mark: Mark, run: list[Segment]) -> Mark:
    """A run of pieces of ``mark`` as the kind of mark that it is."""
    if isinstance(mark, Chain):
        return Chain(tuple(run), closed=False)
    return Polyline((run[0].start, *(piece.end for piece in run)))


def _segments(mark: Mark) -> tuple[Segment, ...]:
    if isinstance(mark, Chain):
        return mark.segments
    if len(mark.points) == 1:
        return (Line(mark.points[0], mark.points[0]),)
    return tuple(Line(start, end) for start, end in pairwise(mark.points))


def _cut(segment: Segment, box: Bounds) -> list[Segment]:
    """A segment in its order, cut where it meets a side of the box."""
    length = segment.length
    places = [along(segment, point) for side in _sides(box) for point in crossings(segment, side)]
    stops = [0.0]
    for place in sorted(place for place in places if place is not None):
        if stops[-1] + SAME_POINT < place < length - SAME_POINT:
            stops.append(place)
    if len(stops) == 1:
        return [segment]
    return [segment.cut(start, end) for start, end in pairwise([*stops, length])]


def _sides(box: Bounds) -> list[Line]:
    x0, y0, x1, y1 = box
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0))
    return [Line(start, end) for start, end in pairwise(corners)]


def _holds(box: Bounds, point: XY) -> bool:
    slack = SAME_POINT  # what runs along a side belongs to the box
    x, y = point
    return box[0] - slack <= x <= box[2] + slack and box[1] - slack <= y <= box[3] + slack
