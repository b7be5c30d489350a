"""What the emitted text really removes, swept here by other means than the judge's, against closed forms."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point

from toolpaths import pipeline
from toolpaths.reread import read
from toolpaths.stroke import Stroke

JOB = """
format = 1
title = "area"
units = "mm"
[[panel]]
name = "plate"
material = "{material}"
thickness = {thickness}
width = 160
height = 120
{feature}
"""

D_AREA = 122.0391
"""Circle 12.7 with a flat at 11.7: worked_examples, D_hole_area (plane geometry)."""

D_CHORD = 6.8411
"""Its flat: worked_examples, D_hole_flat: c = 2 sqrt(h (2r - h))."""

FEATURES = {
    "hole": ("[[panel.hole]]\nat = [80, 60]\ndiameter = 16", math.pi * 64),
    "small hole": ("[[panel.hole]]\nat = [80, 60]\ndiameter = 3.2", math.pi * 1.6**2),
    "large hole": ("[[panel.hole]]\nat = [80, 60]\ndiameter = 40", math.pi * 400),
    "d_hole": ("[[panel.d_hole]]\nat = [80, 60]\ndiameter = 12.7\nacross_flat = 11.7\nangle = 30", D_AREA),
    "double_d_hole": (
        "[[panel.double_d_hole]]\nat = [80, 60]\ndiameter = 12.7\nacross_flats = 10.7\nangle = 30",
        # a circle less two of the D-hole's segments (plane geometry)
        2 * D_AREA - math.pi * 6.35**2,
    ),
    "grid": (
        "[[panel.grid]]\nat = [80, 60]\ncolumns = 3\nrows = 2\npitch = 9\ndiameter = 4\nstaggered = true",
        6 * math.pi * 4,
    ),
    "keyed_hole": (
        "[[panel.keyed_hole]]\nat = [80, 60]\ndiameter = 12\nkey_width = 4\nkey_depth = 2\nangle = 30",
        # circle and rectangle less the strip of the circle that both hold: h sqrt(r² - h²) + r² asin(h/r)
        math.pi * 36 + 4 * 8 - 2 * math.sqrt(32) - 36 * math.asin(1 / 3),
    ),
    "small polygon": (
        "[[panel.polygon]]\nat = [70, 50]\npoints = [[0, 0], [16, 0], [16, 7], [7, 7], [7, 12], [0, 12]]\nangle = 20",
        16 * 7 + 7 * 5,
    ),
    "polygon": (
        "[[panel.polygon]]\npoints = [[60, 40], [60, 80], [84, 80], [84, 64], [100, 64], [100, 40]]\ncorner_radius = 3",
        # four outer corners more than inner ones
        40 * 24 + 24 * 16 - 4 * (1 - math.pi / 4) * 9,
    ),
    # worked_examples, rounded_rectangle_area: 27 x 20 R2.5 is 534.635 mm² (plane geometry)
    "cutout": ("[[panel.cutout]]\nat = [80, 60]\nwidth = 27\nheight = 20\ncorner_radius = 2.5", 534.635),
    "small cutout": (
        "[[panel.cutout]]\nat = [80, 60]\nwidth = 20\nheight = 14\ncorner_radius = 2\nangle = 20",
        20 * 14 - (4 - math.pi) * 4,
    ),
    "slot": ("[[panel.slot]]\nat = [80, 60]\nlength = 20\nwidth = 6\nangle = 45", 14 * 6 + math.pi * 9),
    "ring": (
        "[[panel.ring]]\nat = [80, 60]\ncircle_diameter = 40\ncount = 6\ndiameter = 4",
        6 * math.pi * 4,
    ),
}


def swept(stroke: Stroke, radius: float) -> shapely.Geometry:
    """The area under a cutter of ``radius`` along one stroke, by a buffered line of fine chords."""
    if stroke.centre is None:
        return LineString([stroke.start[:2], stroke.end[:2]]).buffer(radius, quad_segs=64)
    (cx, cy), path = stroke.centre, stroke.radius
    first = math.atan2(stroke.start[1] - cy, stroke.start[0] - cx)
    steps = max(8, math.ceil(128 * stroke.sweep))
    sign = 1 if stroke.ccw else -1
    angles = [first + sign * stroke.sweep * k / steps for k in range(steps + 1)]
    return LineString([(cx + path * math.cos(a), cy + path * math.sin(a)) for a in angles]).buffer(radius, quad_segs=64)


def gone_at_the_bottom(job, text: str, thickness: float) -> shapely.Geometry:
    """Union of everything that a full-diameter tip sweeps at or below the underside."""
    areas = []
    for stroke in read(text).strokes:
        cutter = job.cutters[stroke.cutter] if stroke.cutter else None
        if cutter is None or stroke.kind == "rapid":
            continue
        full = -thickness - cutter.point_length
        if stroke.start[:2] == stroke.end[:2] and stroke.centre is None:
            if stroke.end[2] <= full + 1e-9:
                areas.append(Point(stroke.end[:2]).buffer(cutter.radius, quad_segs=128))
        elif max(stroke.start[2], stroke.end[2]) <= full + 1e-9:
            areas.append(swept(stroke, cutter.radius))
    return shapely.union_all(areas)


def corners_left(kind: str, radius: float) -> float:
    """Area that a round cutter leaves in sharp corners; in those of a D-hole between flat, circle and rolled arc.

    In each corner the cutter touches the flat at one point and the circle at another; what stays is the figure between
    chord, circle and cutter, found here by rolling the disc into it (plane geometry, by fine polygons). A square corner
    keeps (1 - pi/4) r².
    """
    if kind in ("keyed_hole", "small polygon"):
        return {"keyed_hole": 2, "small polygon": 5}[kind] * (1 - math.pi / 4) * radius**2
    if kind not in ("d_hole", "double_d_hole"):
        return 0.0
    flat_at = 11.7 - 12.7 / 2
    far = -flat_at if kind == "double_d_hole" else -20
    shape = Point(0, 0).buffer(6.35, quad_segs=512).intersection(shapely.box(far, -20, flat_at, 20))
    # where the disc's centre may be: a smaller circle between flats that stand off by its radius
    centres = Point(0, 0).buffer(6.35 - radius, quad_segs=512)
    rolled = centres.intersection(shapely.box(far + radius, -20, flat_at - radius, 20)).buffer(radius, quad_segs=256)
    return shape.area - rolled.area


@pytest.mark.parametrize("machine", ["small router", "bench mill", "sheet router"])
@pytest.mark.parametrize("kind", FEATURES)
@pytest.mark.parametrize(("material", "thickness"), [("mild steel", 1.2), ("aluminium", 2), ("plywood", 6)])
def test_removed_area_is_the_closed_form(job_of, kind, machine, material, thickness) -> None:
    """The area gone at the underside is the closed form, less corners and, with tabs, slug and tabs."""
    feature, area = FEATURES[kind]
    job = job_of(JOB.format(material=material, thickness=thickness, feature=feature), machine=machine)
    made = pipeline.make(job, posts=["gcode"])
    assert made.files, made.findings
    text = made.files[0].content.decode()
    gone = gone_at_the_bottom(job, text, thickness)
    (panel,) = made.layout.panels
    radius = min(cutter.radius for cutter in job.cutters.values() if f"T{cutter.number}\n" in text)
    perimeter = panel.openings[0].shape.perimeter
    # 0.5 µm of facets and half a printed step along the whole wall
    slack = 0.002 * perimeter * len(panel.openings)
    if panel.openings[0].cleared:
        assert gone.area == pytest.approx(area - corners_left(kind, radius), abs=slack)
        return
    wanted = shapely.Polygon([panel.openings[0].shape.point_at(k * perimeter / 4000) for k in range(4000)])
    stays = wanted.difference(gone.buffer(1e-6))
    pieces = [piece for piece in shapely.get_parts(stays) if piece.area > 0.05]
    assert gone.difference(wanted.buffer(0.004)).is_empty
    # at the underside the slug and its tabs are one piece: closed form, less what is gone, is what is still there
    assert len(pieces) == 1
    assert gone.area + pieces[0].area == pytest.approx(area, abs=slack)


@pytest.mark.parametrize("machine", ["small router", "bench mill", "sheet router"])
@pytest.mark.parametrize(("material", "thickness"), [("mild steel", 1.2), ("aluminium", 2), ("plywood", 6)])
@pytest.mark.parametrize("corner_radius", [0, 3])
def test_the_kerf_of_an_outline_is_the_closed_form(job_of, machine, material, thickness, corner_radius) -> None:
    """A kerf of width k round a perimeter P has P k + pi k²; each tab takes w k off it, less the cutter's round ends.

    k is the cutter with what roughing left. Two discs of radius r that lie a apart have 2 pi r² less their lens.
    """
    keys = f"cut_outline = true\ncorner_radius = {corner_radius}"
    job = job_of(JOB.format(material=material, thickness=thickness, feature=keys), machine=machine)
    made = pipeline.make(job, posts=["gcode"])
    assert made.files, made.findings
    text = made.files[0].content.decode()
    gone = gone_at_the_bottom(job, text, thickness)
    (cutter,) = [cutter for cutter in job.cutters.values() if f"T{cutter.number}\n" in text]
    row, r = job.materials[material], cutter.radius
    a = row.finish_mill if job.machine.stiffness >= 1 else row.finish_router
    perimeter = 2 * (160 + 120) - (8 - 2 * math.pi) * corner_radius
    k = cutter.diameter + a
    lens = 2 * r * r * math.acos(a / (2 * r)) - a / 2 * math.sqrt(4 * r * r - a * a)
    tab = (cutter.diameter + row.tabs.neck) * k - (2 * math.pi * r * r - lens)
    count = max(row.tabs.least, math.ceil(perimeter / row.tabs.spacing))
    wanted = perimeter * k + math.pi * k * k - count * tab
    assert gone.area == pytest.approx(wanted, abs=0.002 * perimeter)
    # and nothing of it lies in the panel
    panel = shapely.box(corner_radius, corner_radius, 160 - corner_radius, 120 - corner_radius)
    assert gone.intersection(panel.buffer(corner_radius - 0.001, quad_segs=64)).area < 0.05


@pytest.mark.parametrize("machine", ["small router", "bench mill", "sheet router"])
@pytest.mark.parametrize("kind", FEATURES)
@pytest.mark.parametrize(("material", "thickness", "depth"), [("aluminium", 5, 2), ("plywood", 9, 4.5)])
def test_a_blind_floor_is_the_closed_form(job_of, kind, machine, material, thickness, depth) -> None:
    """The area gone at a blind feature's depth is the closed form less corners, and nothing but a point goes deeper."""
    feature, area = FEATURES[kind]
    feature += f"\ndepth = {depth}"
    job = job_of(JOB.format(material=material, thickness=thickness, feature=feature), machine=machine)
    made = pipeline.make(job, posts=["gcode"])
    assert made.files, made.findings
    text = made.files[0].content.decode()
    # a drilled hole ends where its rounded Z says
    gone = gone_at_the_bottom(job, text, depth - 0.001)
    (panel,) = made.layout.panels
    finisher = min(cutter.radius for cutter in job.cutters.values() if f"T{cutter.number}\n" in text)
    slack = 0.002 * panel.openings[0].shape.perimeter * len(panel.openings)
    assert gone.area == pytest.approx(area - corners_left(kind, finisher), abs=slack)
    for stroke in read(text).strokes:
        if stroke.cutter and stroke.kind == "cut":
            assert stroke.end[2] >= -depth - job.cutters[stroke.cutter].point_length - 0.001
            assert stroke.end[2] > -thickness


