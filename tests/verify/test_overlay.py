"""Overlays of areas that nearly coincide are right, and never an exception."""

import math
import random

import pytest
import shapely

from toolpaths.verify import overlay

CORNERS = [(9.221474959322578, 3.428250890591022), (-16.46157580691851, 13.078619373078979), (-3.3536986399716837, -16.99469729851369)]  # fmt: skip  # noqa: E501
NUDGED = [(9.221474959322578, 3.4282508905910216), (-16.46157580691851, 13.078619373078979), (-3.3536986399716837, -16.994697298513692)]  # fmt: skip  # noqa: E501


def test_areas_that_differ_in_the_last_bit_are_one() -> None:
    """Two triangles with corners apart by float error: nothing of one is outside the other, and all is in common."""
    a, b = shapely.Polygon(CORNERS), shapely.Polygon(NUDGED)
    assert overlay.difference(a, b).area == pytest.approx(0, abs=1e-5)
    assert overlay.difference(b, a).area == pytest.approx(0, abs=1e-5)
    assert overlay.intersection(a, b).area == pytest.approx(a.area)
    assert overlay.union(a, b).area == pytest.approx(a.area)


def test_an_area_folded_over_itself_is_no_exception() -> None:
    """Where the plain overlay gives up, as on an area that crosses itself, the one on a grid answers."""
    folded = shapely.Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    square = shapely.box(0, 0, 10, 10)
    with pytest.raises(shapely.errors.GEOSException):
        shapely.union(folded, square)
    assert overlay.union(folded, square).area == pytest.approx(100)
    assert overlay.union_all([folded, square]).area == pytest.approx(100)
    assert overlay.difference(square, folded).area == pytest.approx(50)
    assert overlay.intersection(square, folded).area == pytest.approx(50)


def test_what_two_areas_have_apart_and_in_common_adds_up() -> None:
    """Of 200 pairs of turned rectangles with a side in common, difference and intersection make up the whole."""
    chance = random.Random(7)
    for _ in range(200):
        angle, width = chance.uniform(0, math.tau), chance.uniform(1, 9)
        a = shapely.affinity.rotate(shapely.box(0, 0, 20, 10), angle, origin=(3, 4), use_radians=True)
        b = shapely.affinity.rotate(shapely.box(0, 0, 20, width), angle, origin=(3, 4), use_radians=True)
        assert overlay.difference(a, b).area == pytest.approx(20 * (10 - width), abs=1e-4)
        assert overlay.intersection(a, b).area == pytest.approx(20 * width, abs=1e-4)
