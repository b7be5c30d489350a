"""Every kind of entity, in every version, through any blocks: held against the library's own geometry."""

from __future__ import annotations

import math
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.math import Vec3
from scipy.interpolate import BSpline

from toolpaths.drawing_file.contents import Contents
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.crossing import distance_to

VERSIONS = ("R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018")


def off(contents: Contents, points: list[Vec3]) -> float:
    """How far the worst of some points lies from the nearest contour, mm."""
    segments = [segment for shape in contents.shapes for segment in shape.contour.segments]
    return max(min(distance_to(segment, (p.x, p.y)) for segment in segments) for p in points)


def evaluated(curve: Any) -> list[Vec3]:
    """Points of a spline as scipy evaluates it, over the part of its knots that all control points have a say in."""
    weights = list(curve.weights()) or [1.0] * curve.count
    raised = np.array([(p.x * w, p.y * w, w) for p, w in zip(curve.control_points, weights, strict=True)])
    knots = np.array(curve.knots())
    spline = BSpline(knots, raised, curve.degree)
    return [Vec3(x / w, y / w) for x, y, w in spline(np.linspace(knots[curve.degree], knots[curve.count], 2000))]


def outside_points(entities: Any) -> list[Vec3]:
    """Points on everything, as the library evaluates curves and bulges and maps the contents of a block."""
    found: list[Vec3] = []
    for entity in entities:
        match entity.dxftype():
            case "INSERT":
                for one in entity.multi_insert() if entity.mcount > 1 else [entity]:
                    found += one.matrix44().transform_vertices(outside_points(one.block()))
            case "LWPOLYLINE" | "POLYLINE":
                found += outside_points(entity.virtual_entities())
            case "LINE":
                found += [entity.dxf.start, entity.dxf.start.lerp(entity.dxf.end, 0.3), entity.dxf.end]
            case "SPLINE":
                found += evaluated(entity.construction_tool())
            case _:
                found += list(entity.flattening(0.01))
    return found


def area(contents: Contents) -> float:
    return sum(shape.contour.area for shape in contents.shapes)


@pytest.mark.parametrize("version", VERSIONS)
def test_circles_lines_arcs_and_bulges_are_exact_in_every_version(version, read) -> None:
    """A circle, a half disc of loose parts and polylines with bulges are read exactly from every version."""
    document = ezdxf.new(version, units=4)
    space = document.modelspace()
    space.add_circle((20, 20), 3.25)
    space.add_arc((50, 20), 5, 0, 180)
    space.add_line((45, 20), (55, 20))
    space.add_polyline2d([(0, 50, 0), (30, 50, 1), (30, 60, 0), (0, 60, 1)], format="xyb", close=True)
    if version != "R12":
        space.add_lwpolyline([(60, 60, 0.5), (80, 60, 0), (80, 80, 0)], format="xyb", close=True)
    contents = read(document)
    assert contents.notes == ()
    circle, half, slot, *rest = contents.shapes
    assert circle.circle == ((20, 20), 6.5) and half.circle is None
    assert half.contour.area == pytest.approx(math.pi * 25 / 2, rel=1e-12)
    assert slot.contour.area == pytest.approx(30 * 10 + math.pi * 25, rel=1e-12)
    # of a bulge b over a chord c the sagitta is b c / 2, and the turn 4 atan b (DXF reference)
    radius, turn = 20 * (1 + 0.25) / (4 * 0.5), 4 * math.atan(0.5)
    expected = [200 + radius**2 * (turn - math.sin(turn)) / 2] if version != "R12" else []
    assert [shape.contour.area for shape in rest] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("version", VERSIONS[1:])
