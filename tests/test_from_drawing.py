"""Jobs begun from drawings: every sample goes out as DXF and comes back the same, and so do drawings of others."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from postprocessors.dxf import Dxf
from toolpaths import pipeline
from toolpaths.drawing_file.contents import Wanted
from toolpaths.drawing_file.read import read_drawing
from toolpaths.errors import BadInput
from toolpaths.flat import Heading, draw_flat
from toolpaths.from_drawing import NOT_CUT
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.crossing import distance_to
from toolpaths.job.load import read_job, size_names
from toolpaths.layout.build import lay_out
from toolpaths.layout.panel import Opening, Panel

SAMPLES = sorted((Path(__file__).parents[1] / "sample_jobs").glob("*.toml"))
EVERY = [(sample, size) for sample in SAMPLES for size in (None, *size_names(sample))]


def apart(one: Contour, other: Contour) -> float:
    """How far two contours lie from each other at the worst of many places, mm."""

    def off(a: Contour, b: Contour) -> float:
        points = [segment.point_at(segment.length * k / 8) for segment in a.segments for k in range(8)]
        return max(min(distance_to(segment, point) for segment in b.segments) for point in points)

    return max(off(one, other), off(other, one))


def written(panel: Panel, path: Path, title: str = "Trial", chassis: Any = None) -> Path:
    path.write_text(Dxf().write(draw_flat(panel, Heading(title, "mm", "", chassis))), encoding="ascii")
    return path


def begun(drawing: Path, folder: Path, **wanted: Any) -> tuple[Any, Any]:
    """The job that a drawing makes, read, and what was told of it."""
    files, made = pipeline.begin(drawing, "again", Wanted(**wanted))
    folder.mkdir()
    for name, content in files.items():
        (folder / name).write_bytes(content)
    return read_job(folder / "again.toml"), made


def key(opening: Opening) -> tuple[float, ...]:
    x0, y0, x1, y1 = opening.shape.bounds
    return round(x0, 2), round(y0, 2), round(x1, 2), round(y1, 2)


@pytest.mark.parametrize(("sample", "size"), EVERY, ids=[f"{sample.stem} {size or 'base'}" for sample, size in EVERY])
def test_every_sample_comes_back_from_its_dxf(sample, size, tmp_path) -> None:
    """Each panel of each sample in each size, written as DXF and begun again from it, has the same openings.

    Shapes agree within 0.001 mm; depths, finishes, marks, pilots and countersinks are the same; the outline too; and
    what is then written again has the same geometry.
    """
    job = read_job(sample, size=size)
    for number, panel in enumerate(lay_out(job).panels):
        again, _ = begun(written(panel, tmp_path / f"{number}.dxf", chassis=job.chassis), tmp_path / str(number))
        (other,) = lay_out(again).panels
        x0, y0 = panel.outline.bounds[:2]

        def moved(contour: Contour, x0: float = x0, y0: float = y0) -> Contour:
            return contour.mapped(lambda point: (point[0] - x0, point[1] - y0))

        assert apart(moved(panel.outline), other.outline) < 0.001
        mine = sorted(panel.openings, key=lambda one: tuple(round(v - s, 2) for v, s in
                                                            zip(key(one), (x0, y0, x0, y0), strict=True)))  # fmt: skip
        theirs = sorted(other.openings, key=key)
        assert len(mine) == len(theirs)
        for one, two in zip(mine, theirs, strict=True):
            assert apart(moved(one.shape), two.shape) < 0.001
            assert (one.finish, one.depth, one.diameter is None) == (two.finish, two.depth, two.diameter is None)
            assert (one.cut_diameter or 0) == pytest.approx(two.cut_diameter or 0, abs=0.001) or one.filed or two.filed
            assert len(one.marks) == len(two.marks)
            assert (one.countersink is None) == (two.countersink is None)
        back = [read_drawing(path, "x", Wanted(points=True, counted=NOT_CUT)) for path in
                (tmp_path / f"{number}.dxf", written(other, tmp_path / f"{number}_2.dxf"))]  # fmt: skip
        for layer in {shape.place.layer for shape in back[0].shapes}:
            first, second = ([s for s in one.shapes if s.place.layer == layer] for one in back)
            assert len(first) == len(second)
            for shape in first:
                assert min(apart(moved(shape.contour), s.contour) for s in second) < 0.001


ALL_KINDS = """
format = 1
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 6
width = 300
height = 200
origin = "centre"
corner_radius = 4
"""

FEATURES = [
    "[[panel.hole]]\nat = [-100, 50]\ndiameter = 6.5",
    "[[panel.hole]]\nat = [-80, 50]\ndiameter = 8\ndepth = 2.125",
    "[[panel.hole]]\nat = [-60, 50]\ndiameter = 5\ncountersink = { diameter = 9.5, angle = 82 }",
    "[[panel.hole]]\nat = [-40, 50]\ndiameter = 10\nfinish = 'pilot'",
    "[[panel.hole]]\nat = [-20, 50]\ndiameter = 10\nfinish = 'mark'",
    "[[panel.d_hole]]\nat = [0, 50]\ndiameter = 12.7\nacross_flat = 11.7\nangle = 30\nfinish = 'pilot'",
    "[[panel.double_d_hole]]\nat = [30, 50]\ndiameter = 12\nacross_flats = 10\nangle = 45",
    "[[panel.keyed_hole]]\nat = [60, 50]\ndiameter = 14\nkey_width = 4\nkey_depth = 2\nangle = 120",
    "[[panel.slot]]\nat = [-100, 0]\nlength = 20\nwidth = 5\nangle = 70\nfinish = 'mark'",
    "[[panel.cutout]]\nat = [-60, 0]\nwidth = 30\nheight = 18\ncorner_radius = 3\nangle = 20\ndepth = 1.5",
    "[[panel.cutout]]\nat = [-10, 0]\nwidth = 30\nheight = 18\ndepth = 3.5\nfinish = 'mark'",
    "[[panel.polygon]]\nat = [30, -5]\npoints = [[0, 0], [14, 0], [14, 10], [7, 18], [0, 18]]\ncorner_radius = 1.5",
    "[[panel.polygon]]\nat = [70, -5]\npoints = [[0, 0], [14, 0], [7, 12]]\nfinish = 'mark'",
    "[[panel.ring]]\nat = [0, -60]\ncircle_diameter = 40\ncount = 7\ndiameter = 3.3",
    "[[panel.grid]]\nat = [-90, -60]\ncolumns = 20\nrows = 15\npitch = 4\ndiameter = 2",
]


def test_every_kind_of_feature_comes_back(tmp_path) -> None:
    """Each kind, finish and depth comes back from DXF as the same kind, but for polygons, which are contours."""
    (tmp_path / "all.toml").write_text(ALL_KINDS + "\n".join(FEATURES))
    (panel,) = lay_out(read_job(tmp_path / "all.toml")).panels
    again, made = begun(written(panel, tmp_path / "all.dxf"), tmp_path / "again")
    (other,) = lay_out(again).panels
    assert made.counts == {"holes": 5 + 7 + 300, "shapes": 6, "contours": 2, "marks": 0}
    assert other.outline.area == pytest.approx(panel.outline.area)

    def said(opening: Opening, x: float, y: float) -> tuple[Any, ...]:
        cone = opening.countersink
        mouth = None if cone is None else (cone.diameter, round(math.degrees(cone.angle), 6))
        return (
            round(opening.centre[0] + x, 3), round(opening.centre[1] + y, 3), round(opening.shape.area, 3),
            opening.finish, opening.depth, mouth,
            round(opening.cut_diameter or 0, 6), len(opening.marks),
        )  # fmt: skip

    assert sorted(map(str, (said(one, 150, 100) for one in panel.openings))) == sorted(
        map(str, (said(one, 0, 0) for one in other.openings))
    )
    names = {kind for kind in ("d_hole", "double_d_hole", "keyed_hole", "slot", "cutout", "hole_list", "drawing")
             if f"[[panel.{kind}]]" in made.job}  # fmt: skip
    assert names == {"d_hole", "double_d_hole", "keyed_hole", "slot", "cutout", "hole_list", "drawing"}


Draw = Callable[[Any], None]


@pytest.fixture
def drawing(tmp_path: Path) -> Any:
    def make(draw: Draw, units: int = 4) -> Path:
        document = ezdxf.new("R2000", units=units)
        draw(document.modelspace())
        document.saveas(tmp_path / "theirs.dxf")
        return tmp_path / "theirs.dxf"

    return make


def test_the_outermost_contour_is_the_panel(drawing, tmp_path) -> None:
    """What all else lies in is the outline, wherever it is drawn; places are measured from its lower left corner."""

    def draw(space: Any) -> None:
        space.add_circle((1020, 515), 4)
        for a, b in (((1000, 500), (1160, 500)), ((1160, 500), (1160, 600)), ((1160, 600), (1000, 600)),
                     ((1000, 600), (1000, 500))):  # fmt: skip
            space.add_line(a, b)

    job, made = begun(drawing(draw), tmp_path / "again")
    (panel,) = job.panels
    assert (panel.width, panel.height, panel.corner_radius) == (160, 100, 0)
    assert [(one.at, one.diameter) for one in panel.features] == [((20, 15), 8)] and not made.notes


def test_an_outline_that_is_no_rectangle_gives_its_box(drawing, tmp_path) -> None:
    """Any other outline gives the box round it, and says so; without an outline there is room round everything."""

    def oval(space: Any) -> None:
        space.add_ellipse((50, 50), (80, 0), 0.5)
        space.add_circle((50, 50), 4)

    job, made = begun(drawing(oval), tmp_path / "oval")
    assert (job.panels[0].width, job.panels[0].height) == pytest.approx((160, 80), abs=0.001)
    assert any("no upright rectangle" in note.message for note in made.notes)

    def bare(space: Any) -> None:
        space.add_circle((50, 50), 4)
        space.add_circle((90, 50), 4)

    job, made = begun(drawing(bare), tmp_path / "bare")
    assert (job.panels[0].width, job.panels[0].height) == (68, 28)
    assert any("no contour lies round all others" in note.message for note in made.notes)


def test_islands_and_empty_outlines_are_refused(drawing, tmp_path) -> None:
    """A contour within an opening is an error by its place; an outline with nothing in it is no job."""

    def draw(space: Any) -> None:
        space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True)
        space.add_circle((50, 40), 20)
        space.add_circle((50, 40), 5, dxfattribs={"layer": "BOSS"})

    with pytest.raises(BadInput, match=r"'BOSS', CIRCLE #\w+ at \(50, 40\): lies within another"):
        begun(drawing(draw), tmp_path / "again")
    with pytest.raises(BadInput, match="no such file"):
        pipeline.begin(tmp_path / "none.dxf", "again", Wanted())
    with pytest.raises(BadInput, match="outline and nothing in it"):
        begun(drawing(lambda s: s.add_text("x") and s.add_lwpolyline([(0, 0), (9, 0), (9, 9)], close=True,
              dxfattribs={"layer": "OUTLINE"})), tmp_path / "empty")  # fmt: skip


def test_an_inch_drawing_makes_an_inch_job(drawing, tmp_path) -> None:
    """Whoever draws in inches gets a job in inches, of the same size."""

    def draw(space: Any) -> None:
        space.add_lwpolyline([(0, 0), (6, 0), (6, 4), (0, 4)], close=True)
        space.add_circle((1, 1), 0.1875)

    job, made = begun(drawing(draw, units=1), tmp_path / "again")
    assert job.units == "in" and "diameter = 0.375" in made.job
    assert job.panels[0].width == pytest.approx(152.4) and job.panels[0].features[0].diameter == pytest.approx(9.525)


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_in_and_out_again_is_the_same_geometry(version, tmp_path) -> None:
    """A drawing of the library's own functions, in any version, is the same geometry when it leaves again."""
    document = ezdxf.new(version, units=4)
    space = document.modelspace()
    space.add_polyline2d([(0, 0), (150, 0), (150, 90), (0, 90)], close=True)
    space.add_circle((20, 20), 3.175)
    block = document.blocks.new("B")
    block.add_arc((0, 0), 7, 20, 160)
    x, y = 7 * math.cos(math.radians(20)), 7 * math.sin(math.radians(20))
    block.add_line((-x, y), (x, y))
    space.add_blockref("B", (70, 30), dxfattribs={"xscale": -1.0, "rotation": 40})
    if version != "R12":
        space.add_ellipse((110, 60), (15, 4), 0.5)
        space.add_spline([(20, 50), (40, 50), (45, 70), (30, 80), (15, 65), (20, 50)])
    document.saveas(tmp_path / "theirs.dxf")
    job, _ = begun(tmp_path / "theirs.dxf", tmp_path / "again", units="mm")  # R12 states none
    (panel,) = lay_out(job).panels
    ours = written(panel, tmp_path / "ours.dxf")
    assert not ezdxf.readfile(ours).audit().errors
    theirs = read_drawing(tmp_path / "theirs.dxf", "theirs", Wanted(units="mm"))
    mine = read_drawing(ours, "ours", Wanted())
    assert len(theirs.shapes) == len(mine.shapes)
    for shape in theirs.shapes:
        assert min(apart(shape.contour, other.contour) for other in mine.shapes) < 1e-5
    if version != "R12":
        curve = next(entity for entity in space if entity.dxftype() == "SPLINE")
        points = list(curve.flattening(0.001))
        low = min(p.x for p in points), min(p.y for p in points)
        near = min(mine.shapes, key=lambda one: math.dist(one.contour.bounds[:2], low))
        worst = max(min(distance_to(segment, (p.x, p.y)) for segment in near.contour.segments) for p in points)
        assert worst < 0.001
