"""Panels laid out: origins and zeros, exact shapes, finishes, tags and the place for touching off."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from toolpaths.errors import BadInput
from toolpaths.geometry.judge import faceted
from toolpaths.job import Job, Ring
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out, ring_centres
from toolpaths.layout.checks import findings
from toolpaths.layout.panel import Opening, Panel, Tabs
from toolpaths.tolerance import TOUCH_OFF_CLEARANCE

SAMPLE = Path(__file__).parents[2] / "sample_jobs" / "headphone_amplifier.toml"

HEAD = 'format = 1\ntitle = "Test"\nunits = "mm"\n'
PANEL = '[[panel]]\nname = "rear"\nmaterial = "mild steel"\nthickness = 1.2\nwidth = 200\nheight = 100\n'
HOLE = "[[panel.hole]]\nat = [30, 20]\ndiameter = 6\n"


@pytest.fixture
def lay(tmp_path: Path):  # type: ignore[no-untyped-def]
    """Lays out the one panel of a job text."""

    def one(text: str, head: str = HEAD) -> Panel:
        path = tmp_path / "job.toml"
        path.write_text(head + text, encoding="utf-8")
        return lay_out(read_job(path)).panels[0]

    return one


# origin, the outline's box, and the panel point that is X0 Y0 from outside and from inside (200 x 100 mm)
ORIGINS = [
    ("lower left", (0, 0, 200, 100), (0, 0), (200, 0)),
    ("lower centre", (-100, 0, 100, 100), (0, 0), (0, 0)),
    ("lower right", (-200, 0, 0, 100), (0, 0), (-200, 0)),
    ("left centre", (0, -50, 200, 50), (0, 0), (200, 0)),
    ("centre", (-100, -50, 100, 50), (0, 0), (0, 0)),
    ("right centre", (-200, -50, 0, 50), (0, 0), (-200, 0)),
    ("upper left", (0, -100, 200, 0), (0, 0), (200, 0)),
    ("upper centre", (-100, -100, 100, 0), (0, 0), (0, 0)),
    ("upper right", (-200, -100, 0, 0), (0, 0), (-200, 0)),
]


@pytest.mark.parametrize(("origin", "box", "zero", "zero_inside"), ORIGINS)
@pytest.mark.parametrize("side", ["outside", "inside"])
def test_zero_is_what_origin_names_on_the_machine(lay, origin, box, zero, zero_inside, side) -> None:  # type: ignore[no-untyped-def]
    """The origin lies at 0, 0 of the panel; X0 Y0 is the point of the same name as the panel lies on the machine."""
    panel = lay(PANEL + f'origin = "{origin}"\nmachine_from = "{side}"\n' + HOLE)
    assert panel.outline.bounds == panel.stock == tuple(map(float, box))
    assert panel.zero == (zero if side == "outside" else zero_inside)
    assert panel.mirrored == (side == "inside")
    # The panel on the machine: X and Y of its program box are those of the same origin, turned over or not.
    assert panel.area_to_program(panel.stock) == tuple(map(float, box))


def test_a_hole_seen_from_inside_is_where_paper_says(lay) -> None:  # type: ignore[no-untyped-def]
    """Turned over left to right, a hole 30 from the left and 20 up lies 170 from the left and 20 up."""
    panel = lay(PANEL + 'machine_from = "inside"\n' + HOLE)
    assert panel.openings[0].centre == (30.0, 20.0)
    assert panel.to_program(panel.openings[0].centre) == (170.0, 20.0)
    assert panel.area_to_program((30.0, 20.0, 45.0, 27.0)) == (155.0, 20.0, 170.0, 27.0)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(ORIGINS), st.booleans(), st.floats(-300, 300), st.floats(-300, 300))
def test_program_points_come_back(lay, row, inside, x, y) -> None:  # type: ignore[no-untyped-def]
    """A panel point in program coordinates and back is the same point, and distances stay."""
    panel = lay(PANEL + f'origin = "{row[0]}"\nmachine_from = "{"inside" if inside else "outside"}"\n')
    point = panel.to_program((x, y))
    assert panel.from_program(point) == pytest.approx((x, y), abs=1e-9)
    assert math.dist(point, panel.to_program((0, 0))) == pytest.approx(math.hypot(x, y), abs=1e-9)


# Machinery's Handbook, 31st ed., per unit of diameter, y positive downwards, anticlockwise:
# p. 709 example 1(a), hole 1 at the top; p. 710 example 2(a), turned by half a pitch.
TOP_HOLE = [(0.0, -0.5), (-0.47553, -0.15451), (-0.29389, 0.40451), (0.29389, 0.40451), (0.47553, -0.15451)]
HALF_PITCH = [(-0.29389, -0.40451), (-0.47553, 0.15451), (0.0, 0.5), (0.47553, 0.15451), (0.29389, -0.40451)]
# p. 709 example 1(b): the same circle measured from its upper left tangent corner
CORNER = [(0.5, 0.0), (0.02447, 0.34549), (0.20611, 0.90451), (0.79389, 0.90451), (0.97553, 0.34549)]


@pytest.mark.parametrize(("start", "printed"), [(90, TOP_HOLE), (90 + 36, HALF_PITCH)])
def test_a_ring_has_the_handbooks_coordinates(lay, start, printed) -> None:  # type: ignore[no-untyped-def]
    """A bolt circle of 80 mm has the printed coordinates; the book's y points down, ours up."""
    ring = f"[[panel.ring]]\nat = [100, 50]\ncircle_diameter = 80\ncount = 5\nstart_angle = {start}\ndiameter = 4\n"
    openings = lay(PANEL + ring).openings
    assert [opening.feature for opening in openings] == ["ring[1]"] * 5
    for opening, (x, y) in zip(openings, printed, strict=True):
        assert opening.centre == pytest.approx((100 + 80 * x, 50 - 80 * y), abs=80 * 0.000005)


