"""The mirrored half of a row: each part as its own mirror image, as far as turning goes."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from toolpaths.geometry.judge import difference_area
from toolpaths.job import Job
from toolpaths.layout.build import lay_out

HEAD = """
format = 1
units = "mm"
machine = "sheet router"
parts = "own.toml"
[[panel]]
name = "front"
material = "mild steel"
thickness = 1.2
width = 300
height = 120
"""

OWN = """
format = 1
[[part]]
name = "lever"
fitted_from = "outside"
source = "measured"
d_hole = [{ diameter = 12, across_flat = 11 }]
room = [{ role = "knob", side = "outside", at = [8, 0], size = [30, 10], reach = 9 }]
[[part]]
name = "slider"
fitted_from = "outside"
source = "measured"
keyed_hole = [{ diameter = 8, key_width = 2, key_depth = 2, angle = 90 }]
room = [{ role = "knob", side = "outside", at = [0, 5], size = [12, 24], reach = 9 }]
[[part]]
name = "odd"
fitted_from = "outside"
source = "measured"
hole = [{ diameter = 6 }, { at = [7, 9], diameter = 3 }]
room = [{ role = "knob", side = "outside", at = [6, 4], size = [30, 24], reach = 9 }]
"""

Angles = list[float]


@pytest.fixture
def row(tmp_path, job_of: Callable[..., Job]) -> Callable[..., Job]:
    def read(parts: str, more: str = "", ends: str = "from = [60, 60]\nto = [240, 60]") -> Job:
        (tmp_path / "own.toml").write_text(OWN, encoding="utf-8")
        text = f'[[panel.row]]\n{ends}\nparts = [{parts}]\nmirrored = true\nspacing = "equal gap"\n{more}'
        return job_of(HEAD + text)

    return read


@pytest.mark.parametrize("angle", [0, 30, 90, 200])
@pytest.mark.parametrize("ends", ["from = [60, 60]\nto = [240, 60]", "from = [60, 80]\nto = [240, 30]"])
def test_a_mirrored_row_is_its_own_mirror_image(row: Callable[..., Job], angle: float, ends: str) -> None:
    """Holes and rooms of parts that are symmetrical about one of their axes, mirrored across the middle of the row, lie
    on those of the other half, whichever way parts and row are turned."""
    parts = f'{{ part = "lever", angle = {angle} }}, {{ part = "slider", angle = {angle} }}, "pilot lamp"'
    (panel,) = lay_out(row(parts, "angle = 10", ends)).panels
    (ax, ay), (bx, by) = panel.placements[0].centre, panel.placements[-1].centre
    long = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / long, (by - ay) / long

    def across(point: tuple[float, float]) -> tuple[float, float]:
        far = 2 * ((point[0] - (ax + bx) / 2) * ux + (point[1] - (ay + by) / 2) * uy)
        return point[0] - far * ux, point[1] - far * uy

    shapes = [opening.shape for opening in panel.openings]
    shapes += [body.footprint for placed in panel.placements for body in placed.bodies]
    for shape in shapes:
        image = shape.mapped(across, flips=True).reversed()
        assert min(difference_area(image, other) + difference_area(other, image) for other in shapes) < 0.05


def test_parts_that_look_alike_both_ways_are_not_turned(row: Callable[..., Job]) -> None:
    """A part whose picture is its own mirror image keeps its angle, in a row upwards too."""
    for ends in ("from = [60, 60]\nto = [240, 60]", "from = [60, 20]\nto = [60, 100]"):
        (panel,) = lay_out(row('"pilot lamp"', ends=ends)).panels
        assert [placed.angle for placed in panel.placements] == [0, 0]


def test_a_part_without_symmetry_keeps_the_row_symmetrical(row: Callable[..., Job]) -> None:
    """No turn mirrors it, so its reach along the row is mirrored, and the row's centres lie symmetrically."""
    (panel,) = lay_out(row('{ part = "odd", angle = 20 }, "slider"')).panels
    xs = [placed.centre[0] for placed in panel.placements]
    assert xs[0] + xs[3] == pytest.approx(300) and xs[1] + xs[2] == pytest.approx(300)
    assert panel.placements[3].angle == pytest.approx(math.radians(200))
