"""Shapes against closed forms and outside values."""

import math

import pytest

from toolpaths.errors import GeometryError
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.offset import offset_region
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.shapes import circle, d_hole, double_d_hole, rounded_rectangle, slot


def kinds(contour: Contour) -> str:
    return "".join("A" if isinstance(segment, Arc) else "L" for segment in contour.segments)


@pytest.mark.parametrize("angle", [0.0, 0.4, math.pi / 2, -2.5])
def test_rounded_rectangle_has_the_area_of_the_closed_form(angle: float) -> None:
    """LW - (4 - pi) r^2 is 534.635 mm2 for 27 x 20 mm, radius 2.5 (worked_examples.csv, rounded_rectangle_area)."""
    shape = rounded_rectangle((7.0, -3.0), 27.0, 20.0, 2.5, angle)
    assert shape.area == pytest.approx(534.635, abs=5e-4)
    assert shape.perimeter == pytest.approx(2 * (27 + 20) - 8 * 2.5 + 2 * math.pi * 2.5)
    assert kinds(shape) == "LALALALA"
    assert shape.corners() == ()


def test_flat_of_a_d_hole_has_the_length_of_the_chord() -> None:
    """c = 2 sqrt(h(2r-h)) is 6.8411 mm for 12.7 mm with 11.7 mm left (worked_examples.csv, D_hole_flat, computed)."""
    assert d_hole((0.0, 0.0), 12.7, 11.7).segments[0].length == pytest.approx(6.8411, abs=5e-5)


def test_d_hole_has_the_area_of_circle_less_segment() -> None:
    """122.0391 mm2 for 12.7 mm with 11.7 mm left (worked_examples.csv, D_hole_area, computed)."""
    assert d_hole((5.0, 6.0), 12.7, 11.7, 1.0).area == pytest.approx(122.0391, abs=5e-5)


def test_chord_of_a_d_hole_agrees_with_the_handbook() -> None:
    """Radius 60 in, height 8 in: chord 59.86 in, printed as 2 x 29.93 (worked_examples.csv, segment_chord: Machinery's
    Handbook 31st ed p.79)."""
    assert d_hole((0.0, 0.0), 120.0, 112.0).segments[0].length == pytest.approx(59.86, abs=0.01)


def test_arc_through_chord_and_height_has_the_radius_of_the_handbook() -> None:
    """Chord 16 in, height 6 in: radius 8 1/3 in (worked_examples.csv, segment_radius: Machinery's Handbook 31st ed
    p.79)."""
    flat = d_hole((0.0, 0.0), 2 * (8 + 1 / 3), 2 * (8 + 1 / 3) - 6).segments[0]
    assert flat.length == pytest.approx(16.0)


def test_ring_between_two_circles_has_the_area_of_the_handbook() -> None:
    """Outside 12, inside 8: 62.83 (worked_examples.csv, annulus_area: Machinery's Handbook 31st ed p.79)."""
    ring = [circle((1.0, 2.0), 12.0), circle((1.0, 2.0), 8.0).reversed()]
    assert sum(contour.area for contour in ring) == pytest.approx(62.83, abs=5e-3)
    grown = offset_region(ring, 1.0)
    assert sum(contour.area for contour in grown) == pytest.approx(math.pi * (49 - 9))


def test_flat_lies_on_the_side_to_which_the_angle_points() -> None:
    """At angle 90 degrees the flat is level, across_flat - diameter/2 above the centre, and the bounds end there."""
    shape = d_hole((10.0, 20.0), 12.7, 11.7, math.pi / 2)
    assert shape.bounds == pytest.approx((3.65, 13.65, 16.35, 25.35))
    assert d_hole((0.0, 0.0), 10.0, 3.0).bounds == pytest.approx((-5.0, -math.sqrt(21), -2.0, math.sqrt(21)))


def test_slot_and_circle_have_their_closed_forms() -> None:
    """A slot is a rectangle and a circle; a circle is one arc that begins at angle 0."""
    shape = slot((1.0, 1.0), 20.0, 6.0, 0.7)
    assert shape.area == pytest.approx(14 * 6 + math.pi * 9)
    assert shape.perimeter == pytest.approx(2 * 14 + 6 * math.pi)
    hole = circle((3.0, 4.0), 10.0)
    assert hole.segments == (Arc((8.0, 4.0), (8.0, 4.0), (3.0, 4.0), ccw=True),)
    assert (hole.area, hole.perimeter) == pytest.approx((25 * math.pi, 10 * math.pi))
    assert hole.bounds == pytest.approx((-2, -1, 8, 9))


def test_limits_give_the_simpler_shape_and_no_segment_without_length() -> None:
    """Radius 0: four lines; half the shorter side: a slot; half of both: a circle; a slot as long as wide: a circle."""
    assert kinds(rounded_rectangle((0.0, 0.0), 20.0, 10.0, 0.0)) == "LLLL"
    assert kinds(rounded_rectangle((0.0, 0.0), 20.0, 10.0, 5.0)) == "LALA"
    upright = rounded_rectangle((0.0, 0.0), 10.0, 20.0, 5.0)
    assert kinds(upright) == "LALA"
    assert upright.bounds == pytest.approx((-5, -10, 5, 10))
    assert kinds(rounded_rectangle((0.0, 0.0), 10.0, 10.0, 5.0)) == "A"
    assert kinds(slot((0.0, 0.0), 6.0, 6.0)) == "A"


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: circle((0, 0), 0.0), "diameter"),
        (lambda: circle((0, 0), math.nan), "diameter"),
        (lambda: rounded_rectangle((0, 0), 20, 10, 5.1), "corner radius 5.1"),
        (lambda: rounded_rectangle((0, 0), 20, 10, -1), "corner radius"),
        (lambda: rounded_rectangle((0, 0), -20, 10), "width"),
        (lambda: slot((0, 0), 5, 6), "at least the width"),
        (lambda: d_hole((0, 0), 10, 10), "less than the diameter"),
        (lambda: d_hole((0, 0), 10, 0), "across_flat"),
    ],
)
def test_impossible_shapes_say_what_is_wrong(make, message: str) -> None:
    """A shape that cannot exist is a GeometryError that names the size."""
    with pytest.raises(GeometryError, match=message):
        make()


def test_sharp_corners_are_told_from_smooth_joints() -> None:
    """A D hole has two corners, both to the left; distances count from the contour's start."""
    shape = d_hole((0.0, 0.0), 12.7, 11.7)
    turn = math.pi - math.acos(5.35 / 6.35)
    assert [turned for _, turned in shape.corners()] == pytest.approx([math.pi - turn] * 2)
    assert [place for place, _ in shape.corners()] == pytest.approx([0.0, 6.84105], abs=1e-4)
    assert all(isinstance(segment, Line | Arc) for segment in shape.segments)


def test_two_flats_take_two_segments_from_the_circle() -> None:
    """A circle with two flats is the circle less two segments (worked_examples: D_hole_area, D_hole_flat)."""
    shape = double_d_hole((3.0, 4.0), 12.7, 10.7, math.radians(30))
    segment = math.pi * 6.35**2 - 122.0391
    assert shape.area == pytest.approx(math.pi * 6.35**2 - 2 * segment, abs=2e-4)
    half = math.acos(5.35 / 6.35)
    assert shape.perimeter == pytest.approx(2 * 6.8411 + 2 * 6.35 * (math.pi - 2 * half), abs=2e-4)
    with pytest.raises(GeometryError, match="across_flats"):
        double_d_hole((0.0, 0.0), 12.0, 12.0)