def test_a_ring_from_its_corner_has_the_handbooks_coordinates() -> None:
    """The second form of the book's example: the circle lies in the corner of its tangents."""
    ring = Ring(number=1, at=(0.5, -0.5), label="", finish="machine", tabs=None, circle_diameter=1.0, count=5,
                diameter=0.1, start_angle=math.pi / 2, tolerance=0.0)  # fmt: skip
    for centre, (x, y) in zip(ring_centres(ring), CORNER, strict=True):
        assert centre == pytest.approx((x, -y), abs=0.000005)


def test_a_measured_piece_has_its_own_outline_and_thickness(lay) -> None:  # type: ignore[no-untyped-def]
    """Positions and expressions are the design's, counted from the origin on the piece that was measured."""
    text = PANEL + 'origin = "right centre"\nmachine_from = "inside"\nmeasured = { width = 199, thickness = 1.15 }\n'
    panel = lay(text + "[[panel.hole]]\nat = ['-width/2', 'thickness']\ndiameter = 6\n")
    assert panel.outline.bounds == (-199.0, -50.0, 0.0, 50.0)
    assert panel.zero == (-199.0, 0.0)
    assert panel.thickness == 1.15
    assert panel.openings[0].centre == (-100.0, 1.2)


# Sizes with their area (circle: pi d²/4; rounded rectangle: w h - (4 - pi) r²; slot: (l - w) w + pi w²/4), and the
# printed values for the 12.7 mm D of 11.7 mm (122.0391 mm²) and 27 x 20 R2.5 (534.635 mm²).
SHAPES = [
    ("hole", "diameter = 3.2", math.pi * 2.56, "Ø3.2", True, 0.0),
    ("hole", "diameter = '3/8 in'", math.pi * 9.525**2 / 4, "Ø9.525 (3/8 in)", True, 0.0),
    ("hole", "diameter = 25", math.pi * 625 / 4, "Ø25", True, 0.0),
    ("hole", "diameter = 25.1", math.pi * 25.1**2 / 4, "Ø25.1", False, 0.0),
    ("d_hole", "diameter = 12.7\nacross_flat = 11.7\nangle = 30", 122.0391, "D 12.7/11.7", True, 1.6),
    ("cutout", "width = 27\nheight = 20\ncorner_radius = 2.5\nangle = 10", 534.635, "27 x 20 R2.5", False, 0.0),
    ("cutout", "width = 20\nheight = 14\n", 280.0, "20 x 14", True, 1.6),
    ("cutout", "width = 20\nheight = 15.1\n", 302.0, "20 x 15.1", False, 1.6),
    ("slot", "length = 24\nwidth = 4\nangle = 90", 80 + math.pi * 4, "slot 24 x 4", True, 0.0),
    ("slot", "length = 26\nwidth = 4", 88 + math.pi * 4, "slot 26 x 4", True, 0.0),  # no slug to hold
    ("slot", "length = 26\nwidth = 14", 12 * 14 + math.pi * 49, "slot 26 x 14", False, 0.0),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "keys", "area", "text", "cleared", "corner"), SHAPES)
