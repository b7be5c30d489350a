"""Curves, and the arcs that follow them: held against closed forms, scipy's splines and dense sampling."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import BSpline

from toolpaths.errors import GeometryError
from toolpaths.geometry.biarc import arcs_along
from toolpaths.geometry.crossing import distance_to
from toolpaths.geometry.curve import Bezier, Curve, Ellipse, beziers
from toolpaths.geometry.segment import TURN, Arc, Segment
from toolpaths.tolerance import DRAWN_CURVE

SAMPLES = 4001


def worst(curve: Curve, segments: list[Segment]) -> float:
    """How far the curve leaves the arcs anywhere, mm, by dense sampling."""
    begin, end = curve.span
    points = [curve.point(begin + (end - begin) * k / (SAMPLES - 1)) for k in range(SAMPLES)]
    return max(min(distance_to(segment, point) for segment in segments) for point in points)


def kinks(segments: list[Segment]) -> float:
    """The largest turn between neighbours, rad."""
    turns = [(a.tangent_at(a.length), b.tangent_at(0.0)) for a, b in pairwise(segments)]
    return max((abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) for (ax, ay), (bx, by) in turns), default=0.0)


CURVES = [
    Ellipse((0.0, 0.0), (15.0, 0.0), (0.0, 7.5), (0.0, TURN)),
    Ellipse((3.0, -2.0), (200.0, 30.0), (-1.0, 4.0), (0.5, 4.0)),
    Ellipse((1e4, 1e4), (5.0, 3.0), (-1.0, 4.0), (0.5, 5.0)),
    Bezier(((0, 0), (30, 20), (-20, 20), (10, 0)), (1, 1, 1, 1)),
    Bezier(((0, 0), (0, 0), (10, 20), (30, 20)), (1, 1, 1, 1)),
    Bezier(((0, 0), (10, 40), (30, 20)), (1, 3, 0.5)),
]


@pytest.mark.parametrize("curve", CURVES)
def test_arcs_keep_to_the_tolerance_without_a_corner(curve) -> None:
    """Arcs leave a curve by no more than the tolerance, run into each other, and begin and end as it does."""
    segments = arcs_along(curve, DRAWN_CURVE)
    assert worst(curve, segments) <= DRAWN_CURVE
    assert kinks(segments) < 1e-6
    assert all(a.end == b.start for a, b in pairwise(segments))
    begin, end = curve.span
    assert segments[0].start == pytest.approx(curve.point(begin))
    assert segments[-1].end == pytest.approx(curve.point(end))
    assert segments[0].tangent_at(0.0) == pytest.approx(curve.direction(begin), abs=1e-6)


def test_a_tighter_tolerance_is_kept_too() -> None:
    """The tolerance is the caller's: a tenth of it is kept with more arcs."""
    fine, coarse = (arcs_along(CURVES[0], tolerance) for tolerance in (DRAWN_CURVE / 10, DRAWN_CURVE))
    assert worst(CURVES[0], fine) <= DRAWN_CURVE / 10 and len(fine) > len(coarse)


def test_the_length_of_an_ellipse_is_ramanujans() -> None:
    """The arcs along a full ellipse are as long as Ramanujan's second formula says (its error here is under 1e-9)."""
    a, b = 15.0, 7.5
    h = ((a - b) / (a + b)) ** 2
    expected = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert sum(s.length for s in arcs_along(CURVES[0], DRAWN_CURVE)) == pytest.approx(expected, rel=2e-5)


def test_a_circle_as_a_rational_curve_is_that_circle() -> None:
    """The quarter of a circle that a rational curve of degree 2 is exactly comes out as arcs of that circle."""
    segments = arcs_along(Bezier(((10, 0), (10, 10), (0, 10)), (1, math.sqrt(0.5), 1)), DRAWN_CURVE)
    assert all(isinstance(s, Arc) and s.radius == pytest.approx(10) for s in segments)
    assert all(isinstance(s, Arc) and s.centre == pytest.approx((0, 0), abs=1e-9) for s in segments)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=5, max_size=12),
    st.integers(1, 4),
    st.data(),
)
def test_a_spline_is_its_bezier_curves(points, degree, data) -> None:
    """A B-spline's Bezier curves, end to end, are the curve that scipy evaluates, also with weights."""
    inner = len(points) - degree - 1
    steps = data.draw(st.lists(st.floats(0.1, 3.0), min_size=inner + 1, max_size=inner + 1))
    stops = [0.0, *np.cumsum(steps).tolist()]
    knots = [0.0] * degree + stops + [stops[-1]] * degree
    weights = data.draw(st.lists(st.floats(0.2, 5.0), min_size=len(points), max_size=len(points)))
    found = beziers(points, weights, knots, degree)
    assert len(found) == inner + 1
    raised = np.array([(x * w, y * w, w) for (x, y), w in zip(points, weights, strict=True)])
    outside = BSpline(np.array(knots), raised, degree)
    for one, (begin, end) in zip(found, pairwise(stops), strict=True):
        for share in (0.0, 0.3, 0.7, 1.0):
            x, y, w = outside(min(begin + share * (end - begin), stops[-1] * (1 - 1e-15)))
            assert one.point(share) == pytest.approx((x / w, y / w), abs=1e-6)


@pytest.mark.parametrize(
    ("points", "weights", "knots", "degree", "said"),
    [
        ([(0, 0), (1, 1)], [], [0, 0, 0, 1, 1], 2, "too few"),
        ([(0, 0), (1, 1), (2, 0)], [], [0, 0, 1, 1], 2, "knots; 3 control points"),
        ([(0, 0), (1, 1), (2, 0)], [], [0, 0, 0, 1, 0.5, 1], 2, "do not rise"),
        ([(0, 0), (1, 1), (2, 0)], [1, -1, 1], [0, 0, 0, 1, 1, 1], 2, "weights"),
        ([(0, 0), (1, 1), (2, 0)], [], [0, 0, 0, 0, 0, 0], 2, "no length"),
    ],
)
def test_what_is_no_spline_is_said(points, weights, knots, degree, said) -> None:
    """Figures that make no curve are refused with what is wrong with them."""
    with pytest.raises(GeometryError, match=said):
        beziers(points, weights, knots, degree)


def test_a_curve_that_turns_back_is_refused() -> None:
    """An ellipse without width runs back on itself, which no arc follows."""
    with pytest.raises(GeometryError):
        arcs_along(Ellipse((0.0, 0.0), (10.0, 0.0), (5.0, 0.0), (0.0, TURN)), DRAWN_CURVE)
