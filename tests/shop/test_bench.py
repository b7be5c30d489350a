"""Work at the bench: the method of each opening by the builder's own tools, and the bits, each fitted once."""

import csv
import io
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.shop.test_papers import opening, panel
from toolpaths.geometry.judge import faceted, inside
from toolpaths.geometry.shapes import circle, d_hole, double_d_hole, keyed_hole, rounded_rectangle, slot
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.layout.panel import Countersink, Layout, Thread
from toolpaths.marks import draw_marks
from toolpaths.shop.bench import HandWork, bench_work, farthest, inside_of, order_lines, step_words
from toolpaths.shop.bench_sheet import bench_sheet
from toolpaths.shop.schedule import edges, trade_name, write
from toolpaths.shop.words import Figures
from toolpaths.tables.hand_tools import DrillPress, HandTool, HandTools, hand_tools
from toolpaths.tables.load import materials
from toolpaths.template import Common

SAMPLES = sorted((Path(__file__).parents[2] / "sample_jobs").glob("*.toml"))
PRESS = DrillPress((500.0, 1000.0, 2000.0), 104.0, 13.0, "common practice")
SMALL = HandTools(
    (
        HandTool("twist drill", "twist drill", (2.0, 3.0, 4.0, 8.0), 0, 0, ("metal", "board"), "common practice"),
        HandTool("step drill", "step drill", (4.0, 6.0, 8.0, 10.0, 12.0), 2, 3, ("metal",), "common practice"),
        HandTool("punch", "punch", (20.0,), 1.6, 10, ("metal",), "common practice"),
        HandTool("hole saw", "hole saw", (20.0, 30.0), 25, 6.35, ("metal", "board"), "common practice"),
        HandTool("reamer", "reamer", (3.0, 14.0), 3, 0, ("metal",), "common practice"),
        HandTool("saw", "saw", (6.0,), 20, 0, ("metal", "board"), "common practice"),
        HandTool("router", "router", (60.0, 500.0), 30, 0, ("board",), "common practice"),
        HandTool("round file", "round file", (3.0, 6.0), 0, 0, ("metal", "board"), "common practice"),
        HandTool("flat file", "flat file", (5.0, 16.0), 0, 0, ("metal", "board"), "common practice"),
    ),
    PRESS,
)


def made(shape, diameter=None, material="mild steel", thickness=1.2, tools=SMALL, **changes):
    """The work of one opening at the middle of a panel of 100 x 60 mm."""
    one = opening("A1", 50, 30, shape=shape, diameter=diameter, cut=shape, cut_diameter=diameter, **changes)
    face = replace(panel((one,)), thickness=thickness, material=material)
    (bench,) = bench_work(face, materials()[material], tools, 3.0)
    return bench


def hole(diameter, **changes):
    return made(circle((50, 30), diameter), diameter, **changes)


def words(bench, units="mm"):
    return [step_words(step, units) for step in bench.steps]


def test_a_small_hole_is_drilled_where_the_sheet_guides_the_point():
    """A 118 degree point of 0.30 d is no longer than the sheet up to 4.0 mm in 1.2 mm (worked: 0.3004 x 3 = 0.90)."""
    bench = hole(3.0)
    assert words(bench) == ["centre punch", "3 mm twist drill"]
    assert bench.left == 0 and bench.pilot == 0 and not bench.why


def test_a_larger_hole_is_stepped_after_its_pilot_and_never_twist_drilled_in_thin_metal():
    """8 mm in 1.2 mm steel: the bench has that twist drill, but over 6.5 mm it grabs; the step drill has a pilot."""
    bench = hole(8.0)
    assert words(bench) == ["centre punch", "3 mm twist drill (pilot)", "step drill, to 8 mm"]
    assert bench.pilot == 3
    assert words(hole(8.0, thickness=4.0)) == ["centre punch", "2 mm twist drill (pilot)", "8 mm twist drill"]
    assert words(hole(8.0, material="plywood", thickness=9.0)) == ["bradawl", "8 mm twist drill"]


def test_a_punch_gets_the_hole_for_its_bolt_and_is_not_asked_to_cut_what_it_cannot():
    """20 mm: punched in 1.2 mm steel, after 10 mm for the bolt; sawn in thicker sheet, in stainless steel and board."""
    bench = hole(20.0)
    assert words(bench) == [
        "centre punch", "3 mm twist drill (pilot)", "step drill, to 10 mm (pilot)", "20 mm punch",
    ]  # fmt: skip
    assert bench.pilot == 10
    for changes in ({"thickness": 2.0}, {"material": "stainless steel"}, {"material": "plywood", "thickness": 9.0}):
        assert words(hole(20.0, **changes))[-1] == "20 mm hole saw"
    assert hole(20.0, thickness=2.0).pilot == 6.35