def test_each_kind_has_its_exact_shape(lay, kind, keys, area, text, cleared, corner) -> None:  # type: ignore[no-untyped-def]
    """Shape, words, the corner that may stay, and 25 mm across (or 12 wide) as the bound between chips and tabs."""
    opening = lay(PANEL + f"[[panel.{kind}]]\nat = [60, 50]\n{keys}\n").openings[0]
    assert opening.shape.area == pytest.approx(area, abs=0.0005)
    assert opening.cut == opening.shape
    assert (opening.size_text, opening.cleared, opening.corner_limit) == (text, cleared, corner)
    assert opening.tabs == (None if cleared else Tabs())
    assert opening.marks == ()


def test_the_flat_of_a_d_hole_lies_where_its_angle_points(lay) -> None:  # type: ignore[no-untyped-def]
    """At 90 degrees the flat lies on top, across_flat - diameter/2 above the centre."""
    text = "[[panel.d_hole]]\nat = [60, 50]\ndiameter = 12.7\nacross_flat = 11.7\nangle = 90\n"
    bounds = lay(PANEL + text).openings[0].shape.bounds
    assert bounds == pytest.approx((60 - 6.35, 50 - 6.35, 60 + 6.35, 50 + 11.7 - 6.35))


def test_stock_over_6_mm_may_keep_a_larger_corner_and_the_job_has_the_last_word(lay) -> None:  # type: ignore[no-untyped-def]
    """The radius that may stay in a sharp corner: by the stock, by the panel, by the feature."""
    cutout = "[[panel.cutout]]\nat = [60, 50]\nwidth = 30\nheight = 20\n"
    text = PANEL.replace("1.2", "12")
    assert lay(text + cutout).openings[0].corner_limit == 3.2
    assert lay(text + "max_corner_radius = 1\n" + cutout).openings[0].corner_limit == 1.0
    both = lay(text + "max_corner_radius = 1\n" + cutout + "max_corner_radius = 2\n")
    assert both.openings[0].corner_limit == 2.0


def test_a_pilot_opens_its_own_circle(lay) -> None:  # type: ignore[no-untyped-def]
    """Pilots are 3 mm in a metric job and 1/8 in in an inch job, about the centre; the design stays in the drawing."""
    panel = lay(PANEL + 'finish = "pilot"\n' + HOLE.replace("6", "30") + HOLE + 'finish = "machine"\n')
    pilot, machined = panel.openings
    assert (pilot.diameter, pilot.cut_diameter, pilot.cleared, pilot.tabs) == (30.0, 3.0, True, None)
    assert pilot.cut is not None
    assert pilot.cut.area == pytest.approx(math.pi * 9 / 4)
    assert machined.cut_diameter == 6.0
    inches = lay(PANEL.replace("200", "8").replace("100", "4").replace("1.2", "0.05") + 'finish = "pilot"\n'
                 + HOLE.replace("[30, 20]", "[1, 1]").replace("6", "1"), HEAD.replace("mm", "in"))  # fmt: skip
    assert inches.openings[0].cut_diameter == 3.175


def test_a_mark_cuts_nothing_and_marks_centres(lay) -> None:  # type: ignore[no-untyped-def]
    """A hole is marked at its centre, a cutout and a slot at the centres of their corner arcs."""
    text = PANEL + 'finish = "mark"\n' + HOLE
    text += "[[panel.cutout]]\nat = [60, 50]\nwidth = 40\nheight = 20\ncorner_radius = 4\nangle = 90\n"
    text += "[[panel.slot]]\nat = [120, 50]\nlength = 24\nwidth = 4\n"
    hole, cutout, slot = lay(text).openings
    assert hole.marks == ((30.0, 20.0),)
    assert sorted(cutout.marks) == [pytest.approx(p) for p in ((54, 34), (54, 66), (66, 34), (66, 66))]
    assert slot.marks == ((110.0, 50.0), (130.0, 50.0))
    assert all((o.cut, o.cut_diameter, o.tabs, o.cleared) == (None, None, None, True) for o in (hole, cutout, slot))


