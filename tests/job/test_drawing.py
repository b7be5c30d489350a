"""The feature ``drawing``: what it reads becomes openings like any others, and what is wrong is told."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.finding import has_errors
from toolpaths.hand_route import route
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.layout.panel import Panel

JOB = """
format = 1
units = "mm"
machine = "sheet router"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 160
height = 100
{more}
  [[panel.drawing]]
  file = "plate.dxf"
  {keys}
"""


@pytest.fixture
def job(tmp_path: Path) -> Any:
    """Reads a job of one plate with a drawing; ``draw`` draws into its model space."""

    def make(draw: Any, keys: str = "", more: str = "", units: int = 4, recover: bool = False) -> Any:
        document = ezdxf.new("R2010", units=units)
        draw(document.modelspace())
        document.saveas(tmp_path / "plate.dxf")
        (tmp_path / "trial.toml").write_text(JOB.format(keys=keys.replace("; ", "\n  "), more=more))
        return read_job(tmp_path / "trial.toml", recover=recover)

    return make


def plate(space: Any) -> None:
    space.add_circle((20, 20), 3, dxfattribs={"layer": "HOLES"})
    corners = [(60, 30), (90, 30, 0.3), (90, 60), (75, 52), (60, 60)]
    space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "SHAPES"})
    space.add_text("words", dxfattribs={"layer": "WORDS"})


def panel_of(job: Any) -> Panel:
    (panel,) = lay_out(job).panels
    return panel


def test_a_circle_is_a_round_hole_and_the_rest_are_contours(job) -> None:
    """A circle comes out as a round hole of its diameter, another closed chain as its exact contour."""
    hole, shape = panel_of(job(plate)).openings
    assert (hole.centre, hole.diameter, hole.size_text) == ((20, 20), 6, "Ø6")
    assert shape.diameter is None and len(shape.shape.segments) == 5 and shape.size_text.startswith("contour 3")
    assert [opening.feature for opening in (hole, shape)] == ["drawing[1]"] * 2
    assert hole.drawn.startswith("layer 'HOLES', CIRCLE #")


def test_place_and_angle_and_the_common_keys_hold_for_all(job) -> None:
    """``at`` and ``angle`` place the whole drawing; label, depth, tolerance and corner radius go to every opening."""
    keys = "at = [100, 10]; angle = 90; label = 'vent'; depth = 1; tolerance = 0.1; max_corner_radius = 1"
    hole, shape = panel_of(job(plate, keys)).openings
    assert hole.centre == pytest.approx((80, 30)) and shape.shape.bounds[1] == pytest.approx(70)
    assert (hole.label, hole.depth, hole.tolerance, shape.corner_limit) == ("vent", 1, 0.1, 1)


def test_layers_are_chosen_by_name(job) -> None:
    """One name or a list reads those layers alone, whatever the case of their letters."""
    assert len(panel_of(job(plate, "layer = 'holes'")).openings) == 1
    assert len(panel_of(job(plate, "layer = ['HOLES', 'SHAPES']")).openings) == 2
    with pytest.raises(BadInput, match="did you mean 'HOLES'"):
        job(plate, "layer = 'HOLE'")


def test_finishes_are_those_of_other_features(job) -> None:
    """A mark marks corners and middles of arcs; a pilot goes into round holes, and nowhere else."""
    hole, shape = panel_of(job(plate, "finish = 'mark'")).openings
    assert hole.marks == ((20, 20),) and hole.cut is None
    assert set(shape.marks) > {(60, 30), (90, 30), (90, 60), (60, 60)} and (75, 52) not in shape.marks
    (pilot,) = panel_of(job(plate, "finish = 'pilot'; layer = 'HOLES'")).openings
    assert pilot.cut_diameter == 3
    with pytest.raises(BadInput, match=r"'SHAPES', LWPOLYLINE .*pilot' does not suit"):
        job(plate, "finish = 'pilot'")


def test_units_are_the_drawings_or_the_jobs_word(job) -> None:
    """An inch drawing comes into a job in mm at its size; one without units is asked about."""
    draw = lambda space: space.add_circle((1, 1), 0.125)  # noqa: E731
    assert panel_of(job(draw, units=1)).openings[0].diameter == pytest.approx(6.35)
    with pytest.raises(BadInput, match=r"plate.dxf: states no units; say .* units = 'mm' or units = 'in'"):
        job(draw, units=0)
    assert panel_of(job(draw, "units = 'in'", units=0)).openings[0].centre == pytest.approx((25.4, 25.4))


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ("gap = 3", r"panel\[1\].drawing\[1\].gap: is 3 mm; at most 2 mm"),
        ("gap = 0", "gap"),
        ("units = 'cm'", "units"),
        ("layer = 3", "layer"),
        ("depth = 2", "depth"),
        ("scale = 2", "unknown key"),
    ],
)
def test_wrong_keys_are_named(job, keys, said) -> None:
    """A key that is unknown, or has a value that cannot be, is named by its place in the job."""
    with pytest.raises(BadInput, match=said):
        job(plate, keys)


@pytest.mark.parametrize("name", ["../plate.dxf", "/plate.dxf", "none.dxf"])
def test_the_file_lies_in_the_jobs_folder(tmp_path, name) -> None:
    """Files outside the job's folder, and such as are not there, are refused."""
    (tmp_path / "trial.toml").write_text(JOB.format(keys="", more="").replace("plate.dxf", name))
    with pytest.raises(BadInput, match=r"drawing\[1\].file"):
        read_job(tmp_path / "trial.toml")


