"""What a round cutter reaches: against distances that plane geometry gives."""

from __future__ import annotations

import math

import pytest

from toolpaths import pipeline
from toolpaths.geometry import shapes
from toolpaths.plan.reach import inside_corners, largest_radius, reaches, roll
from toolpaths.plan.setup import plan_panel

WAIST = [(0, 0), (10, 0), (10, 3), (20, 3), (20, 0), (30, 0), (30, 8), (20, 8), (20, 5), (10, 5), (10, 8), (0, 8)]
L_SHAPE = [(0, 0), (20, 0), (20, 8), (8, 8), (8, 16), (0, 16)]
CHAMFERED = [(0, 0), (20, 0), (20, 9), (19, 10), (0, 10)]

REACHED = [
    (shapes.circle((0.0, 0.0), 10.0), 5.0),
    (shapes.slot((0.0, 0.0), 20.0, 6.0, 0.3), 3.0),
    (shapes.rounded_rectangle((0.0, 0.0), 20.0, 10.0, 2.0, 0.2), 2.0),       # its own corners
    (shapes.rounded_rectangle((0.0, 0.0), 20.0, 10.0), 5.0),                 # half its height
    (shapes.keyed_hole((1.0, 2.0), 12.0, 3.2, 1.5, 0.5), 1.6),               # half the key
    (shapes.d_hole((0.0, 0.0), 12.7, 11.7, 0.3), 5.85),                      # half across the flat
    (shapes.polygon((0.0, 0.0), WAIST), 1.0),                                # half the waist
    (shapes.polygon((0.0, 0.0), L_SHAPE, 0.0, 0.3), 4.0),                    # half an arm
    (shapes.polygon((0.0, 0.0), L_SHAPE, 1.0), 1.0),                         # its own corners
    # a side of sqrt(2) between two corners of 135 degrees holds two tangents of r tan(22.5 degrees)
    (shapes.polygon((0.0, 0.0), CHAMFERED), math.sqrt(2) / 2 / math.tan(math.pi / 8)),
]  # fmt: skip


@pytest.mark.parametrize(("shape", "radius"), REACHED, ids=range(len(REACHED)))
def test_the_largest_cutter_that_reaches_every_part(shape, radius) -> None:
    """It follows each wall; a hundredth more and it would not."""
    assert reaches(shape, radius - 0.002)
    assert not reaches(shape, radius + 0.01)
    assert largest_radius(shape, 8.0) == pytest.approx(radius, abs=0.006)


@pytest.mark.parametrize("degrees", [30, 60, 90, 120, 150])
@pytest.mark.parametrize("radius", [0.5, 1.5])
def test_what_a_corner_keeps(degrees, radius) -> None:
    """Corner to arc: r (1/sin(a/2) - 1), and the tangents r cot(a/2) (plane geometry), at any angle."""
    angle = math.radians(degrees)
    points = [(0, 0), (20, 0), (20 * math.cos(angle), 20 * math.sin(angle))]
    corner = next(one for one in inside_corners(shapes.polygon((3.0, 4.0), points)) if one.point == (3, 4))
    assert corner.left(radius) == pytest.approx(radius * (1 / math.sin(angle / 2) - 1))
    rolled = roll(corner, radius)
    assert rolled is not None
    assert (rolled.before, rolled.after) == pytest.approx((radius / math.tan(angle / 2),) * 2)


PLATE = """
format = 1
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 160
height = 120
[[panel.polygon]]
at = [80, 60]
"""


@pytest.fixture
def findings(job_of):
    """Findings of planning a polygon."""

    def plan(text: str):
        job = job_of(PLATE + text, machine="bench mill")
        (panel,) = pipeline.lay_out(job).panels
        return plan_panel("t", panel, job.machine, job.cutters, job.materials["aluminium"])

    return plan


def test_a_part_too_narrow_for_every_cutter_is_refused_with_the_largest_that_would_do(findings) -> None:
    """A slit 0.8 mm wide: no cutter is so thin; the finding says how thin it would have to be, with 0.05 mm of air."""
    slit = "[[0, 0], [12, 0], [12, 6], [6.4, 6], [6.4, 10], [5.6, 10], [5.6, 6], [0, 6]]"
    planned = findings(f"points = {slit}")
    assert planned.program is None
    (finding,) = planned.findings
    assert finding.code == "no-cutter"
    assert "does not reach every part of it; the largest that would do is 0.74 mm" in finding.message


def test_a_slug_that_falls_apart_is_refused(findings) -> None:
    """A waist no wider than two kerfs would leave two slugs, of which one hangs on nothing."""
    lower = "[0, 0], [30, 0], [30, 14.05], [40, 14.05], [40, 0], [70, 0]"
    upper = "[70, 30], [40, 30], [40, 15.95], [30, 15.95], [30, 30], [0, 30]"
    planned = findings(f"points = [{lower}, {upper}]\ncorner_radius = 1.5")
    assert planned.program is None
    assert "its slug would fall into 2 pieces" in planned.findings[0].message


def test_notes_on_corners_of_different_angles(findings) -> None:
    """A right triangle 30 by 40: the least and the most that stays, of corners of 90, 53.13 and 36.87 degrees."""
    planned = findings("points = [[0, 0], [12, 0], [0, 16]]")
    (note,) = [finding for finding in planned.findings if finding.code == "file-corner"]
    radius = float(note.message.split("radius of ")[1].split(" mm")[0])
    least, most = (radius * (1 / math.sin(half) - 1) for half in (math.pi / 4, math.atan2(12, 16) / 2))
    assert f"{least:.2f} to {most:.2f} mm along the bisector is left for the file" in note.message