def test_tabs_are_as_asked_for(lay) -> None:  # type: ignore[no-untyped-def]
    """A large opening has tabs by rule, by the job's own figures, or none."""
    cutout = "[[panel.cutout]]\nat = [60, 50]\nwidth = 40\nheight = 20\n"
    text = PANEL + cutout + cutout + "tabs = false\n" + cutout + "tabs = { count = 4, height = 0.6 }\n"
    openings = lay(text).openings
    assert [opening.tabs for opening in openings] == [Tabs(), None, Tabs(4, None, 0.6)]
    assert not any(opening.cleared for opening in openings)


def test_tags_are_a_letter_for_each_size_and_a_number_within(lay) -> None:  # type: ignore[no-untyped-def]
    """Letters follow the sizes from small to large, numbers the order of the openings; after Z comes AA."""
    sizes = [6, 3, 6, 4, 3]
    text = PANEL + "".join(f"[[panel.hole]]\nat = [{10 + 20 * n}, 50]\ndiameter = {d}\n" for n, d in enumerate(sizes))
    assert [opening.tag for opening in lay(text).openings] == ["C1", "A1", "C2", "B1", "A2"]
    many = PANEL + "".join(f"[[panel.hole]]\nat = [50, 50]\ndiameter = {n + 1}\n" for n in range(28))
    assert [opening.tag for opening in lay(many).openings][24:] == ["Y1", "Z1", "AA1", "AB1"]


def free_around(point: tuple[float, float], opening: Opening) -> float:
    """How far a point is from an opening, measured on shapely's faceted copy: a second opinion."""
    from shapely import Point

    return float(Point(point).distance(faceted(opening.shape)))


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 200), st.integers(0, 100), st.integers(2, 30)), max_size=25))
def test_the_touch_off_point_is_on_the_sheet_and_clear_of_everything(lay, holes) -> None:  # type: ignore[no-untyped-def]
    """Wherever the holes are, the point keeps 5 mm from each of them and from the clamps, and lies on the sheet."""
    text = PANEL + "corner_radius = 30\nclamps = [{ x = 0, y = 40, width = 20 }]\n"
    text += "".join(f"[[panel.hole]]\nat = [{x}, {y}]\ndiameter = {d}\n" for x, y, d in holes)
    panel = lay(text)
    if panel.touch_off is None:
        assert holes
        return
    x, y = panel.touch_off
    assert faceted(panel.outline).buffer(0.001).contains_properly(_point(x, y))
    assert all(free_around((x, y), opening) >= TOUCH_OFF_CLEARANCE - 0.001 for opening in panel.openings)
    assert math.hypot(max(x - 20, 0), max(40 - y, y - 60, 0)) >= TOUCH_OFF_CLEARANCE - 1e-9


@pytest.mark.parametrize(("units", "step"), [("mm", 1.0), ("in", 1.27)])
def test_the_touch_off_point_is_dialled_in_whole_steps(tmp_path: Path, units: str, step: float) -> None:
    """On a panel of odd size the point lies whole mm, or twentieths of an inch, from the program's zero."""
    own = f'format = 1\nname = "small router"\nprogram = {{ units = "{units}" }}\n'
    (tmp_path / "own.toml").write_text(own, encoding="utf-8")
    head = 'format = 1\ntitle = "t"\nunits = "mm"\nmachine = "own.toml"\n'
    text = head + PANEL.replace("width = 200", "width = 203.37") + "[[panel.hole]]\nat = [4, 3]\ndiameter = 9\n"
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    (panel,) = lay_out(read_job(tmp_path / "job.toml")).panels
    assert panel.touch_off is not None
    for figure in panel.to_program(panel.touch_off):
        assert figure / step == pytest.approx(round(figure / step), abs=1e-9)


def _point(x: float, y: float):  # type: ignore[no-untyped-def]
    from shapely import Point

    return Point(x, y)


def test_a_sheet_without_a_free_place_has_no_touch_off_point(lay) -> None:  # type: ignore[no-untyped-def]
    """Where clamps and openings leave no room, there is no point, and none is made up."""
    text = PANEL + "[[panel.cutout]]\nat = [100, 50]\nwidth = 194\nheight = 94\n"
    assert lay(text).touch_off is None


def sample(size: str | None, machine: str) -> Job:
    return read_job(SAMPLE, size=size, machine=machine)


