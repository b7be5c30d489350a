"""Faceted copies and the set questions they answer, against closed forms."""

import math

import pytest

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import (
    across,
    difference_area,
    faceted,
    faceted_outside,
    gap,
    holds,
    inside,
    overlaps,
    region,
    shared_area,
    wall,
)
from toolpaths.geometry.segment import Line
from toolpaths.geometry.shapes import circle, d_hole, rounded_rectangle, slot
from toolpaths.tolerance import FACET_SAGITTA

SHAPES = [
    circle((3.0, 4.0), 10.0),
    circle((0.0, 0.0), 0.01),
    rounded_rectangle((1.0, 2.0), 270.0, 20.0, 2.5, 0.3),
    slot((-4.0, 0.0), 20.0, 6.0, 1.1),
    d_hole((0.0, 0.0), 12.7, 3.0),
]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("sagitta", [0.0005, 0.02])
def test_facets_keep_to_their_sagitta(shape: Contour, sagitta: float) -> None:
    """Of a convex shape one copy lies within it and one round it, neither off by more than the sagitta."""
    fine, copy, outside = faceted(shape, 1e-6), faceted(shape, sagitta), faceted_outside(shape, sagitta)
    assert outside.buffer(1e-6).covers(fine)
    assert fine.buffer(1e-6).covers(copy)
    assert copy.hausdorff_distance(fine) <= sagitta + 2e-6
    assert outside.hausdorff_distance(fine) <= sagitta + 2e-6
    assert copy.area <= shape.area <= outside.area


@pytest.mark.parametrize(
    ("shape", "diameter"),
    [
        (circle((3.0, 4.0), 12.7), 12.7),
        (slot((1.0, 1.0), 25.0, 6.0, 0.7), 25.0),
        (rounded_rectangle((0.0, 0.0), 30.0, 40.0), 50.0),
        (rounded_rectangle((0.0, 0.0), 30.0, 40.0, 5.0, 0.2), math.hypot(20, 30) + 10),
        (d_hole((0.0, 0.0), 12.7, 11.7), 12.7),
        (d_hole((0.0, 0.0), 10.0, 2.0), 8.0),
    ],
)
def test_smallest_circle_round_a_shape(shape: Contour, diameter: float) -> None:
    """across() is the smallest enclosing circle's diameter to 0.001 mm; below half a circle that is the flat."""
    assert across(shape) == pytest.approx(diameter, abs=1e-3)


def test_gaps_are_those_of_the_drawing() -> None:
    """The gap of two circles is the centre distance less the radii, 0 where one holds the other; a wall is not."""
    a, b = circle((0.0, 0.0), 10.0), circle((13.0, 0.0), 6.0)
    assert gap(a, b) == pytest.approx(5.0, abs=2 * FACET_SAGITTA)
    assert gap(a, circle((1.0, 0.0), 4.0)) == 0
    assert wall(circle((1.0, 0.0), 4.0), a) == pytest.approx(2.0, abs=2 * FACET_SAGITTA)


def test_shared_area_of_two_circles_is_the_lens() -> None:
    """Two unit circles one radius apart share 2 pi/3 - sqrt(3)/2 (geometry); touching shapes do not overlap."""
    a, b = circle((0.0, 0.0), 2.0), circle((1.0, 0.0), 2.0)
    lens = 2 * math.pi / 3 - math.sqrt(3) / 2
    assert shared_area(a, b) == pytest.approx(lens, abs=4 * FACET_SAGITTA)
    assert difference_area(a, b) == pytest.approx(math.pi - lens, abs=4 * FACET_SAGITTA)
    assert overlaps(a, b)
    assert not overlaps(rounded_rectangle((0, 0), 10, 10), rounded_rectangle((10, 0), 10, 10))
    assert not overlaps(a, circle((2.002, 0.0), 2.0))
    assert overlaps(a, circle((1.995, 0.0), 2.0))
    assert overlaps(a, circle((0.0, 0.0), 0.01))


def test_inside_allows_touching_and_nothing_beyond() -> None:
    """A hole that touches the outline from within is inside; one that crosses it by 0.01 mm is not."""
    outline = rounded_rectangle((0, 0), 100, 50, 3)
    assert inside(outline, outline)
    assert inside(circle((45.0, 0.0), 10.0), outline)
    assert not inside(circle((45.01, 0.0), 10.0), outline)
    assert holds(outline, (0.0, 25.0))
    assert not holds(outline, (49.9, 24.9))


def test_a_clockwise_contour_is_a_hole_of_the_region() -> None:
    """The region of a circle and a clockwise circle within it is the ring between them."""
    ring = region([circle((0, 0), 12.0), circle((0, 0), 8.0).reversed()])
    assert ring.area == pytest.approx(math.pi * (36 - 16), abs=0.05)


def test_a_sagitta_must_be_positive() -> None:
    """Facets of sagitta 0 would be without number."""
    with pytest.raises(GeometryError, match="sagitta"):
        faceted(SHAPES[0], 0.0)


def test_shapes_that_differ_in_the_last_bit_alone_are_alike() -> None:
    """Two triangles whose corners differ by float error have all their area in common."""
    corners = [(9.221474959322578, 3.428250890591022), (-16.46157580691851, 13.078619373078979), (-3.3536986399716837, -16.99469729851369)]  # fmt: skip  # noqa: E501
    nudged = [(9.221474959322578, 3.4282508905910216), (-16.46157580691851, 13.078619373078979), (-3.3536986399716837, -16.994697298513692)]  # fmt: skip  # noqa: E501
    a, b = (
        Contour(tuple(Line(start, end) for start, end in zip(points, points[1:] + points[:1], strict=True)))
        for points in (corners, nudged)
    )
    assert overlaps(a, b)
    assert shared_area(a, b) == pytest.approx(a.area)
    assert difference_area(a, b) == pytest.approx(0.0, abs=1e-5)