def test_what_lies_between_two_sizes_is_reamed_or_filed_and_told():
    """11 mm: 10 mm stepped and reamed; 22 mm: 20 mm punched, and 1 mm at the wall is left for the file."""
    assert words(hole(11.0))[-2:] == ["step drill, to 10 mm", "reamer, to 11 mm"] and hole(11.0).left == 0
    bench = hole(22.0)
    assert words(bench)[-2:] == ["20 mm punch", "6 mm round file"]
    assert bench.left == pytest.approx(1.0)


def test_a_stated_tolerance_lets_the_next_size_serve():
    """A hole of 11.2 mm that may come out 0.8 mm larger is stepped to 12 mm, with nothing left to do."""
    assert words(hole(11.2, tolerance=0.8))[-1] == "step drill, to 12 mm"


def test_a_large_circle_is_routed_in_board_and_sawn_in_metal():
    """186 mm: on a pin in plywood, after its pilot; in sheet metal a start hole, then the saw 1 mm inside the line."""
    assert words(hole(186.0, material="plywood", thickness=18.0)) == [
        "bradawl", "3 mm twist drill (pilot)", "router, to Ø186 mm (on its pin, in several depths)",
    ]  # fmt: skip
    bench = hole(90.0)
    assert [step.doing for step in bench.steps] == ["mark", "drill", "drill", "saw", "file"]
    assert bench.left == 1.0
    ((x, y),) = bench.punched
    assert math.dist((x, y), (50, 30)) == pytest.approx(45 - 1 - 3)


def test_without_a_saw_that_goes_through_it_says_so():
    """A bench without a saw for 40 mm board breaks the opening out along a row of holes."""
    assert "no saw" in made(rounded_rectangle((50, 30), 60, 40, 3), material="plywood", thickness=40.0).why


SHAPES = st.builds(
    lambda diameter, share, turn, kind: (kind, diameter, share, turn),
    st.floats(6, 30), st.floats(0.55, 0.98), st.floats(-4, 4), st.sampled_from(["d_hole", "double_d_hole"]),
)  # fmt: skip


@settings(deadline=None)
@given(SHAPES)
def test_the_largest_circle_inside_a_hole_with_flats_is_that_of_a_general_library(drawn):
    """Shapely's maximum inscribed circle has the same radius, and ours lies inside the shape."""
    kind, diameter, share, turn = drawn
    shape = (d_hole if kind == "d_hole" else double_d_hole)((3, -2), diameter, share * diameter, turn)
    found = inside_of(opening("A1", 3, -2, shape=shape, diameter=None, kind=kind))
    assert found is not None
    centre, size = found
    assert size == pytest.approx(share * diameter)
    theirs = shapely.maximum_inscribed_circle(faceted(shape), tolerance=1e-4)
    assert theirs.length == pytest.approx(size / 2, abs=2e-3)
    assert inside(circle(centre, size - 1e-3), shape)


@settings(deadline=None)
@given(SHAPES, st.floats(-5, 5), st.floats(-5, 5))
def test_what_is_left_to_file_is_the_farthest_point_of_the_wall(drawn, x, y):
    """Hausdorff's distance of a general library from the wall to the middle of the hole says the same."""
    kind, diameter, share, turn = drawn
    shape = (d_hole if kind == "d_hole" else double_d_hole)((3, -2), diameter, share * diameter, turn)
    wall, centre = faceted(shape).exterior, (x, y)
    theirs = max(math.dist(point, centre) for point in wall.coords)
    assert farthest(shape, centre) == pytest.approx(theirs, abs=2e-3)


def test_a_d_hole_is_drilled_beside_its_centre_and_filed_at_the_flat():
    """12.7 mm over 11.7 mm: the circle of 11.7 mm inside it stands 0.5 mm aside; what the drill lacks is told."""
    shape = d_hole((50, 30), 12.7, 11.7, math.pi / 2)
    bench = made(shape, kind="d_hole", tools=hand_tools("mm"))
    assert bench.punched == (pytest.approx((50, 29.5)),)
    assert words(bench)[-2:] == ["step drill 5 to 35 mm, to 11 mm", "5 mm flat file"]
    # by hand: from (50, 29.5) to the corner of the flat, sqrt(6.35^2 - 5.35^2) = 3.420 aside and 5.85 up
    assert bench.left == pytest.approx(math.hypot(3.4205, 5.85) - 5.5, abs=1e-3)