@pytest.mark.parametrize("machine", ["small router", "bench mill", "sheet router"])
@pytest.mark.parametrize("size", [None, "wide"])
def test_the_sample_lays_out_without_a_finding(size: str | None, machine: str) -> None:
    """The sample amplifier has nothing to object to before planning, in each size and on each machine."""
    job = sample(size, machine)
    layout = lay_out(job)
    assert [panel.name for panel in layout.panels] == ["top", "rear"]
    assert findings(layout, job.machine, job.cutters, job.materials) == []
    assert all(panel.touch_off for panel in layout.panels)


def test_the_sample_shows_components_and_every_finish() -> None:
    """The sample has components by themselves and in rows, features of its own, each finish, and a transformer's
    cutout that is tabbed beside openings that are cleared."""
    panels = lay_out(sample(None, "small router")).panels
    openings = [opening for panel in panels for opening in panel.openings]
    kinds = {opening.feature.split("[")[0] for opening in openings}
    assert kinds == {"hole", "ring", "slot", "part", "row"}
    assert {opening.finish for opening in openings} == {"machine", "pilot", "mark"}
    assert [opening.label for opening in openings if not opening.cleared] == ["mains transformer", "mains"]
    for panel in panels:
        for opening in panel.openings:
            placed = None if opening.component is None else panel.placements[opening.component]
            assert (placed is not None) == opening.feature.startswith(("part", "row"))
            assert placed is None or placed.feature == opening.feature


def test_the_same_job_gives_the_same_layout() -> None:
    """Nothing random: two readings of one file are equal."""
    assert lay_out(sample(None, "small router")) == lay_out(sample(None, "small router"))
    job = sample(None, "small router")
    assert lay_out(replace(job, title="other")).panels == lay_out(job).panels


def test_a_staggered_grid_is_one_pitch_apart_everywhere(lay) -> None:  # type: ignore[no-untyped-def]
    """Every second row from below stands half a pitch to the right, rows are pitch * sqrt(3)/2 apart (equilateral
    triangles), and the box round all centres has its middle at ``at``."""
    text = "[[panel.grid]]\nat = [60, 50]\ncolumns = 4\nrows = 3\npitch = 8\ndiameter = 3\nstaggered = true\n"
    centres = [opening.centre for opening in lay(PANEL + text).openings]
    assert len(centres) == 12 and {round(y - 50, 4) for _, y in centres} == {-6.9282, 0.0, 6.9282}
    xs, ys = zip(*centres, strict=True)
    assert ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2) == pytest.approx((60, 50))
    assert min(y for x, y in centres if x == max(xs)) > min(ys)
    for centre in centres:
        assert sorted(math.dist(centre, other) for other in centres)[1] == pytest.approx(8)


def test_a_plain_grid_has_its_own_pitch_each_way(lay) -> None:  # type: ignore[no-untyped-def]
    """``pitch = [across, up]`` without stagger gives columns and rows in line."""
    text = "[[panel.grid]]\nat = [60, 50]\ncolumns = 3\nrows = 2\npitch = [10, 6]\ndiameter = 3\n"
    assert [opening.centre for opening in lay(PANEL + text).openings] == [
        (50, 47), (60, 47), (70, 47), (50, 53), (60, 53), (70, 53),
    ]  # fmt: skip


def test_more_holes_than_a_job_may_have_are_counted_before_they_are_made(tmp_path: Path) -> None:
    """A grid of 1000 by 1000 is refused at once, with the limit."""
    text = "[[panel.grid]]\nat = [60, 50]\ncolumns = 1000\nrows = 1000\npitch = 8\ndiameter = 3\n"
    path = tmp_path / "job.toml"
    path.write_text(HEAD + PANEL + text, encoding="utf-8")
    with pytest.raises(BadInput, match=r"panel\[1\].grid\[1\]: has 1000000 holes; at most 200000"):
        read_job(path)


def test_no_tag_reads_like_a_label_of_the_job(tmp_path: Path) -> None:
    """Where a part of any panel is called B1, no opening's tag begins with B: a name means one thing on all sheets."""
    other = PANEL.replace('"rear"', '"top"')
    part = '[[panel.part]]\npart = "noval socket"\nat = [60, 50]\nlabel = "B1"\n'
    path = tmp_path / "job.toml"
    path.write_text(HEAD + PANEL + HOLE + HOLE.replace("30", "60").replace("= 6", "= 8") + other + part, "utf-8")
    rear, top = lay_out(read_job(path)).panels
    assert [one.tag for one in rear.openings] == ["A1", "C1"]
    assert {one.tag[0] for one in top.openings} == {"A", "C"}
