"""Set questions about contours (overlap, gaps, areas of differences), answered by faceted shapely copies.

The only room of geometry that knows shapely. It judges; no path and no drawing is ever made from a faceted copy.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import TURN, XY, Arc, Bounds, Segment
from toolpaths.tolerance import FACET_SAGITTA, OVERLAY_GRID, SAME_POINT


def faceted(contour: Contour, sagitta: float = FACET_SAGITTA) -> Polygon:
    """A polygon with its vertices on the contour; arcs and chords differ by at most ``sagitta`` mm.

    Outward arcs lose up to the sagitta, inward arcs gain it: 'inscribed' in the sense of the arcs.
    """
    _check_sagitta(sagitta)
    found: Polygon = shapely.polygons(_vertices_of(contour, sagitta))
    return found


def faceted_outside(contour: Contour, sagitta: float = FACET_SAGITTA) -> Polygon:
    """A polygon whose sides touch every arc from outside its circle: for a convex contour it contains the contour.

    The corners stand off the arc by at most ``sagitta`` mm.
    """
    _check_sagitta(sagitta)
    return Polygon([point for segment in contour.segments for point in _outer_vertices(segment, sagitta)])


def vertices(contour: Contour, sagitta: float = FACET_SAGITTA) -> tuple[XY, ...]:
    """Points on the contour, its corners among them; between two of them it bows by at most ``sagitta`` mm."""
    return tuple((x, y) for x, y in vertex_rows(contour, sagitta).tolist())


def vertex_rows(contour: Contour, sagitta: float = FACET_SAGITTA) -> NDArray[np.float64]:
    """The ``vertices`` as an array, a row of x and y for each."""
    _check_sagitta(sagitta)
    return _vertices_of(contour, sagitta)


def region(contours: Sequence[Contour], sagitta: float = FACET_SAGITTA) -> Any:
    """The faceted area bounded by outer contours (counter-clockwise) less the holes among them (clockwise)."""
    outer = shapely.union_all([faceted(contour, sagitta) for contour in contours if contour.area > 0])
    holes = [faceted(contour, sagitta) for contour in contours if contour.area < 0]
    return shapely.difference(outer, shapely.union_all(holes), grid_size=OVERLAY_GRID) if holes else outer


def gap(a: Contour, b: Contour) -> float:
    """Shortest distance between the enclosed areas, mm, to within two sagittas; 0 where they share a point."""
    return float(faceted(a).distance(faceted(b)))


def wall(inner: Contour, outer: Contour) -> float:
    """Shortest distance between the two curves themselves, mm, to within two sagittas, wherever they lie."""
    return float(faceted(inner).exterior.distance(faceted(outer).exterior))


def overlaps(a: Contour, b: Contour) -> bool:
    """True where the enclosed areas share area, to within a few sagittas of depth; touching is no overlap."""
    first, second = faceted(a), faceted(b)
    return bool(first.intersects(second)) and shared_area(a, b) > SAME_POINT * min(a.perimeter, b.perimeter)


def shared_area(a: Contour, b: Contour) -> float:
    """Area common to both, mm²."""
    return float(shapely.intersection(faceted(a), faceted(b), grid_size=OVERLAY_GRID).area)


def inside(a: Contour, outer: Contour) -> bool:
    """True where ``a`` lies wholly within ``outer``, touching allowed, to within a sagitta."""
    return bool(faceted(outer).buffer(2 * FACET_SAGITTA, quad_segs=4).covers(faceted(a)))


def holds(contour: Contour, point: XY) -> bool:
    """True where the point lies within the contour, or on it to within a sagitta."""
    return bool(faceted(contour).covers(shapely.Point(point)))


def boxes_within(boxes: Sequence[Bounds], outer: Contour) -> list[bool]:
    """Which boxes lie wholly within the contour, to within a sagitta."""
    if not boxes:
        return []
    area = faceted(outer)
    shapely.prepare(area)
    found: list[bool] = shapely.covers(area, _boxes(boxes)).tolist()
    return found


MOST_PAIRS = 100_000
"""So many pairs of boxes are about the most that are held at a time."""


def boxes_near(boxes: Sequence[Bounds], reach: float) -> Iterator[tuple[NDArray[np.int64], NDArray[np.int64]]]:
    """The pairs of boxes that come nearer to each other than ``reach`` along X and along Y, in order of their numbers.

    They come in columns, the smaller number first, some at a time: a heap of 50,000 boxes has a hundred million pairs.
    Of boxes that stand exactly so far apart some may be among them.
    """
    if not boxes:
        return
    tree, count = shapely.STRtree(_boxes(boxes)), len(boxes)
    grown = _boxes([(x0 - reach, y0 - reach, x1 + reach, y1 + reach) for x0, y0, x1, y1 in boxes])
    begin, step = 0, 64
    while begin < count:
        one, two = tree.query(grown[begin : begin + step])
        one = one.astype(np.int64) + begin
        pairs = (one * count + two)[one < two]
        pairs.sort()
        yield pairs // count, pairs % count
        begin += step
        step = max(1, min(2 * step, step * MOST_PAIRS // max(1, len(one))))


class Facets:
    """Contours whose faceted copies are made when they are first asked for."""

    def __init__(self, contours: Sequence[Contour]) -> None:
        self._contours = contours
        self._areas: NDArray[Any] = np.full(len(contours), None, dtype=object)

    def gaps(self, one: NDArray[np.int64], two: NDArray[np.int64]) -> NDArray[np.float64]:
        """``gap`` of each pair of contours, given by their numbers."""
        for number in np.unique(np.concatenate((one, two))).tolist():
            if self._areas[number] is None:
                self._areas[number] = faceted(self._contours[number])
        found: NDArray[np.float64] = shapely.distance(self._areas[one], self._areas[two])
        return found


def gaps_to_nearest(places: Sequence[XY]) -> list[float]:
    """How far each place is from the nearest other, mm; 0 for one that is alone, or stands where another stands.

    >>> gaps_to_nearest([(0.0, 0.0), (3.0, 4.0), (3.0, 4.0), (0.0, 2.0)])
    [2.0, 0.0, 0.0, 2.0]
    """
    if not places:
        return []
    different, which, count = np.unique(np.array(places, dtype=float), axis=0, return_inverse=True, return_counts=True)
    gaps = np.zeros(len(different))
    if len(different) > 1:
        points = shapely.points(different)
        tree = shapely.STRtree(points)
        (index, _), found = tree.query_nearest(points, exclusive=True, all_matches=False, return_distance=True)
        gaps[index] = found
    gaps[count > 1] = 0.0
    nearest: list[float] = gaps[which].tolist()
    return nearest


def _boxes(boxes: Sequence[Bounds]) -> NDArray[Any]:
    found: NDArray[Any] = shapely.box(*np.array(boxes, dtype=float).T)
    return found


def difference_area(a: Contour | Sequence[Contour], b: Contour | Sequence[Contour]) -> float:
    """Area of what ``a`` covers and ``b`` does not, mm²."""
    return float(shapely.difference(region(_several(a)), region(_several(b)), grid_size=OVERLAY_GRID).area)


def across(contour: Contour) -> float:
    """Diameter of the smallest circle that holds the contour, mm, to within 0.001."""
    return 2 * float(shapely.minimum_bounding_radius(faceted(contour, FACET_SAGITTA / 4)))


def _several(contours: Contour | Sequence[Contour]) -> Sequence[Contour]:
    return [contours] if isinstance(contours, Contour) else contours


def _check_sagitta(sagitta: float) -> None:
    if not 0 < sagitta < math.inf:
        raise GeometryError(f"sagitta {sagitta:g} mm: must be above 0")


def _vertices_of(contour: Contour, sagitta: float) -> NDArray[np.float64]:
    """A row for each vertex, the first not said again at the end."""
    return np.concatenate([_vertices(segment, sagitta) for segment in contour.segments])


def _vertices(segment: Segment, sagitta: float) -> NDArray[np.float64]:
    """The start, then points on the arc; the end belongs to the next segment."""
    if not isinstance(segment, Arc):
        return np.array([segment.start])
    (cx, cy), (sx, sy) = segment.centre, segment.start
    sweep = segment.sweep if segment.ccw else -segment.sweep
    cosines, sines = _directions(sweep, _facets(segment.radius, segment.sweep, sagitta))
    x, y = sx - cx, sy - cy
    found = np.column_stack((cx + cosines * x - sines * y, cy + sines * x + cosines * y))
    found[0] = segment.start  # as its neighbour ends, to the last bit
    return found


@lru_cache(maxsize=256)
def _directions(sweep: float, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cosines and sines of so many equal steps of a turn (radians, negative clockwise), from 0 on."""
    turns = np.arange(count) * (sweep / count)
    return np.cos(turns), np.sin(turns)


def _outer_vertices(segment: Segment, sagitta: float) -> Iterator[XY]:
    """The start, then the corners of the sides that touch the arc at its ends and between."""
    if not (isinstance(segment, Arc) and segment.is_circle):
        yield segment.start
    if isinstance(segment, Arc):
        count = _facets(segment.radius, segment.sweep, sagitta)
        (cx, cy), stretch = segment.centre, 1 / math.cos(segment.sweep / count / 2)
        for index in range(count):
            x, y = segment.point_at(segment.length * (index + 0.5) / count)
            yield cx + stretch * (x - cx), cy + stretch * (y - cy)


def _facets(radius: float, sweep: float, sagitta: float) -> int:
    """How many equal facets keep to the sagitta, inside and outside: at least one per eighth of a turn."""
    least = max(1, math.ceil(8 * sweep / TURN))
    ratio = sagitta / (radius + sagitta)
    return max(least, math.ceil(sweep / (2 * math.acos(1 - ratio))))
