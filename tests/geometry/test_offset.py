"""Offsets against closed forms, against themselves, and against a faceted buffer that shares no code with them."""

import math
import random
from collections.abc import Sequence
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import difference_area, faceted, inside, region
from toolpaths.geometry.offset import distance, offset, offset_region, opened
from toolpaths.geometry.segment import XY, Arc, Line, Segment
from toolpaths.geometry.shapes import circle, d_hole, rounded_rectangle, slot

SAGITTA = 0.001


def kinds(contour: Contour) -> str:
    return "".join("A" if isinstance(segment, Arc) else "L" for segment in contour.segments)


def area(contours: Sequence[Contour]) -> float:
    return sum(contour.area for contour in contours)


def polygon(points: Sequence[XY], radii: Sequence[float]) -> Contour:
    """A polygon whose corners are rounded by radii, each cut down to what its sides allow; 0: sharp."""
    chain: list[Segment] = []
    count, reached = len(points), None
    for index in range(count):
        before, corner, after = points[index - 1], points[index], points[(index + 1) % count]
        ux, uy = Line(corner, before).tangent_at(0)
        vx, vy = Line(corner, after).tangent_at(0)
        half = math.acos(max(-1.0, min(1.0, ux * vx + uy * vy))) / 2
        room = 0.45 * min(math.dist(corner, before), math.dist(corner, after))
        leg = min(radii[index] / math.tan(half), room)
        first, last = (corner[0] + leg * ux, corner[1] + leg * uy), (corner[0] + leg * vx, corner[1] + leg * vy)
        if reached is not None:
            chain.append(Line(reached, first))
        reached = last if leg > 0.01 else first
        if leg > 0.01:
            mx, my = (ux + vx) / (2 * math.cos(half)), (uy + vy) / (2 * math.cos(half))
            reach = leg / math.cos(half)
            chain.append(Arc(first, last, (corner[0] + reach * mx, corner[1] + reach * my), uy * vx - ux * vy > 0))
    assert reached is not None
    return Contour((*chain, Line(reached, chain[0].start)))


def star(seed: int, corners: int, rounded: bool) -> Contour:
    """A random polygon, star-shaped about the origin, convex or not, sharp or rounded."""
    chance = random.Random(seed)
    angles = [(index + chance.uniform(-0.2, 0.2)) * 2 * math.pi / corners for index in range(corners)]
    rays = [chance.uniform(8, 30) for _ in angles]
    radii = [chance.choice([0.0, chance.uniform(0.5, 5)]) if rounded else 0.0 for _ in angles]
    return polygon([(ray * math.cos(a), ray * math.sin(a)) for ray, a in zip(rays, angles, strict=True)], radii)


stars = st.builds(star, st.integers(0, 10**6), st.integers(3, 9), st.booleans())
rectangles = st.builds(
    lambda w, h, part, angle: rounded_rectangle((3.0, -2.0), w, h, part * min(w, h) / 2, angle),
    st.floats(4, 60),
    st.floats(4, 60),
    st.floats(0.05, 1),
    st.floats(-4, 4),
)
slots = st.builds(
    lambda w, extra, angle: slot((1.0, 5.0), w + extra, w, angle), st.floats(2, 20), st.floats(0, 40), st.floats(-4, 4)
)
d_holes = st.builds(
    lambda d, part, angle: d_hole((0.0, 9.0), d, part * d, angle),
    st.floats(4, 40),
    st.floats(0.05, 0.98),
    st.floats(-4, 4),
)


# --- closed forms ----------------------------------------------------------------------------------------------------


def test_offset_of_a_circle_is_one_arc() -> None:
    """A circle's offset is one circle, wherever it begins; at its radius and beyond nothing is left."""
    hole = circle((1.0, 1.0), 10.0)
    for moved in (2.0, -2.0, -4.9999):
        [other] = offset(hole.starting_at(3.0), moved)
        assert kinds(other) == "A"
        assert other.area == pytest.approx(math.pi * (5 + moved) ** 2)
    assert offset(hole, -5.0) == offset(hole, -6.0) == []


def test_offset_of_a_rounded_rectangle_is_a_rounded_rectangle() -> None:
    """Eight segments both ways; by exactly the corner radius and more, four lines; at half the side, nothing."""
    shape = rounded_rectangle((3.0, 4.0), 27.0, 20.0, 2.5, 0.3)
    for moved in (3.0, 0.5, -0.5, -2.4999):
        [other] = offset(shape, moved)
        same = rounded_rectangle((3.0, 4.0), 27 + 2 * moved, 20 + 2 * moved, 2.5 + moved, 0.3)
        assert kinds(other) == "LALALALA"
        assert (other.area, other.perimeter) == pytest.approx((same.area, same.perimeter))
        assert other.bounds == pytest.approx(same.bounds)
    for moved in (-2.5, -4.0, -9.9999):
        [other] = offset(shape, moved)
        assert kinds(other) == "LLLL"
        assert other.area == pytest.approx((27 + 2 * moved) * (20 + 2 * moved))
    assert offset(shape, -10.0) == offset(shape, -10.1) == []


