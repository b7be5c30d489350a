"""Polygons and keyed holes against plane geometry, and every polygon that cannot be."""

from __future__ import annotations

import math

import pytest

from toolpaths.errors import GeometryError
from toolpaths.geometry.polygon import corner_centres, polygon
from toolpaths.geometry.segment import Arc
from toolpaths.geometry.shapes import keyed_hole

L_SHAPE = [(0.0, 0.0), (20.0, 0.0), (20.0, 8.0), (8.0, 8.0), (8.0, 16.0), (0.0, 16.0)]
TRIANGLE = [(0.0, 0.0), (30.0, 0.0), (0.0, 40.0)]


@pytest.mark.parametrize("turn", [0.0, 0.5, math.pi / 2, 4.0])
@pytest.mark.parametrize(("diameter", "width", "depth"), [(12.0, 3.0, 1.5), (10.0, 9.0, 0.4), (30.0, 2.0, 6.0)])
def test_a_keyed_hole_has_its_closed_form(diameter, width, depth, turn) -> None:
    """Area and perimeter: circle and rectangle less the strip of the circle that both hold (plane geometry)."""
    r, h = diameter / 2, width / 2
    shape = keyed_hole((3.0, -2.0), diameter, width, depth, turn)
    inside = h * math.sqrt(r * r - h * h) + r * r * math.asin(h / r)
    assert shape.area == pytest.approx(math.pi * r * r + width * (r + depth) - inside, abs=1e-9)
    sides = r + depth - math.sqrt(r * r - h * h)
    assert shape.perimeter == pytest.approx(2 * r * (math.pi - math.asin(h / r)) + width + 2 * sides, abs=1e-9)
    # the far wall is flat, square to the axis, and this far from the centre
    (ax, ay), (bx, by) = shape.segments[1].start, shape.segments[1].end
    cosine, sine = math.cos(turn), math.sin(turn)
    for x, y in ((ax, ay), (bx, by)):
        assert (x - 3) * cosine + (y + 2) * sine == pytest.approx(r + depth)
    # two sharp inside corners; the other two stick out into the opening
    assert [math.copysign(1, turn) for _, turn in shape.corners()].count(1) == 2
    assert len(shape.corners()) == 4


@pytest.mark.parametrize(("sizes", "said"), [((0, 1, 1), "diameter"), ((9, 9, 1), "key_width"), ((9, 2, 0), "depth")])
def test_a_key_that_cannot_be(sizes, said) -> None:
    """A key as wide as its circle, or a size of nothing, is no shape."""
    with pytest.raises(GeometryError, match=said):
        keyed_hole((0.0, 0.0), *sizes)


@pytest.mark.parametrize("points", [L_SHAPE, L_SHAPE[::-1], [*L_SHAPE[2:], *L_SHAPE[:2]]])
@pytest.mark.parametrize("radius", [0.0, 1.0, 4.0])
def test_a_polygon_either_way_round(points, radius) -> None:
    """An L of 224 mm²: each outer corner loses (1 - pi/4) r², the inner one gains it; round corners shorten sides."""
    shape = polygon(points, radius)
    lost = (5 - 1) * (1 - math.pi / 4) * radius**2
    assert shape.area == pytest.approx(20 * 8 + 8 * 8 - lost, abs=1e-9)
    assert shape.perimeter == pytest.approx(72 - 6 * (2 - math.pi / 2) * radius, abs=1e-9)
    arcs = [segment for segment in shape.segments if isinstance(segment, Arc)]
    assert all(arc.radius == pytest.approx(radius) for arc in arcs)
    assert [arc.ccw for arc in arcs].count(False) == (1 if radius else 0)
    assert len(shape.corners()) == (0 if radius else 6)


def test_corners_of_any_angle_are_rounded() -> None:
    """A 30-40-50 triangle loses r² (cot(a/2) - (pi - a)/2) at each corner a; rounded by its inner radius of 10 it
    is that circle (plane geometry)."""
    cot = sum(1 / math.tan(angle / 2) for angle in (math.pi / 2, math.atan2(40, 30), math.atan2(30, 40)))
    assert polygon(TRIANGLE, 3.0).area == pytest.approx(600 - 9 * (cot - math.pi))
    full = polygon(TRIANGLE, 10.0)
    assert full.area == pytest.approx(math.pi * 100)
    assert full.bounds == pytest.approx((0, 0, 20, 20))


def test_a_point_on_a_side_is_no_corner() -> None:
    """Points in line with their neighbours are not rounded."""
    shape = polygon([(0.0, 0.0), (10.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0)], 2.0)
    assert shape.area == pytest.approx(200 - (4 - math.pi) * 4)


def test_marks_are_the_centres_of_inside_corners() -> None:
    """Of an L five corners are marked: the sixth lies in what stays."""
    assert len(corner_centres(L_SHAPE, 0.0)) == len(corner_centres(L_SHAPE[::-1], 2.0)) == 5
    assert corner_centres(L_SHAPE, 0.0) == [point for point in L_SHAPE if point != (8.0, 8.0)]
    centres = [(round(x, 9), round(y, 9)) for x, y in corner_centres(L_SHAPE, 2.0)]
    assert centres == [(2, 2), (18, 2), (18, 6), (6, 14), (2, 14)]


WRONG = [
    ([(0, 0), (1, 1)], 0, "a polygon of 2 points; it takes three or more"),
    ([(0, 0), (9, 0), (9.001, 0.001), (0, 9)], 0, "points 2 and 3 are closer than 0.01 mm"),
    ([(0, 0), (9, 0), (0, 9), (0, 0)], 0, "points 1 and 4 are closer than 0.01 mm; the last point joins the first by "
     "itself"),
    ([(0, 0), (9, 0), (4, 0)], 0, "the points lie on one line and enclose no area"),
    ([(0, 0), (9, 0), (9, 9), (9, 4), (9, 12), (0, 12)], 0, "at point 3 the side turns back on itself"),
    ([(0, 0), (9, 9), (9, 0), (0, 9)], 0, "the side from point 1 to point 2 meets the side from point 3 to point 4"),
    ([(0, 0), (9, 9), (9, 0), (0, 8)], 0, "the side from point 1 to point 2 meets the side from point 3 to point 4"),
    ([(0, 8), (9, 0), (9, 9), (0, 0)], 0, "the side from point 1 to point 2 meets the side from point 3 to point 4"),
    ([(0, 0), (9, 0), (9, 9), (4, 0), (0, 9)], 0,
     "the side from point 1 to point 2 meets the side from point 3 to point 4"),
    ([(0, 0), (20, 0), (20, 8), (0, 8)], 5, "a corner radius of 5 mm is too large at points 2 and 3: the side between "
     "them, 8 mm long, takes at most 4 mm"),
    ([(0, 8), (20, 8), (20, 0), (0, 0)], 5, "a corner radius of 5 mm is too large at points 2 and 3: the side between "
     "them, 8 mm long, takes at most 4 mm"),
    ([(0, 0), (20, 0), (20, 20), (12, 20), (19, 1.5), (10, 20), (0, 20)], 3, "a corner radius of 3 mm is too large"),
]  # fmt: skip


@pytest.mark.parametrize(("points", "radius", "said"), WRONG, ids=range(len(WRONG)))
def test_polygons_that_cannot_be(points, radius, said) -> None:
    """What is wrong is said with the points' numbers."""
    with pytest.raises(GeometryError) as caught:
        polygon([(float(x), float(y)) for x, y in points], radius)
    assert str(caught.value).startswith(said)

