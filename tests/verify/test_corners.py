"""What may stay in sharp corners, against plane geometry; and programs that leave more."""

from __future__ import annotations

import math

import pytest
import shapely

from toolpaths import pipeline
from toolpaths.geometry import shapes
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.judge import faceted
from toolpaths.tolerance import PIECE
from toolpaths.verify.corners import sharp_corner_remains


def remains(shape: Contour, limit: float) -> list[shapely.Polygon]:
    return sharp_corner_remains(shape, faceted(shape), limit)


@pytest.mark.parametrize("degrees", [30, 53.13, 90, 120, 150])
def test_between_both_walls_and_the_disc_that_touches_them(degrees) -> None:
    """r² (cot(a/2) - (pi - a)/2) at a corner of angle a, its farthest point from the walls where the disc begins."""
    angle, radius = math.radians(degrees), 1.2
    shape = shapes.polygon((2.0, 1.0), [(0, 0), (60, 0), (60 * math.cos(angle), 60 * math.sin(angle))])
    tip = shapely.Point(2, 1)
    (figure,) = [part for part in remains(shape, radius) if part.distance(tip) < 0.2]
    area = radius**2 * (1 / math.tan(angle / 2) - (math.pi - angle) / 2)
    assert figure.area == pytest.approx(area, abs=0.002 * figure.length)
    half = angle / 2
    # PIECE off both walls the corner lies PIECE / sin(a/2) further in; from there it is r (1/sin(a/2) - 1) to the disc
    for more, inside in ((-0.02, True), (0.02, False)):
        along = PIECE / math.sin(half) + radius * (1 / math.sin(half) - 1) + more
        point = shapely.Point(2 + along * math.cos(half), 1 + along * math.sin(half))
        assert figure.covers(point) == inside


@pytest.mark.parametrize("limit", [0.5, 1.6, 3.0])
@pytest.mark.parametrize("width", [1.5, 3.1, 4.0])
def test_a_narrow_notch_is_not_swallowed(width, limit) -> None:
    """In each of its two corners a key keeps the figure of the limit, or of half its own width where that is less."""
    shape = shapes.keyed_hole((0.0, 0.0), 12.0, width, 3.0)
    found = remains(shape, limit)
    radius = min(limit, width / 2)
    assert len(found) == 2
    for figure in found:
        assert figure.area == pytest.approx((1 - math.pi / 4) * radius**2, abs=0.002 * figure.length)
    together = shapely.union_all(found)
    assert not together.covers(shapely.Point(9 - PIECE - 0.02, 0))  # the middle of the far wall
    assert not together.intersects(shapely.box(5, -width, 9 - PIECE - radius - 0.02, width))


def test_a_wall_shorter_than_the_tangent() -> None:
    """Where the notch is shallower than the radius the opening widens beside the corner, and less may stay there."""
    shape = shapes.keyed_hole((0.0, 0.0), 12.0, 5.0, 0.9)
    found = remains(shape, 1.6)
    assert len(found) == 2
    mouth = math.sqrt(36 - 2.5**2)
    for figure in found:
        assert figure.area < (1 - math.pi / 4) * 1.6**2
        assert figure.bounds[0] > mouth - 0.02


def test_rounded_corners_keep_nothing() -> None:
    """A stated radius is cut as it stands, and a corner that points into the opening is no nook."""
    assert not remains(shapes.rounded_rectangle((0.0, 0.0), 20.0, 10.0, 1.0), 1.6)
    assert not remains(shapes.circle((0.0, 0.0), 10.0), 1.6)
    shape = shapes.polygon((0.0, 0.0), [(0, 0), (20, 0), (20, 8), (8, 8), (8, 16), (0, 16)])
    assert len(remains(shape, 1.0)) == 5


PLATE = """
format = 1
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 160
height = 120
"""
KEYED = "[[panel.keyed_hole]]\nat = [80, 60]\ndiameter = 12\nkey_width = {}\nkey_depth = {}\nmax_corner_radius = {}\n"
HOLE = "[[panel.hole]]\nat = [80, 60]\ndiameter = 12\n"


def test_a_key_that_was_left_out_is_missed(job_of) -> None:
    """A round hole in place of a keyed one is undercut, however narrow the key beside what its corners may keep."""
    (program, *_) = pipeline.make(job_of(PLATE + HOLE), posts=["gcode"]).files
    for width, depth in ((1.5, 1.0), (3.0, 0.5), (4.0, 2.0)):
        job = job_of(PLATE + KEYED.format(width, depth, 1.6))
        found = pipeline.verify_texts(job, "plate", [("plate.nc", program.content.decode())])
        assert [finding.code for finding in found] == ["undercut"]


def test_a_corner_rounder_than_allowed_is_missed(job_of) -> None:
    """What was cut with 3 mm passes where 1.5 mm may stay, and is undercut where 1.25 mm may."""
    (program, *_) = pipeline.make(job_of(PLATE + KEYED.format(4, 2, 1.5)), posts=["gcode"]).files
    text = program.content.decode()
    assert "3 mm end mill" in text
    for limit, codes in ((1.5, []), (1.49, []), (1.25, ["undercut"])):
        found = pipeline.verify_texts(job_of(PLATE + KEYED.format(4, 2, limit)), "plate", [("plate.nc", text)])
        assert [finding.code for finding in found] == codes
