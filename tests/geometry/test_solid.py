"""Solids against closed forms: distances, overlaps, and how far to move one until it is clear."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.segment import Line
from toolpaths.geometry.shapes import circle, rounded_rectangle, slot
from toolpaths.geometry.solid import Frame, Prism, box_distance, box_of, distance, overlap, scaled, slide, unit

FLAT = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def upright(x: float, y: float, diameter: float, low: float, high: float) -> Prism:
    """A cylinder on the plane of X and Y."""
    return Prism(FLAT, circle((x, y), diameter), low, high)


def turned_frame(draw: random.Random, reach: float) -> tuple[Frame, np.ndarray]:
    """A frame in any direction (a random unit quaternion), its origin within ``reach``."""
    w, x, y, z = unit4([draw.gauss(0, 1) for _ in range(4)])
    matrix = np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )
    origin = tuple(draw.uniform(-reach, reach) for _ in range(3))
    columns = [tuple(float(value) for value in matrix[:, axis]) for axis in range(3)]
    return Frame(origin, *columns), matrix


def unit4(values: list[float]) -> list[float]:
    return [value / math.hypot(*values) for value in values]


def test_boxes_side_by_side_over_corner_and_edge() -> None:
    """Boxes along the axes are as far apart as the hypotenuse of their gaps."""
    one = box_of((0, 0, 10, 10), 0, 10, FLAT)
    for dx, dy, dz in ((5, 0, 0), (5, 7, 0), (5, 7, 3), (0, 0, 2)):
        two = box_of((10 + dx, 10 + dy, 20 + dx, 20 + dy), 10 + dz, 20 + dz, FLAT)
        assert distance(one, two) == pytest.approx(math.hypot(dx, dy, dz), abs=1e-9)
        assert box_distance(one.bounds, two.bounds) == pytest.approx(math.hypot(dx, dy, dz))


def test_cylinders_upright_and_crossed() -> None:
    """Cylinders are as far apart as their axes less their radii, and over their rims by the hypotenuse."""
    assert distance(upright(0, 0, 20, 0, 10), upright(30, 0, 10, -5, 5)) == pytest.approx(15)
    over = distance(upright(0, 0, 20, 0, 10), upright(30, 40, 10, 13, 15))
    assert over == pytest.approx(math.hypot(50 - 15, 3), abs=1e-6)
    lying = Prism(Frame((0, 0, 40), (0, 1, 0), (0, 0, 1), (1, 0, 0)), circle((0, 0), 12), -50, 50)
    standing = Prism(Frame((0, 30, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)), circle((0, 0), 8), -10, 90)
    assert distance(lying, standing) == pytest.approx(30 - 6 - 4, abs=1e-6)
    # a lying cylinder over the flat end of an upright one: the lowest line of it counts
    assert distance(lying, upright(0, 0, 30, 0, 20)) == pytest.approx(40 - 6 - 20, abs=1e-6)


def test_rounded_corners_keep_their_radius() -> None:
    """From a rounded corner along the diagonal a cylinder is further than from a sharp one by (sqrt 2 - 1) r."""
    round_box = Prism(FLAT, rounded_rectangle((0, 0), 40, 40, 8), 0, 10)
    sharp_box = box_of((-20, -20, 20, 20), 0, 10, FLAT)
    far = upright(50, 50, 10, 0, 10)
    extra = distance(round_box, far) - distance(sharp_box, far)
    assert extra == pytest.approx((math.sqrt(2) - 1) * 8, abs=1e-6)


def test_a_ball_as_the_limit_of_many_cylinders() -> None:
    """Points on a ball, as tiny boxes, are as far from a cylinder's wall as the ball is at its nearest."""
    wall = upright(0, 0, 20, -100, 100)
    near = min(
        distance(
            wall,
            box_of((-1e-4, -1e-4, 1e-4, 1e-4), -1e-4, 1e-4, Frame(
                (40 + 15 * math.cos(a) * math.cos(b), 15 * math.sin(a) * math.cos(b), 15 * math.sin(b)),
                FLAT.x, FLAT.y, FLAT.normal,
            )),
        )
        for a in np.linspace(0, 2 * math.pi, 25)
        for b in np.linspace(-math.pi / 2, math.pi / 2, 13)
    )  # fmt: skip
    assert near == pytest.approx(40 - 15 - 10, abs=1e-3)