REBATE = """[[panel.hole]]
at = [80, 60]
diameter = 80
depth = 3
[[panel.hole]]
at = [80, 60]
diameter = {inner}
{tabs}
"""


@pytest.mark.parametrize(("inner", "tabs"), [(60, ""), (60, "tabs = false"), (20, ""), (4, "")])
@pytest.mark.parametrize("machine", ["bench mill", "sheet router"])
def test_a_rebate_is_a_ring_of_floor(job_of, machine, inner, tabs) -> None:
    """Round a through hole the rebate's floor is gone as far as its wall: a circle 80 less one of the hole."""
    feature = REBATE.format(inner=inner, tabs=tabs)
    job = job_of(JOB.format(material="plywood", thickness=9, feature=feature), machine=machine)
    made = pipeline.make(job, posts=["gcode"])
    assert made.files, made.findings
    gone = gone_at_the_bottom(job, made.files[0].content.decode(), 3)
    hole, wall = Point(80, 60).buffer(inner / 2, quad_segs=512), Point(80, 60).buffer(40, quad_segs=512)
    floor = gone.difference(hole)
    assert floor.area == pytest.approx(math.pi * (40**2 - inner**2 / 4), abs=0.002 * math.pi * (80 + inner))
    assert gone.difference(wall.buffer(0.004)).is_empty