def test_curves_keep_to_the_tolerance_in_every_version(version, read) -> None:
    """Ellipses and splines of all kinds lie within a thousandth of a mm of the library's own evaluation, and say so."""
    document = ezdxf.new(version, units=4)
    space = document.modelspace()
    space.add_ellipse((60, 40), (15, 4), 0.5)
    space.add_ellipse((160, 40), (15, 0), 0.3, 0, math.pi)
    space.add_line((145, 40), (175, 40))
    fit = [(100, 20), (120, 20), (125, 40), (110, 50), (95, 35), (100, 20)]
    space.add_spline(fit)
    space.add_spline().set_closed([Vec3(p) for p in ((0, 0), (30, 0), (40, 20), (15, 35), (-10, 20))])
    corners = [Vec3(p) for p in ((0, 100), (30, 100), (40, 120), (15, 135))]
    space.add_spline().set_closed_rational(corners, weights=[1, 2, 1, 3])
    contents = read(document)
    assert len(contents.shapes) == 5
    assert off(contents, outside_points(space)) < 0.001
    notes = " ".join(note.text for note in contents.notes)
    assert "2 ELLIPSE followed by arcs, none further off than 0.0008 mm" in notes and "3 SPLINE" in notes


def test_a_spline_that_is_a_circle_is_a_round_hole(read, sheet) -> None:
    """A circle drawn as a rational spline, or as two halves, is a round hole of its diameter."""
    document, space = sheet
    spline = ezdxf.math.rational_bspline_from_arc((10, 10), 4, 0, 360)
    space.add_spline().apply_construction_tool(spline)
    space.add_lwpolyline([(30, 10, 1), (40, 10, 1)], format="xyb", close=True)
    space.add_arc((60, 10), 2, 30, 200)
    space.add_arc((60, 10), 2, 200, 30)
    circles = [shape.circle for shape in read(document).shapes]
    for circle, (at, diameter) in zip(circles, [((10, 10), 8), ((35, 10), 10), ((60, 10), 4)], strict=True):
        assert circle is not None and circle[0] == pytest.approx(at, abs=1e-6)
        assert circle[1] == pytest.approx(diameter)


def blocks(document: Any) -> None:
    inner = document.blocks.new("INNER", base_point=(1, 2))
    inner.add_lwpolyline([(0, 0, 0), (6, 0, 0.4), (6, 4, 0), (0, 4, 0)], format="xyb", close=True)
    inner.add_circle((3, 12), 1.5)
    outer = document.blocks.new("OUTER")
    outer.add_blockref("INNER", (10, 0), dxfattribs={"rotation": 20, "yscale": -1})
    outer.add_blockref("INNER", (-10, 0), dxfattribs={"xscale": 1.5, "yscale": 1.5})
    outer.add_arc((0, 30), 4, 0, 180)
    outer.add_line((-4, 30), (4, 30))


@pytest.mark.parametrize(
    "how",
    [
        {},
        {"rotation": 33},
        {"xscale": -1, "rotation": 90},
        {"yscale": -2, "xscale": 2},
        {"xscale": 1.5, "yscale": 0.7, "rotation": 10},
        {"extrusion": (0, 0, -1)},
        {"extrusion": (0, 0, -1), "rotation": 25, "xscale": -1},
        {"row_count": 2, "column_count": 3, "row_spacing": 100, "column_spacing": 80, "rotation": 15},
    ],
    ids=str,
)
def test_blocks_lie_where_the_library_puts_them(how, read, sheet) -> None:
    """Blocks within blocks, mirrored, turned, stretched, from below or in rows, come where the library opens them."""
    document, space = sheet
    blocks(document)
    space.add_blockref("OUTER", (70, 50), dxfattribs=how)
    contents = read(document)
    assert len(contents.shapes) == 5 * (6 if "row_count" in how else 1)
    assert off(contents, outside_points(space)) < 0.001
    assert all(shape.contour.area > 0 for shape in contents.shapes)
    if "yscale" not in how or how["yscale"] == -2:  # nothing stretched: circles stay circles
        assert sum(shape.circle is not None for shape in contents.shapes) == len(contents.shapes) * 2 // 5


@pytest.mark.parametrize("mirror", [(0, 0, 1), (0, 0, -1)])
def test_what_is_seen_from_below_is_mirrored(mirror, read, sheet) -> None:
    """An entity whose own plane is seen from below has its x mirrored, bulges and arcs with it (DXF reference)."""
    document, space = sheet
    side = mirror[2]
    space.add_circle((20, 20), 3, dxfattribs={"extrusion": mirror})
    space.add_lwpolyline(
        [(40, 0, 0.7), (60, 0, 0), (60, 10, 0)], format="xyb", close=True, dxfattribs={"extrusion": mirror}
    )
    space.add_arc((80, 0), 5, 0, 120, dxfattribs={"extrusion": mirror})
    space.add_line((side * 85, 0), (side * (80 + 5 * math.cos(math.radians(120))), 5 * math.sin(math.radians(120))))
    contents = read(document)
    assert contents.shapes[0].circle == ((side * 20, 20), 6)
    assert len(contents.shapes) == 3 and off(contents, outside_points(space)) < 1e-6