@pytest.mark.parametrize("left", [1.0, 1e-2, 1e-4, 1e-6])
def test_slot_shrinks_to_nearly_nothing_and_then_vanishes(left: float) -> None:
    """Inwards by half the width less a trifle a slot is still a slot; by half the width it is gone."""
    shape = slot((1.0, 1.0), 20.0, 6.0, 0.7)
    [other] = offset(shape, left - 3)
    assert kinds(other) == "LALA"
    assert other.area == pytest.approx(14 * 2 * left + math.pi * left**2, rel=1e-3)
    assert offset(shape, -3.0) == offset(shape, -3 - left) == []


def test_growing_rounds_sharp_corners_only() -> None:
    """A grown polygon has area + perimeter * d + pi d^2 (Steiner's formula for convex shapes)."""
    for shape, wanted in ((rounded_rectangle((0, 0), 20, 10), "LALALALA"), (d_hole((0, 0), 12.7, 11.7), "LAAA")):
        [grown] = offset(shape, 1.5)
        assert sorted(kinds(grown)) == sorted(wanted)
        assert grown.area == pytest.approx(shape.area + 1.5 * shape.perimeter + math.pi * 1.5**2)


def test_the_cutter_stays_in_sharp_corners() -> None:
    """What a cutter leaves in a right-angled corner is (1 - pi/4) r^2, four times in a rectangle."""
    [cut] = opened(rounded_rectangle((0, 0), 20, 10), 1.5)
    assert cut.area == pytest.approx(200 - (4 - math.pi) * 1.5**2)
    assert sorted(kinds(cut)) == list("AAAALLLL")


def keyhole(half: float) -> Contour:
    """A circle of radius 6 with a slot of width 2 * half that leaves it to the right."""
    x = math.sqrt(36 - half * half)
    mouth = [(x, -half), (15.0, -half), (15.0, half), (x, half)]
    lines = [Line(a, b) for a, b in pairwise(mouth)]
    return Contour((*lines, Arc(mouth[3], mouth[0], (0.0, 0.0), ccw=True)))


@pytest.mark.parametrize("slack", [0.1, 1e-4, 1e-7, 1e-8, 1e-9, 0.0, -1e-9, -1e-8, -1e-7, -1e-4, -0.1])
def test_a_neck_as_wide_as_the_cutter_leaves_the_room_behind_it(slack: float) -> None:
    """Inwards by about half the neck's width, the circle of a keyhole stays whole, with no whisker in the neck."""
    left = offset(keyhole(2.0 + slack), -2.0)
    faceted_area = faceted(keyhole(2.0 + slack), 1e-5).buffer(-2.0, quad_segs=512).area
    assert area(left) == pytest.approx(faceted_area, abs=2e-3)
    assert len(left) == 1
    if abs(slack) < 1e-8:
        assert left[0].bounds[2] < 6.0
    cut = opened(keyhole(2.0 + slack), 2.0)
    assert area(cut) > math.pi * 36
    assert all(inside(part, keyhole(2.0 + slack)) for part in cut)


def test_a_narrow_waist_splits_and_the_parts_grow_together_again() -> None:
    """A cutter too wide for the waist clears two rooms; cleared areas that meet in the waist are one contour."""
    waist = polygon([(-12, -6), (0, -1.5), (12, -6), (12, 6), (0, 1.5), (-12, 6)], [0.0] * 6)
    rooms = offset(waist, -1.6)
    assert len(rooms) == 2
    [cut] = opened(waist, 1.6)
    assert area([cut]) == pytest.approx(region(rooms, 1e-5).buffer(1.6, quad_segs=512).area, abs=2e-3)


def test_rooms_that_touch_at_a_point_stay_apart() -> None:
    """Inwards by exactly half the waist the rooms touch where the arcs about the waist's corners do: two contours."""
    waist = polygon([(-12, -6), (0, -1.5), (12, -6), (12, 6), (0, 1.5), (-12, 6)], [0.0] * 6)
    rooms = offset(waist, -1.5)
    assert len(rooms) == 2
    assert rooms[0].area == pytest.approx(rooms[1].area)
    assert max(room.bounds[0] for room in rooms) == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("dent", [1e-3, 1e-4, 1e-5, 1e-6])
def test_a_side_bent_by_a_trifle_stays_whole(dent: float) -> None:
    """Grown sides that overlap by a trifle at a shallow dent end where they cross, without slivers."""
    shape = polygon([(0, 0), (10, dent), (20, 0), (20, 10), (0, 10)], [0.0] * 5)
    [grown] = offset(shape, 5.0)
    assert kinds(grown).count("A") == 4
    assert min(segment.length for segment in grown.segments) > 7
    assert grown.area == pytest.approx(30 * 20 - (4 - math.pi) * 25 - 10 * dent, abs=20 * dent**2 + 1e-6)


