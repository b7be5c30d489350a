"""Segments and contours: ways along them, parts of them, images of them."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.shapes import circle, d_hole, double_d_hole, rounded_rectangle, slot

SHAPES = [
    circle((3.0, 4.0), 10.0),
    rounded_rectangle((1.0, 2.0), 27.0, 20.0, 2.5, 0.3),
    rounded_rectangle((0.0, 0.0), 7.0, 9.0),
    slot((-4.0, 0.0), 20.0, 6.0, 1.1),
    d_hole((0.0, 0.0), 12.7, 11.7, 2.0),
    d_hole((0.0, 0.0), 12.7, 3.0),
]
shapes = st.sampled_from(SHAPES)
places = st.floats(-100, 200)


@given(shapes, places, st.floats(0.001, 150))
@settings(max_examples=150)
def test_a_part_begins_ends_and_measures_as_asked(shape: Contour, begin: float, length: float) -> None:
    """cut(d0, d1) is a connected chain from point_at(d0) to point_at(d1), d1 - d0 long, however often it goes round."""
    chain = shape.cut(begin, begin + length)
    assert sum(segment.length for segment in chain) == pytest.approx(length, abs=1e-6)
    assert math.dist(chain[0].start, shape.point_at(begin)) < 1e-6
    assert math.dist(chain[-1].end, shape.point_at(begin + length)) < 1e-6
    assert all(math.dist(a.end, b.start) < 1e-9 for a, b in pairwise(chain))


@given(shapes, places)
@settings(max_examples=100)
def test_another_start_changes_nothing_else(shape: Contour, begin: float) -> None:
    """starting_at keeps area, perimeter and bounds, and begins at point_at of the same distance."""
    moved = shape.starting_at(begin)
    assert math.dist(moved.segments[0].start, shape.point_at(begin)) < 1e-6
    assert (moved.area, moved.perimeter) == pytest.approx((shape.area, shape.perimeter))
    assert moved.bounds == pytest.approx(shape.bounds, abs=1e-6)
    assert len(moved.segments) <= len(shape.segments) + 1


@pytest.mark.parametrize("begin", [0.0, 1e-7, 1.5e-7, 2.1e-7, 1e-6])
@pytest.mark.parametrize("backwards", [False, True])
def test_a_start_beside_a_corner_leaves_no_gap(begin: float, backwards: bool) -> None:
    """However near to each corner a contour is begun, from either side, it is closed and as long as it was."""
    shape = double_d_hole((0.0, 0.0), 12.7, 6.7, 0.0)
    ends = [sum(part.length for part in shape.segments[:k]) for k in range(len(shape.segments))]
    for end in ends:
        moved = shape.starting_at(end - begin if backwards else end + begin)
        assert moved.perimeter == pytest.approx(shape.perimeter, abs=1e-9)


@given(shapes, places)
@settings(max_examples=100)
def test_travel_follows_the_tangent(shape: Contour, place: float) -> None:
    """point_at a little further on lies along tangent_at; reversed, the same point is passed the other way."""
    (x0, y0), (x1, y1), (tx, ty) = shape.point_at(place), shape.point_at(place + 1e-6), shape.tangent_at(place)
    ahead = [(corner - place) % shape.perimeter for corner, _ in shape.corners()]
    if all(gap > 1e-5 for gap in ahead):
        assert ((x1 - x0) / 1e-6, (y1 - y0) / 1e-6) == pytest.approx((tx, ty), abs=1e-5)
    back = shape.reversed()
    assert back.area == pytest.approx(-shape.area)
    assert math.dist(back.point_at(-place), (x0, y0)) < 1e-6


def test_a_circle_stays_one_arc_from_any_start() -> None:
    """A circle begun elsewhere is still one full arc, and more than a turn of it is a full turn and the rest."""
    hole = circle((0.0, 0.0), 10.0)
    quarter = hole.perimeter / 4
    assert [segment.length for segment in hole.starting_at(quarter).segments] == pytest.approx([4 * quarter])
    assert hole.starting_at(quarter).segments[0].start == pytest.approx((0.0, 5.0), abs=1e-12)
    assert [segment.length for segment in hole.cut(quarter, 6 * quarter)] == pytest.approx([4 * quarter, quarter])


def test_a_mirror_turns_the_way_round() -> None:
    """A mirrored contour is clockwise: its area is the negative, its arcs turn the other way."""
    shape = SHAPES[1]
    mirrored = shape.mapped(lambda point: (-point[0], point[1]), flips=True)
    assert mirrored.area == pytest.approx(-shape.area)
    assert mirrored.perimeter == pytest.approx(shape.perimeter)
    x0, y0, x1, y1 = shape.bounds
    assert mirrored.bounds == pytest.approx((-x1, y0, -x0, y1))


@pytest.mark.parametrize(
    ("segments", "message"),
    [
        ((), "at least one"),
        ((Line((0, 0), (1, 0)), Line((1, 0), (0, 1))), "open by 1 mm"),
        ((Line((0, 0), (1, 0)), Line((1, 0), (1, 0)), Line((1, 0), (0, 0))), "without length"),
        ((Line((0, 0), (2, 0)), Arc((2, 0), (0, 0), (0.9, 0), True)), "two radii"),
        ((Line((0, 0), (math.nan, 0)), Line((math.nan, 0), (0, 0))), "open"),
    ],
)
def test_chains_that_are_no_contour_are_refused(segments, message: str) -> None:
    """Gaps, pieces without length, arcs off their circle and coordinates that are no numbers are GeometryErrors."""
    with pytest.raises(GeometryError, match=message):
        Contour(segments)


def test_a_part_without_length_is_refused() -> None:
    """A cut of no length would turn an arc into a full circle: it is an error instead."""
    with pytest.raises(GeometryError, match="no length"):
        SHAPES[0].cut(3.0, 3.0)
    with pytest.raises(GeometryError, match="no length"):
        Arc((1, 0), (0, 1), (0, 0), True).cut(0.5, 0.5)