def test_a_key_is_left_to_the_file_after_its_round_hole():
    """A hole of 12 mm with a key 2.5 mm deep: 12 mm stepped, then the key filed with what goes into it."""
    bench = made(keyed_hole((50, 30), 12, 3, 2.5, 0.0), kind="keyed_hole", tools=hand_tools("mm"))
    assert words(bench)[-2:] == ["step drill 4 to 20 mm, to 12 mm", "2.5 mm square file"]
    assert bench.left == pytest.approx(math.hypot(6 + 2.5, 1.5) - 6, abs=1e-6)


def test_a_cutout_has_its_corners_drilled_with_their_own_radius():
    """59 x 45 mm with corners of 3 mm: four holes of 6 mm at the corners' centres, then saw and file."""
    bench = made(rounded_rectangle((50, 30), 59, 45, 3), kind="cutout", cleared=False)
    assert sorted(bench.punched) == [pytest.approx((50 + x, 30 + y)) for x in (-26.5, 26.5) for y in (-19.5, 19.5)]
    assert "step drill, to 6 mm (corner holes)" in words(bench)
    assert [step.doing for step in bench.steps][-2:] == ["saw", "file"]


@pytest.mark.parametrize(("length", "count"), [(24, 5), (11, 2), (5, 1)])
def test_a_narrow_slot_is_a_row_of_holes_that_do_not_run_into_each_other(length, count):
    """4 mm wide: holes end to end, at least 0.4 mm apart; one in the middle where two would overlap."""
    bench = made(slot((50, 30), length, 4), kind="slot")
    assert len(bench.punched) == count
    gaps = [math.dist(one, other) for one, other in zip(bench.punched, bench.punched[1:], strict=False)]
    assert all(gap >= 4.4 - 1e-9 for gap in gaps)


def test_a_countersink_and_a_thread_come_after_their_hole():
    """The cone is cut at a quarter of a drill's surface speed (Univ. of Florida), the thread tapped last."""
    cone = Countersink(9.0, math.pi / 2)
    bench = hole(4.0, thickness=1.5, countersink=cone, thread=Thread("M5", 0.8, "from memory"))
    assert [step.doing for step in bench.steps] == ["mark", "drill", "countersink", "tap"]
    # 80 ft/min = 24.4 m/min; a quarter of it over pi x 9 mm is 216 rev/min, and this press turns no slower than 500
    assert bench.steps[2].rpm == 500 and bench.steps[2].fast


def test_the_speed_is_the_press_own_next_below_the_tables():
    """HSS in low carbon steel at 80 ft/min (US Navy NAVEDTRA 14345): 3 mm may turn 2587, 8 mm 970 rev/min."""
    assert hole(3.0).steps[-1].rpm == 2000
    step = hole(8.0).steps[-1]
    assert (step.rpm, step.fast) == (500, False)
    assert hole(12.0).steps[-1].rpm == 500 and not hole(12.0).steps[-1].fast  # 647
    assert hole(30.0).steps[-1].fast  # 259


def test_a_pilot_that_the_machine_has_made_is_not_drilled_again():
    """finish = pilot leaves the pilot of 3 mm in the sheet: the bench begins at the step drill."""
    shape = circle((50, 30), 8.0)
    one = opening("A1", 50, 30, shape=shape, diameter=8.0, finish="pilot", cut=circle((50, 30), 3), cut_diameter=3.0)
    (bench,) = bench_work(panel((one,)), materials()["mild steel"], SMALL, 3.0)
    assert words(bench) == ["centre punch", "step drill, to 8 mm"] and bench.pilot == 3


def test_a_floor_in_metal_is_not_promised_to_the_bench():
    """A blind hole larger than its drill is routed in board; in metal it wants a mill, and the schedule says so."""
    assert "mill" in words(hole(30.0, depth=1.0, thickness=4.0))[0]
    assert words(hole(90.0, depth=5.0, material="plywood", thickness=18.0))[-1].startswith("router")
    drilled = hole(4.0, depth=5.0, material="plywood", thickness=18.0)
    assert words(drilled)[-1] == "4 mm twist drill (5 mm deep, to a stop)"


