"""Machined outlines from the job to the proof: stock, zero, tabs, clamps, order, and what is refused."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.finding import has_errors
from toolpaths.geometry.segment import XY
from toolpaths.job import Job
from toolpaths.layout.build import lay_out
from toolpaths.motion import Arc, Line, Rapid
from toolpaths.plan.setup import Planned, plan_panel
from toolpaths.tolerance import TOUCH_OFF_CLEARANCE

JOB = """
format = 1
title = "face"
units = "mm"
machine = "{machine}"
[[panel]]
name = "face"
material = "{material}"
thickness = {thickness}
width = 140
height = 80
cut_outline = true
{keys}
[[panel.hole]]
at = {at}
diameter = 9.7
"""

KEYS = {"machine": "small router", "material": "aluminium", "thickness": 2, "keys": "", "at": [40, 40]}


def text(**changes: object) -> str:
    """The job with other keys."""
    return JOB.format(**{**KEYS, **changes})


def plan(job: Job) -> Planned:
    """The plan of its only panel."""
    (panel,) = lay_out(job).panels
    return plan_panel(job.title, panel, job.machine, job.cutters, job.materials[panel.material])


@pytest.mark.parametrize("machine", ["small router", "bench mill", "sheet router"])
@pytest.mark.parametrize(("material", "thickness"), [("aluminium", 2), ("mild steel", 1.2), ("plywood", 9)])
@pytest.mark.parametrize("corner_radius", [0, 4, 40])
def test_an_outline_is_proved(job_of, machine, material, thickness, corner_radius) -> None:
    """Sharp, rounded and stadium-shaped panels are cut out and proved on every machine, or refused with a finding."""
    keys = f"corner_radius = {corner_radius}\nmachine_from = 'inside'"
    job = job_of(text(machine=machine, material=material, thickness=thickness, keys=keys))
    made = pipeline.make(job, posts=["gcode"])
    assert bool(made.files) != has_errors(made.findings), made.findings
    if machine != "bench mill" or material != "plywood":
        assert made.files, made.findings


def test_a_round_panel_is_proved(job_of) -> None:
    """A disc of 140 mm, its tabs on the arc, is cut out and proved."""
    disc = text(keys="corner_radius = 70", at=[70, 70]).replace("height = 80", "height = 140")
    made = pipeline.make(job_of(disc), posts=["gcode"])
    assert made.files and not has_errors(made.findings), made.findings


def test_a_panel_without_openings_is_cut_out(job_of) -> None:
    """A blank is a panel too."""
    blank = text().split("[[panel.hole]]")[0]
    assert pipeline.make(job_of(blank), posts=["gcode"]).files


def test_the_outline_comes_last(job_of) -> None:
    """Everything inside is done before the outline is begun, whatever cutters and clamps do to the order."""
    cutout = "[[panel.cutout]]\nat = [95, 40]\nwidth = 50\nheight = 40\ncorner_radius = 3\n"
    ring = "[[panel.ring]]\nat = [40, 40]\ncircle_diameter = 40\ncount = 5\ndiameter = 3.2\n"
    job = job_of(text() + cutout + ring)
    program = plan(job).program
    assert program is not None
    features = [operation.feature for operation in program.setup.operations]
    assert features[-2:] == ["outline", "outline"] and "outline" not in features[:-2]
    assert [operation.kind for operation in program.setup.operations[-2:]] == ["contour", "finish"]


@pytest.mark.parametrize(("backlash", "turn"), [(0.0, -1), (0.05, 1)])
def test_climb_outside_is_clockwise(job_of, backlash, turn) -> None:
    """Without backlash the outline is cut clockwise (climb, M3), with it counter-clockwise (conventional)."""
    job = job_of(text())
    job = replace(job, machine=replace(job.machine, backlash=backlash))
    program = plan(job).program
    assert program is not None
    ways = {motion.ccw for motion in program.setup.operations[-2].motions if isinstance(motion, Arc)}
    assert ways == {turn > 0}


def test_the_finishing_pass_meets_the_wall_on_a_tangent_from_outside(job_of) -> None:
    """The arcs on and off the wall touch it at its tangent, bend away from the panel, and stay in the roughed kerf."""
    job = job_of(text())
    program = plan(job).program
    assert program is not None
    final = program.setup.operations[-1]
    cutter = job.cutters[final.cutter]
    arcs = [motion for motion in final.motions if isinstance(motion, Arc)]
    first, last = arcs[0], arcs[-1]
    places: list[XY] = [motion.to[:2] for motion in final.motions if isinstance(motion, (Rapid, Line, Arc))]
    touch, off = first.to[:2], last.to[:2]
    away = places[places.index(touch) - 1]
    assert away[1] == pytest.approx(off[1]) and touch[1] == pytest.approx(-cutter.radius)
    # 0.1 mm of allowance (router): the arcs begin and end where roughing has been
    assert away[1] == pytest.approx(-cutter.radius - 0.1)
    for arc, far in ((first, away), (last, off)):
        assert arc.centre[0] == pytest.approx(touch[0]) and arc.centre[1] < touch[1]
        assert math.dist(arc.centre, far) == pytest.approx(math.dist(arc.centre, touch))
    assert sum(abs(arc.to[2] - final.depth) < 1e-9 for arc in arcs) == len(arcs)


@pytest.mark.parametrize("machine_from", ["outside", "inside"])
@pytest.mark.parametrize("origin", ["lower left", "centre", "upper right"])
def test_zero_stays_the_panels_and_the_stock_reaches_beyond(job_of, origin, machine_from) -> None:
    """Zero is the point of the finished panel that origin names; stock and touch-off follow, mirrored or not."""
    at = {"lower left": [40, 40], "centre": [0, 0], "upper right": [-40, -40]}[origin]
    keys = f'origin = "{origin}"\nmachine_from = "{machine_from}"\nstock_margin = 12'
    job = job_of(text(keys=keys, at=at))
    (panel,) = lay_out(job).panels
    x0, y0, x1, y1 = panel.outline.bounds
    assert panel.stock == pytest.approx((x0 - 12, y0 - 12, x1 + 12, y1 + 12))
    corner = {"lower left": (x0, y0), "centre": (0, 0), "upper right": (x1, y1)}[origin]
    flipped = (x0 + x1 - corner[0], corner[1])
    assert panel.zero == pytest.approx(flipped if machine_from == "inside" else corner)
    assert panel.touch_off is not None
    x, y = panel.touch_off
    assert min(x - x0, x1 - x, y - y0, y1 - y) >= TOUCH_OFF_CLEARANCE - 1e-9
    (program,) = [file for file in pipeline.make(job, posts=["gcode"]).files if file.facts.get("kind") == "program"]
    assert program.facts["stock_mm"] == pytest.approx(panel.stock)


def test_the_setup_sheet_says_where_zero_lies_on_the_sheet(job_of) -> None:
    """The builder reads the stock's size, the margin, where zero lies on the stock, and what becomes of the tabs."""
    made = pipeline.make(job_of(text(keys='machine_from = "inside"\nstock_margin = 14')))
    sheet = next(file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    assert "168 × 108 mm" in sheet and "reaches 14 mm beyond the finished panel on every side" in sheet
    assert "14 mm from the left edge and 14 mm from the lower edge of the sheet" in sheet
    assert "saw them" in sheet


def test_the_setup_sheet_shows_where_the_tabs_stand(job_of) -> None:
    """The plan has two short lines across the kerf for each tab, as far apart as the tab is wide, at the outline."""
    made = pipeline.make(job_of(text(keys="tabs = { count = 5, width = 11 }")))
    sheet = next(file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    bars = re.findall(r'd="((?:M[-0-9. ]+L[-0-9. ]+)+)" style="stroke-width', sheet)
    (tabs,) = [bar for bar in bars if bar.count("M") == 10]
    lines = [[float(figure) for figure in re.findall(r"-?[0-9.]+", bar)] for bar in tabs.split("M")[1:]]
    for one, other in zip(lines[::2], lines[1::2], strict=True):
        assert min(math.dist(one[:2], other[k : k + 2]) for k in (0, 2)) == pytest.approx(11, abs=0.01)
    assert all(min(abs(x), abs(140 - x), abs(y), abs(-80 - y)) < 6.1 for line in lines for x, y in (line[:2], line[2:]))


CLAMPS = {
    "across the outline": ("x = -10, y = 30, width = 20", "under-clamp", "wholly onto the panel"),
    "beside it, too near": ("x = -14, y = 30, width = 10", "under-clamp", "stock_margin = "),
    "on the panel, too near": ("x = 1, y = 60, width = 10", "under-clamp", "away from the panel's edge"),
    "beside it": ("x = -40, y = 30, width = 20", "", ""),
    "on the panel": ("x = 80, y = 30, width = 20", "", ""),
}


@pytest.mark.parametrize("case", list(CLAMPS))
def test_clamps_stand_beside_the_outline_or_on_the_panel(job_of, case) -> None:
    """A clamp that the outline's cutter or nut would meet is found, with what cures it; one that is clear is not."""
    clamp, code, cure = CLAMPS[case]
    job = job_of(text(material="mild steel", thickness=1.2, keys=f"clamps = [{{ {clamp} }}]"))
    made = pipeline.make(job, posts=["gcode"])
    found = [finding for finding in made.findings if finding.feature == "outline"]
    assert [finding.code for finding in found] == ([code] if code else [])
    assert bool(made.files) is not bool(code)
    if code:
        assert cure in found[0].message


def test_the_cure_for_a_clamp_cures(job_of) -> None:
    """Moved as the finding says, on stock as wide as it says, the clamp is clear of the outline and holds the sheet."""
    near = "clamps = [{{ x = {x}, y = 30, width = 10 }}]\nstock_margin = {margin}"
    (found,) = plan(job_of(text(keys=near.format(x=-14, margin=15)))).findings
    figures = re.search(r"the clamp ([0-9.]+) mm outwards.*stock_margin = \"([0-9.]+) mm\"", found.message)
    assert figures
    move, margin = map(float, figures.groups())
    moved = pipeline.make(job_of(text(keys=near.format(x=-14 - move, margin=margin))), posts=["gcode"])
    assert moved.files and not moved.findings


def test_the_margin_is_what_clamps_need(job_of) -> None:
    """Without a stated margin the stock reaches 15 mm beyond, or 10 mm under a clamp that stands further out."""
    (panel,) = lay_out(job_of(text(keys="clamps = [{ x = 160, y = 30, width = 24 }]"))).panels
    assert panel.margin == pytest.approx(30)
    (panel,) = lay_out(job_of(text(keys="clamps = [{ x = 80, y = 30, width = 20 }]"))).panels
    assert panel.margin == pytest.approx(15)


def test_a_margin_too_narrow_is_found_with_the_least_that_would_do(job_of) -> None:
    """No kerf and 5 mm of frame: an error, whose figure cures it and less than which does not."""
    (found,) = plan(job_of(text(keys="stock_margin = 4"))).findings
    assert found.code == "narrow-margin" and found.feature == "outline"
    figure = re.search(r'stock_margin = "[0-9.]+ mm"', found.message)
    assert figure
    assert pipeline.make(job_of(text(keys=figure[0])), posts=["gcode"]).files
    (again,) = plan(job_of(text(keys=figure[0].replace(' mm"', ' mm - 0.2 mm"')))).findings
    assert again.code == "narrow-margin"


@pytest.mark.parametrize("allowance", [0.0, 2.0])
def test_any_finishing_allowance_of_a_materials_file_serves(job_of, allowance) -> None:
    """With nothing left for the finishing pass, or as much as a table may say, the outline is proved all the same."""
    job = job_of(text(keys="stock_margin = 20"))
    materials = {name: replace(row, finish_router=allowance) for name, row in job.materials.items()}
    made = pipeline.make(replace(job, materials=materials), posts=["gcode"])
    assert made.files and not has_errors(made.findings), made.findings


def test_board_is_entered_gently(job_of) -> None:
    """Round an outline in plywood the first pass is 1 mm deep, and 0.3 mm are left for the finishing pass."""
    program = plan(job_of(text(machine="sheet router", material="plywood", thickness=9))).program
    assert program is not None
    rough, final = program.setup.operations[-2:]
    depths = [motion.to[2] for motion in rough.motions if isinstance(motion, Arc)]
    assert max(depths) >= -1 and -1 in [pytest.approx(depth) for depth in depths]
    lefts = [min(motion.to[0] for motion in work.motions if isinstance(motion, Line)) for work in (rough, final)]
    assert lefts[1] - lefts[0] == pytest.approx(0.3)


def test_kerf_and_way_in_count_for_the_travel(job_of) -> None:
    """A panel that is as large as the travel does not fit once its outline is machined."""
    large = text().replace("width = 140", "width = 299")
    assert "beyond-travel" in {finding.code for finding in plan(job_of(large)).findings}
    assert plan(job_of(large.replace("cut_outline = true", "cut_outline = false"))).findings == ()


def test_a_round_end_counts_for_the_travel(job_of) -> None:
    """Where a rounded side reaches farthest between the ends of its arc, it is found before metal is cut."""
    stadium = text(keys="corner_radius = 70\ndivide = false", at=[70, 70]).replace("height = 80", "height = 178")
    made = pipeline.make(job_of(stadium), posts=["gcode"])
    assert {finding.code for finding in made.findings} == {"beyond-travel"}
    assert pipeline.make(job_of(stadium.replace("height = 178", "height = 168")), posts=["gcode"]).files


REFUSED = {
    "tabs = false": "the panel itself comes loose",
    "tabs = { count = 2 }": "3 or more: two are a hinge",
    "measured = { width = 139 }": "nothing to measure",
    "measured = { height = 79 }": "nothing to measure",
    "stock_margin = 0": "at least 0.01 mm",
}


@pytest.mark.parametrize("keys", list(REFUSED))
def test_what_has_no_meaning_is_refused(job_of, keys) -> None:
    """An outline without tabs, with too few of them, or measured beforehand is bad input with its reason."""
    with pytest.raises(BadInput) as error:
        job_of(text(keys=keys))
    assert REFUSED[keys] in str(error.value)


def test_keys_of_an_outline_that_is_not_machined(job_of) -> None:
    """A margin or tabs without a machined outline would do nothing, and are refused."""
    with pytest.raises(BadInput) as error:
        job_of(text(keys="stock_margin = 15\ntabs = true").replace("cut_outline = true", "cut_outline = false"))
    assert str(error.value).count("set cut_outline = true") == 2