def test_a_bay_that_closes_becomes_a_hole() -> None:
    """A grown C closes its mouth: one outer contour, and the bay's rest as a clockwise one."""
    points = [
        (0, 0),
        (20, 0),
        (20, 8),
        (18, 8),
        (18, 3),
        (3, 3),
        (3, 15),
        (18, 15),
        (18, 10),
        (20, 10),
        (20, 18),
        (0, 18),
    ]
    shape = polygon(points, [0.0] * 12)
    outer, bay = offset(shape, 1.0)
    assert outer.area > 0 > bay.area
    assert bay.area == pytest.approx(-(13 * 10 + 2 - math.pi / 2))
    assert outer.area == pytest.approx(20 * 18 + 76 + math.pi - (2 - math.pi / 2))


# --- identities ------------------------------------------------------------------------------------------------------


@given(st.one_of(rectangles, slots, d_holes), st.floats(0.01, 12))
@settings(max_examples=120, deadline=None)
def test_out_and_back_in_is_the_identity(shape: Contour, moved: float) -> None:
    """Shapes without re-entrant corners come back from an offset out and in: same kinds, area, perimeter, place."""
    [grown] = offset(shape, moved)
    [back] = offset(grown, -moved)
    assert sorted(kinds(back)) == sorted(kinds(shape))
    assert (back.area, back.perimeter) == pytest.approx((shape.area, shape.perimeter), abs=1e-5)
    assert back.bounds == pytest.approx(shape.bounds, abs=1e-6)
    assert max(distance(shape, back.point_at(back.perimeter * i / 40)) for i in range(40)) < 1e-6


@given(stars, st.floats(0.05, 4))
@settings(max_examples=80, deadline=None)
def test_out_and_back_in_contains_the_original(shape: Contour, moved: float) -> None:
    """With re-entrant corners, out and back in only fills: it contains the original."""
    back = offset_region(offset(shape, moved), -moved)
    assert difference_area(shape, back) <= SAGITTA * shape.perimeter


@given(st.one_of(stars, rectangles, d_holes), st.floats(0.05, 4))
@settings(max_examples=80, deadline=None)
def test_in_and_back_out_lies_within_the_original(shape: Contour, radius: float) -> None:
    """What a cutter clears never leaves the shape, and comes nowhere nearer the wall than it may."""
    for part in opened(shape, radius):
        assert part.area <= shape.area + 1e-6
        assert inside(part, shape)


@given(st.one_of(rectangles, slots), st.floats(0.05, 0.99))
@settings(max_examples=80, deadline=None)
def test_in_and_back_out_is_the_original_where_all_corners_are_rounder(shape: Contour, part: float) -> None:
    """A cutter thinner than every corner leaves the shape itself."""
    radius = part * min(segment.radius for segment in shape.segments if isinstance(segment, Arc))
    [cut] = opened(shape, radius)
    assert kinds(cut) == kinds(shape)
    assert (cut.area, cut.perimeter) == pytest.approx((shape.area, shape.perimeter), abs=1e-5)
    assert max(distance(shape, cut.point_at(cut.perimeter * i / 40)) for i in range(40)) < 1e-6


# --- an oracle that shares no code -----------------------------------------------------------------------------------


@given(stars, st.floats(-6, 6).filter(lambda moved: abs(moved) > 0.02))
@settings(max_examples=120, deadline=None)
def test_offset_agrees_with_a_faceted_buffer(shape: Contour, moved: float) -> None:
    """Area and place agree with shapely's buffer of fine facets on polygons, convex or not, sharp or rounded."""
    found = offset(shape, moved)
    wanted = faceted(shape, 2e-4).buffer(moved, quad_segs=200)
    slack = 3e-4 * (shape.perimeter + wanted.length)
    assert area(found) == pytest.approx(wanted.area, abs=slack)
    assert region(found, 2e-4).symmetric_difference(wanted).area <= slack
    for contour in found:
        for index in range(50):
            x, y = contour.point_at(contour.perimeter * index / 50)
            assert distance(shape, (x, y)) == pytest.approx(abs(moved), abs=1e-6)
            assert faceted(shape).buffer(1e-2).covers(shapely.Point(x, y)) or moved > 0


@given(stars, st.floats(0.3, 2.0))
@settings(max_examples=30, deadline=None)
def test_nested_offsets_are_the_offset_by_their_sum(shape: Contour, step: float) -> None:
    """Stepping inwards again and again, as clearing does, gives what one step by the sum gives, and ends."""
    level, total = [shape], 0.0
    while level:
        level = [inner for contour in level for inner in offset(contour, -step)]
        total += step
        assert area(level) == pytest.approx(area(offset(shape, -total)), abs=1e-4)
        assert total < 40


def test_distance_to_lines_and_arcs_is_exact() -> None:
    """Nearest point on a side, on an arc, or at an end, whichever is least."""
    shape = d_hole((0.0, 0.0), 10.0, 8.0)
    assert distance(shape, (0.0, 0.0)) == pytest.approx(3.0)
    assert distance(shape, (-7.0, 0.0)) == pytest.approx(2.0)
    assert distance(shape, (5.0, 0.0)) == pytest.approx(2.0)
    assert distance(shape, (6.0, 4.0)) == pytest.approx(3.0)
    assert distance(circle((0, 0), 10.0), (0.0, 0.0)) == pytest.approx(5.0)