def test_a_countersink_is_as_deep_as_its_cone(job_of) -> None:
    """A 90 degree cone 9 mm wide has its tip 4.5 mm deep, an 82 degree one of 8 mm 4.601 mm (plane geometry)."""
    feature = (
        "[[panel.hole]]\nat = [60, 60]\ndiameter = 4.5\ncountersink = { diameter = 9, angle = 90 }\n"
        "[[panel.hole]]\nat = [90, 60]\ndiameter = 4.5\ncountersink = { diameter = 8, angle = 82 }\n"
    )
    job = job_of(JOB.format(material="aluminium", thickness=6, feature=feature), machine="bench mill")
    made = pipeline.make(job, posts=["gcode"])
    assert made.files, made.findings
    tips = {
        stroke.end
        for stroke in read(made.files[0].content.decode()).strokes
        if stroke.cutter and job.cutters[stroke.cutter].kind == "countersink" and stroke.end[2] < 0
    }
    assert sorted(tips) == [(60.0, 60.0, -4.5), (90.0, 60.0, -4.601)]


@pytest.mark.parametrize(("thickness", "codes"), [(2.5, set()), (2.4, {"no-countersink"})])
def test_a_cone_whose_tip_goes_too_far_into_the_board_is_no_surprise(job_of, thickness, codes) -> None:
    """A 90 degree cone 9 mm wide in 2.5 mm of sheet goes 2 mm into the board and is built; in 2.4 mm check says no, so
    that no build fails its proof on it."""
    feature = "[[panel.hole]]\nat = [60, 60]\ndiameter = 4.5\ncountersink = { diameter = 9, angle = 90 }\n"
    job = job_of(JOB.format(material="aluminium", thickness=thickness, feature=feature), machine="bench mill")
    errors = {finding.code for finding in pipeline.check(job) if finding.severity == "error"}
    assert errors - {"deep-countersink"} == codes
    if not errors:
        assert pipeline.make(job, posts=["gcode"]).files


def test_the_sweep_used_here_is_right() -> None:
    """An annulus 12 over 8 has 62.83 (Machinery's Handbook 31st ed p. 79)."""
    ring = Stroke(1, "cut", (5, 0, -1), (5, 0, -1), 100, 1000, 1, True, (0, 0), True)
    assert swept(ring, 1.0).area == pytest.approx(62.83, abs=0.01)
    assert affinity.rotate(swept(ring, 1.0), 90).area == pytest.approx(62.83, abs=0.01)