def test_what_lies_beyond_the_panel_is_named_by_layer_and_place(job) -> None:
    """Each opening of a drawing that reaches beyond the edge is told by itself, with its layer and its place there."""

    def draw(space: Any) -> None:
        for x in (-1, 50, 159, 300):
            space.add_circle((x, 50), 3, dxfattribs={"layer": f"L{x}"})

    found = [one for one in pipeline.check(job(draw)) if one.code == "outside-panel"]
    assert [one.severity for one in found] == ["error"] * 3
    for x, one in zip((-1, 159, 300), found, strict=True):
        assert f"layer 'L{x}', CIRCLE #" in one.message and f"at ({x}, 50)" in one.message


def test_overlaps_name_both_places(job) -> None:
    """Two contours of a drawing that cross are an error that names the layer and place of both."""

    def draw(space: Any) -> None:
        space.add_circle((50, 50), 10, dxfattribs={"layer": "A"})
        space.add_circle((62, 50), 10, dxfattribs={"layer": "B"})

    (found,) = [one for one in pipeline.check(job(draw)) if one.code == "overlap"]
    assert "'A', CIRCLE" in found.message and "'B', CIRCLE" in found.message and "(62, 50)" in found.message


def test_what_is_left_out_or_mended_is_told(job) -> None:
    """Left-out entities are notes, repairs warnings, each under the feature; without --recover a fault is an error."""
    found = pipeline.check(job(plate))
    assert [(one.code, one.feature) for one in found if one.code == "drawing-left-out"] == [
        ("drawing-left-out", "drawing[1]")
    ]

    def twice(space: Any) -> None:
        plate(space)
        plate(space)

    with pytest.raises(BadInput, match="is drawn twice"):
        job(twice)
    mended = [one for one in pipeline.check(job(twice, recover=True)) if one.code == "drawing-repaired"]
    assert len(mended) == 2 and {one.severity for one in mended} == {"warning"}


def test_a_drawing_is_cut_and_proved_like_anything_else(job) -> None:
    """Openings of a drawing, an ellipse and a spline among them, come out as a program that passes its proof."""

    def draw(space: Any) -> None:
        plate(space)
        space.add_ellipse((120, 70), (11, 3), 0.6)
        fit = [(110, 20), (120, 18), (124, 26), (115, 33), (107, 28), (110, 20)]
        space.add_spline(fit)
        space.add_lwpolyline([(20, 60), (40, 60, 1), (40, 70), (20, 70, 1)], format="xyb", close=True)

    made = pipeline.make(job(draw), posts=["gcode"], fit_strip=True)
    assert not has_errors(made.findings)
    assert {"plate.nc", "fit strip aluminium.nc"} <= {file.path for file in made.files}
    panel = next(panel for panel in made.layout.panels if panel.name == "plate")
    ellipse = next(one for one in panel.openings if "ELLIPSE" in one.drawn)
    a, b = math.hypot(11, 3), 0.6 * math.hypot(11, 3)
    assert ellipse.shape.area == pytest.approx(math.pi * a * b, rel=1e-4)


def test_a_large_curve_keeps_its_slug_on_tabs(job) -> None:
    """An oval and a free curve too large for chips are held by tabs along the curve, and the proof finds them right."""

    def draw(space: Any) -> None:
        space.add_ellipse((40, 50), (30, 0), 0.7)
        space.add_spline([(90, 20), (120, 15), (150, 40), (140, 80), (105, 75), (90, 20)])

    made = pipeline.make(job(draw), posts=["gcode"])
    assert not has_errors(made.findings)
    (text,) = [file.content.decode() for file in made.files if file.path == "plate.nc"]
    assert text.count("M2") == 1
    assert all(one.tabs is not None and not one.cleared for one in made.layout.panels[0].openings)


def test_a_curve_is_no_row_of_corners(job) -> None:
    """By hand a curve is sawn all round from one start hole: its many arcs are no corners to drill or to mark."""
    (oval,) = panel_of(job(lambda space: space.add_ellipse((60, 50), (40, 0), 0.6), "finish = 'mark'")).openings
    assert len(oval.shape.segments) > 20 and oval.marks == (pytest.approx((60, 50)),)
    way = route(oval.shape)
    assert way.corners == () and len(way.starts) == 1 and way.saw


def test_a_sheet_of_holes_reads_all_of_them(job) -> None:
    """Some thousand circles and loose squares, each square of four lines, are all there."""

    def draw(space: Any) -> None:
        for k in range(900):
            space.add_circle((3 + 5 * (k % 30), 3 + 3 * (k // 30)), 0.5)
        for k in range(100):
            x, y = 152.5 + 0.2, 1 + 0.95 * k
            points = [(x, y), (x + 0.4, y), (x + 0.4, y + 0.4), (x, y + 0.4)]
            for a, b in zip(points, [*points[1:], points[0]], strict=True):
                space.add_line(a, b)

    openings = panel_of(job(draw)).openings
    assert sum(one.diameter is not None for one in openings) == 900 and len(openings) == 1000