def test_overlap_is_the_shortest_way_out() -> None:
    """Boxes part by the least of their overlaps along the axes, cylinders by radii less distance of axes."""
    assert overlap(box_of((0, 0, 10, 10), 0, 10, FLAT), box_of((7, 4, 20, 20), 5, 9, FLAT)) == pytest.approx(3)
    assert overlap(upright(0, 0, 20, 0, 30), upright(12, 5, 10, 0, 30)) == pytest.approx(15 - 13, abs=1e-3)
    assert overlap(upright(0, 0, 20, 0, 30), upright(12, 5, 10, 29, 60)) == pytest.approx(1, abs=1e-6)
    assert overlap(upright(0, 0, 20, 0, 30), upright(40, 0, 10, 0, 30)) == 0


@pytest.mark.parametrize("seed", range(3))
def test_the_overlap_told_parts_them(seed: int) -> None:
    """Two solids in any direction meet exactly where an overlap is told, and no sampled move by less parts them."""
    draw = random.Random(seed)
    met = 0
    for _ in range(12):
        first = Prism(turned_frame(draw, 8)[0], slot((0, 0), 30, 12), -8, 8)
        second = box_of((-9, -6, 9, 6), -5, 5, turned_frame(draw, 8)[0])
        deep = overlap(first, second)
        assert (deep > 0) == (distance(first, second) == 0)
        met += deep > 0
        for _ in range(20 if deep > 0 else 0):
            way = unit(tuple(draw.gauss(0, 1) for _ in range(3)))
            assert distance(first, second, shift=scaled(way, 0.98 * deep - 0.01)) == 0
    assert met > 3


def test_a_slide_ends_where_the_air_begins() -> None:
    """Moved by what is told a solid has the air that was asked for, and hardly more."""
    first, second = upright(0, 0, 20, 0, 10), box_of((5, -10, 25, 10), -5, 5, FLAT)
    for way, air in (((-1.0, 0.0, 0.0), 0.0), ((0.0, 1.0, 0.0), 2.5), (unit((-1.0, 0.3, 0.0)), 1.0)):
        by = slide(first, second, way, air)
        assert air <= distance(first, second, shift=scaled(way, by)) + 1e-9 <= air + 0.02
    assert slide(first, second, (-1.0, 0.0, 0.0)) == pytest.approx(5, abs=0.01)
    assert slide(first, second, (1.0, 0.0, 0.0), furthest=10) is None


def test_beyond_what_is_asked_a_lower_bound_is_enough() -> None:
    """With ``enough`` the answer exceeds it where the distance does, and never exceeds the distance."""
    one, two = upright(0, 0, 20, 0, 10), upright(100, 30, 17, 5, 10)
    true = distance(one, two)
    assert 20 < distance(one, two, enough=20) <= true + 1e-6
    assert distance(one, two, enough=500) == pytest.approx(true)


def test_what_is_no_convex_solid_is_refused() -> None:
    """A dented footprint, one that runs clockwise, and a solid without height are errors."""
    points = [(0.0, 0.0), (10.0, 0.0), (5.0, 3.0), (0.0, 10.0)]
    dented = Contour(tuple(Line(points[i], points[(i + 1) % 4]) for i in range(4)))
    for footprint, low, high in ((dented, 0, 1), (circle((0, 0), 5).reversed(), 0, 1), (circle((0, 0), 5), 1, 1)):
        with pytest.raises(GeometryError):
            Prism(FLAT, footprint, low, high)