def _hand(job):
    layout = lay_out(job)
    return layout, HandWork(layout.panels, job.materials, job.hand_tools, job.pilot_diameter)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_bit_is_fitted_once_and_every_pilot_comes_first(sample):
    """Over all panels of a sample no bit stands twice in the order, and each opening's steps follow in that order."""
    layout, hand = _hand(read_job(sample))
    bits = [(one.step.tool, 0 if one.step.kind == "step drill" else one.step.size) for one in hand.rounds]
    assert len(bits) == len(set(bits))
    assert [one.number for one in hand.rounds] == list(range(1, len(bits) + 1))
    where = {
        (tag, made.size, made.said): one.number for one in hand.rounds for made in one.made for tag in made.openings
    }
    for face in layout.panels:
        for cut in face.openings:
            steps = [step for step in hand.of(face.name, cut.tag).steps if step.doing != "none"]
            turns = [where[(face.name, cut.tag), step.size, step.said] for step in steps]
            assert turns == sorted(turns)
            assert sorted(set(turns)) == hand.numbers(face.name, hand.of(face.name, cut.tag))


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_no_hole_of_the_bench_leaves_its_opening(sample):
    """Every drilled, punched or sawn round lies inside the opening that it is for, but for what a tolerance allows."""
    layout, hand = _hand(read_job(sample))
    for face in layout.panels:
        for cut in face.openings:
            bench = hand.of(face.name, cut.tag)
            round_ones = [step.size for step in bench.steps if step.doing in ("drill", "punch", "ream") and step.size]
            # a hole's own tool may be a tenth of a mm larger: nobody drills nearer by hand
            largest = max(round_ones, default=0.0) - cut.tolerance - 0.1
            for centre in bench.punched:
                assert largest <= 0 or inside(circle(centre, largest), cut.shape), (face.name, cut.tag)


def test_the_schedule_measures_from_the_edges_and_names_what_to_try():
    """x and y from the nearest edges, the method, what is left, the component to try; the last column is empty."""
    job = read_job(SAMPLES[1])
    assert job.name == "headphone_amplifier"
    layout, hand = _hand(job)
    rows = {(row["panel"], row["tag"]): row for row in csv.DictReader(io.StringIO(write(layout, (), {}, hand)))}
    assert len(rows) == sum(len(face.openings) for face in layout.panels)
    fuse = rows["rear", "G1"]
    assert (fuse["x edge"], fuse["from x edge"], fuse["y edge"], fuse["from y edge"]) == (
        "right", "98.000", "lower", "26.000",
    )  # fmt: skip
    assert fuse["punch at"] == "162.000 25.500" and fuse["left to file"] == "1.28"
    assert fuse["test fit"] == "fuse (fuse holder)" and fuse["fitted"] == ""
    assert fuse["pilot by hand"] == "3" and fuse["drill press rev/min"] == "1830; 620"
    lines = order_lines(hand, "mm")
    assert len(lines) == len(hand.rounds) and lines[0].startswith("1. centre punch")


def test_edges_are_those_of_the_finished_panel_on_either_side():
    """Of two edges as near the left and the lower one are named."""
    face = panel(())
    assert edges(face, (50, 30)) == (("left", 50), ("lower", 30))
    assert edges(face, (80, 59)) == (("right", 20), ("upper", 1))


@pytest.mark.parametrize(
    ("diameter", "units", "name"),
    [(5.1054, "in", "#7"), (9.525, "in", "3/8 in"), (3.4, "mm", "M3 clearance, medium"), (6.5278, "in", "letter F")],
)
def test_a_size_has_its_trade_name(diameter, units, name):
    """#7, letter F, 3/8 in by ASME B94.11M; 3.4 mm clears M3 in the medium fit of ISO 273."""
    assert trade_name(opening("A1", 0, 0, diameter=diameter), units).split("; ")[0] == name


def test_an_inch_bench_says_inches():
    """In an inch job tools and sizes are said in inches, also in the columns beside those in mm."""
    one = opening("A1", 50, 30, shape=circle((50, 30), 12.7), diameter=12.7)
    layout = Layout("j", "t", None, "in", (panel((one,)),))
    hand = HandWork(layout.panels, materials(), hand_tools("in"), 3.175)
    (row,) = csv.DictReader(io.StringIO(write(layout, (), {}, hand)))
    assert row["by hand"] == "centre punch; 1/8 in twist drill (pilot); step drill 3/16 to 7/8 in, to 1/2 in"
    assert (row["from x edge in"], row["from y edge in"], row["pilot by hand in"]) == ("1.9685", "1.1811", "0.125")