def test_layer_zero_of_a_block_is_the_layer_of_its_insert(read, sheet) -> None:
    """What lies on layer 0 within a block counts for the layer on which the block is placed."""
    document, space = sheet
    block = document.blocks.new("B")
    block.add_circle((0, 0), 2)
    block.add_circle((9, 0), 2, dxfattribs={"layer": "OWN"})
    space.add_blockref("B", (10, 10), dxfattribs={"layer": "HOLES"})
    assert [shape.place.layer for shape in read(document).shapes] == ["HOLES", "OWN"]
    assert [shape.circle for shape in read(document, layers=("holes",)).shapes] == [((10, 10), 4)]


@pytest.mark.parametrize(("number", "scale"), [(1, 25.4), (4, 1.0), (5, 10.0), (6, 1000.0), (9, 0.0254), (2, 304.8)])
def test_stated_units_are_kept(number, scale, read) -> None:
    """What the file states as its units gives the size, whatever they are."""
    document = ezdxf.new("R2000", units=number)
    document.modelspace().add_circle((2, 0), 1)
    (shape,) = read(document, units=None).shapes
    assert shape.circle == (pytest.approx((2 * scale, 0)), pytest.approx(2 * scale))


def test_the_jobs_units_win_and_say_so(read) -> None:
    """Units that the job gives win over those stated, with a note; the same ones need none."""
    document = ezdxf.new("R2000", units=1)
    document.modelspace().add_circle((2, 0), 1)
    contents = read(document, units="mm")
    assert contents.shapes[0].circle == ((2, 0), 2)
    assert [note.code for note in contents.notes] == ["drawing-units"]
    assert read(document, units="in").notes == ()


def test_what_is_no_geometry_is_counted(read, sheet) -> None:
    """Text, hatches and points are counted by type and layer; hidden layers and sheets of paper are told."""
    document, space = sheet
    space.add_circle((5, 5), 2)
    for _ in range(3):
        space.add_text("x", dxfattribs={"layer": "WORDS"})
    space.add_point((1, 1))
    space.add_hatch()
    space.add_line((3, 3), (3, 3))
    document.layers.add("AWAY").off()
    document.layers.add("COLD").freeze()
    space.add_circle((50, 5), 2, dxfattribs={"layer": "AWAY"})
    space.add_circle((60, 5), 2, dxfattribs={"layer": "COLD"})
    document.paperspace().add_circle((0, 0), 1)
    contents = read(document)
    assert len(contents.shapes) == 1
    told = [note.text for note in contents.notes]
    for text in (
        "3 TEXT on layer 'WORDS'", "1 POINT on layer '0'", "1 HATCH", "1 LINE without length",
        "1 on layer 'AWAY', which is off", "1 on layer 'COLD'", "1 on the sheet of paper 'Layout1'",
    ):  # fmt: skip
        assert any(text in one for one in told), text
    assert [shape.circle for shape in read(document, layers=("AWAY",)).shapes] == [((50, 5), 4)]


def test_a_binary_file_is_the_same(read, sheet) -> None:
    """The binary form of a drawing gives what its text gives, its units too."""
    document, space = sheet
    blocks(document)
    space.add_blockref("OUTER", (1, 2))
    text, binary = (read(document, fmt=fmt, units=None) for fmt in ("asc", "bin"))
    assert [shape.contour.bounds for shape in text.shapes] == [
        pytest.approx(shape.contour.bounds) for shape in binary.shapes
    ]


def test_contours_are_contours(read, sheet) -> None:
    """Every shape that comes in is a closed counter-clockwise contour of lines and arcs alone."""
    document, space = sheet
    blocks(document)
    space.add_blockref("OUTER", (1, 2), dxfattribs={"xscale": 3})
    for shape in read(document).shapes:
        assert isinstance(shape.contour, Contour) and Contour(shape.contour.segments).area > 0