def test_a_hole_beyond_the_press_is_told():
    """A hole 120 mm from every edge is out of reach of a press of 104 mm: it is drilled by hand, and that is said."""
    far = opening("A1", 150, 130, shape=circle((150, 130), 3.0), diameter=3.0)
    near = opening("A2", 150, 30, shape=circle((150, 30), 3.0), diameter=3.0)
    face = replace(panel((far, near)), outline=rounded_rectangle((150, 130), 300, 260, 0))
    hand = HandWork([face], materials(), SMALL, 3.0)
    assert "hand drill" in hand.remark("rear", hand.of("rear", "A1"))
    assert hand.remark("rear", hand.of("rear", "A2")) == ""


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_the_sheet_has_a_row_for_every_opening(sample):
    """Every opening stands on the setup sheet, by itself or with its ring or grid, with its steps' numbers."""
    job = read_job(sample)
    layout, hand = _hand(job)
    shown = bench_sheet(layout, hand, Figures(job.units, "mm"))
    for face, told in zip([one for one in layout.panels if one.openings], shown.panels, strict=True):
        assert told.panel == face.name
        covered = 0
        for row in told.rows:
            first = re.split(r" to |, ", row.tags)[0]
            assert row.numbers == ", ".join(map(str, hand.numbers(face.name, hand.of(face.name, first))))
            alone = [cut for cut in face.openings if cut.tag == first]
            together = [cut for cut in face.openings if cut.feature == alone[0].feature and cut.kind == alone[0].kind]
            covered += len(together) if "the others are in" in row.remark else 1
        assert covered == len(face.openings)
    assert [row.number for row in shown.rounds] == [one.number for one in hand.rounds]


def test_a_fit_strip_is_made_before_the_rest():
    """The strip's bits come first, in an order of their own: its parts are tried before the chassis is drilled."""
    one = opening("A1", 50, 30, shape=circle((50, 30), 3.0), diameter=3.0)
    chassis, strip = panel((one,)), replace(panel((one,)), name="fit strip mild steel", fit_strip=True)
    hand = HandWork([chassis, strip], materials(), SMALL, 3.0)
    assert [made.openings for found in hand.rounds for made in found.made] == [
        ((name, "A1"),) for name in ("fit strip mild steel",) * 2 + ("rear",) * 2
    ]
    assert hand.numbers("rear", hand.of("rear", "A1")) == [3, 4]
    assert hand.numbers(strip.name, hand.of(strip.name, "A1")) == [1, 2]


def test_no_file_is_named_that_does_not_go_in():
    """A key 2.4 mm wide is not filed with a file of 4 mm: where none is thinner, that is said."""
    tools = HandTools((*SMALL.tools[:-2], HandTool("round file", "round file", (4.0,), 0, 0, ("metal",), "own")), PRESS)
    bench = made(keyed_hole((50, 30), 12, 2.4, 2.5, 0.0), kind="keyed_hole", tools=tools)
    assert words(bench)[-1] == "file (none of the bench goes in: narrower than 2.4 mm)"


def test_corner_holes_do_not_run_into_each_other():
    """In an opening 8 mm high with sharp corners the two start holes at an end would overlap: one of them is left."""
    bench = made(rounded_rectangle((50, 30), 50, 10, 0), kind="cutout", cleared=False)
    gaps = [math.dist(one, other) for one in bench.punched for other in bench.punched if one < other]
    assert len(bench.punched) == 2 and min(gaps) > 6


def test_marks_are_where_the_bench_punches():
    """On masking tape a D-hole has its cross beside its centre, where the schedule says to punch, and none at it."""
    shape = d_hole((50, 30), 16, 13, 0.0)
    one = opening("A1", 50, 30, shape=shape, diameter=None, kind="d_hole", cut=shape, cut_diameter=None)
    face = panel((one,))
    hand = HandWork([face], materials(), hand_tools("mm"), 3.0)
    assert hand.punched("rear") == {"A1": (pytest.approx((48.5, 30)),)}
    drawing, _ = draw_marks(face, Common("t", "mm", 3.0), punched=hand.punched("rear"))
    middles = {
        tuple(round((a + b) / 2, 6) for a, b in zip(*mark.points, strict=True))
        for mark in drawing.pens[0].marks
        if len(mark.points) == 2
    }
    assert middles == {(48.5, 30.0)}
