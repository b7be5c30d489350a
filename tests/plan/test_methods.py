from __future__ import annotations

import itertools

import pytest

from toolpaths import pipeline
from toolpaths.motion import Arc, Drill, Operation
from toolpaths.plan.practice import usual
from toolpaths.plan.setup import plan_panel
from toolpaths.tables.load import cutters

PLATE = """
format = 1
title = "plate"
units = "mm"
[[panel]]
name = "plate"
material = "{material}"
thickness = {thickness}
width = 160
height = 120
{feature}
"""

HOLE = "[[panel.hole]]\nat = [80, 60]\ndiameter = {}\n"


@pytest.fixture
def planned(job_of):
    """Operations of a plate with one feature."""

    def plan(machine: str, material: str, thickness: float, feature: str) -> list[Operation]:
        job = job_of(PLATE.format(material=material, thickness=thickness, feature=feature), machine=machine)
        (panel,) = pipeline.lay_out(job).panels
        found = plan_panel("t", panel, job.machine, job.cutters, job.materials[material])
        assert found.program is not None, found.findings
        return list(found.program.setup.operations)

    return plan


def kinds(operations: list[Operation]) -> list[str]:
    return [operation.kind for operation in operations]


@pytest.mark.parametrize(
    ("machine", "material", "thickness", "diameter", "expected"),
    [
        # point 0.207 d of a 135 degree drill no longer than the sheet, at most 6.5 mm in thin metal
        ("bench mill", "mild steel", 1.2, 4.3, ["spot", "drill"]),
        ("bench mill", "mild steel", 1.2, 5.8, ["bore"]),       # 5.8 mm: its point is 1.201 mm long
        ("bench mill", "mild steel", 1.2, 5.7, ["spot", "drill"]),
        ("bench mill", "aluminium", 2, 6.5, ["spot", "pilot", "drill"]),
        ("bench mill", "aluminium", 2, 6.8, ["bore"]),          # grabs: over 6.5 mm in metal under 3 mm
        ("bench mill", "aluminium", 4, 6.8, ["spot", "pilot", "drill"]),
        ("small router", "mild steel", 1.2, 1.5, ["spot", "drill"]),
        ("small router", "mild steel", 1.2, 1.6, ["bore"]),     # 24.4 m/min is 4851 rev/min, below the spindle's 5000
        ("small router", "plywood", 6, 3.2, ["drill"]),         # no spot in board
        ("small router", "aluminium", 2, 25, ["bore"]),
        ("small router", "aluminium", 2, 25.1, ["contour", "finish"]),
    ],
)  # fmt: skip
def test_holes_are_made_as_practice_says(planned, machine, material, thickness, diameter, expected) -> None:
    """Drilled where a drill may (common practice: point, grabbing, spindle), else bored, or cut round above 25 mm."""
    assert kinds(planned(machine, material, thickness, HOLE.format(diameter))) == expected


def test_a_through_drill_goes_half_a_millimetre_past_its_full_diameter_and_slows_down(planned) -> None:
    """Depth is t + 0.5 + (d/2) / tan(point/2); worked_examples: 0.207 d for 135 degrees."""
    (_, drill) = planned("small router", "mild steel", 1.2, HOLE.format(1.5))
    motion = next(motion for motion in drill.motions if isinstance(motion, Drill))
    assert motion.bottom == pytest.approx(-(1.2 + 0.5 + 0.2071 * 1.5), abs=0.001)
    assert motion.slow_from == pytest.approx(-1.0)
    assert motion.slow_feed == pytest.approx(motion.feed / 2, abs=0.51)


def test_a_drilling_cycle_has_the_feed_of_breaking_through_unless_that_rubs(planned) -> None:
    """On a machine with cycles a hole is drilled at half feed all the way; under the chip floor it keeps two feeds."""
    (_, drill) = planned("bench mill", "mild steel", 1.2, HOLE.format(4.3))
    motion = next(motion for motion in drill.motions if isinstance(motion, Drill))
    assert (motion.slow_from, motion.slow_feed) == (None, None)
    assert motion.feed == drill.feed
    assert drill.feed / drill.rpm / 2 >= 0.008  # the chip floor of mild steel, mm per lip
    assert any("one feed all the way" in reason for reason in drill.reasons)
    (_, thin) = planned("bench mill", "aluminium", 2, HOLE.format(2))
    motion = next(motion for motion in thin.motions if isinstance(motion, Drill))
    assert motion.slow_feed == pytest.approx(motion.feed / 2, abs=0.51)
    assert motion.slow_feed / thin.rpm / 2 < 0.012  # that of aluminium
    assert any("not as a drilling cycle" in reason for reason in thin.reasons)


def test_deep_holes_are_pecked_and_sheet_is_not(planned) -> None:
    """Pecked beyond three diameters (formulafactory.tools), but not in metal under 3 mm."""
    deep = planned("bench mill", "aluminium", 10, HOLE.format(2))[-1]
    sheet = planned("bench mill", "aluminium", 2.5, HOLE.format(0.8 + 0.2))[-1]
    assert next(m for m in deep.motions if isinstance(m, Drill)).peck == 2
    assert all(m.peck is None for m in sheet.motions if isinstance(m, Drill))


def test_a_tolerance_lets_the_next_drill_serve(planned) -> None:
    """A 4.25 mm hole is bored at tolerance 0 and drilled 4.3 mm where it may come out 0.1 mm larger."""
    assert kinds(planned("bench mill", "mild steel", 1.2, HOLE.format(4.25))) == ["bore"]
    wide = planned("bench mill", "mild steel", 1.2, HOLE.format(4.25) + "tolerance = 0.1\n")
    assert kinds(wide) == ["spot", "drill"]
    assert "within the tolerance" in " ".join(wide[-1].reasons)


@pytest.mark.parametrize(("machine", "ccw"), [("small router", False), ("bench mill", True)])
def test_direction_follows_the_backlash(planned, machine, ccw) -> None:
    """Inside contours run counter-clockwise (climb) up to 0.02 mm backlash, else clockwise (common practice)."""
    (bore,) = planned(machine, "mild steel", 1.2, HOLE.format(16))
    assert {motion.ccw for motion in bore.motions if isinstance(motion, Arc)} == {ccw}


def test_a_helix_is_no_steeper_than_the_materials_ramp(planned) -> None:
    """Every turn of a bore falls by at most the ramp angle (steel 1.5 degrees, common practice) along its path."""
    import math

    (bore,) = planned("bench mill", "mild steel", 1.2, HOLE.format(16))
    z = 0.0
    for motion in bore.motions:
        if isinstance(motion, Arc):
            length = 2 * math.pi * math.dist(motion.to[:2], motion.centre)
            assert z - motion.to[2] <= length * math.tan(math.radians(1.5)) + 1e-9
        z = motion.at[1] if isinstance(motion, Drill) else motion.to[2]


def test_small_openings_come_before_the_large_and_one_cutter_is_taken_up_once(planned) -> None:
    """Spots, drills from small to large, mills with the large openings last; no cutter twice."""
    feature = HOLE.format(3.2) + HOLE.format(4.3).replace("80, 60", "30, 30") + HOLE.format(16).replace("80", "120")
    feature += "[[panel.cutout]]\nat = [40, 80]\nwidth = 50\nheight = 40\ncorner_radius = 4\n"
    made = planned("bench mill", "mild steel", 1.2, feature)
    assert kinds(made) == ["spot", "spot", "drill", "drill", "bore", "contour", "finish"]
    order = [operation.cutter for operation in made]
    assert sum(a != b for a, b in itertools.pairwise(order)) + 1 == len(set(order))


def test_thin_end_mills_are_taken_only_where_nothing_thicker_goes_in(planned) -> None:
    """A 3.2 mm hole is bored with a mill of 2 mm or more though a 1.6 mm hole on the same plate needs a 1 mm mill."""
    made = planned("small router", "mild steel", 1.2, HOLE.format(3.2) + HOLE.format(1.6).replace("80, 60", "40, 40"))
    assert {operation.feature: operation.cutter for operation in made} == {"hole[1]": 108, "hole[2]": 104}


def test_a_number_drill_makes_a_hole_of_its_size(planned) -> None:
    """``"#7"`` is drilled by the #7 drill, T1007; 1/4 in, which is also letter E, stays with the fraction's T416."""
    drilled = {
        size: planned("bench mill", "aluminium", 4, HOLE.format(size))[-1].cutter
        for size in ('"#7"', '"letter D"', '"1/4 in"')
    }
    assert drilled == {'"#7"': 1007, '"letter D"': 1104, '"1/4 in"': 416}


WINDOW = "[[panel.cutout]]\nat = [80, 60]\nwidth = 60\nheight = 50\ncorner_radius = 7\n" + HOLE.format(18).replace(
    "80, 60", "25, 25"
)


@pytest.mark.parametrize("machine", ["small router", "sheet router", "bench mill"])
@pytest.mark.parametrize(
    ("material", "thickness"),
    [("aluminium", 3), ("mild steel", 1.2), ("stainless steel", 1), ("plywood", 12), ("mdf", 9)],
)
def test_special_cutters_stand_back(planned, machine, material, thickness) -> None:
    """Where a carbide mill that cuts upwards serves, no HSS mill, down-cut bit or countersink is taken."""
    rows = cutters()
    used = {rows[operation.cutter] for operation in planned(machine, material, thickness, WINDOW)}
    assert not [row for row in used if row.kind == "countersink" or row.twist != "up"]
    assert {row.material for row in used if row.kind == "end mill"} == {"carbide"}


def test_special_cutters_serve_where_there_are_no_others(job_of) -> None:
    """With the carbide mills away an HSS mill cuts aluminium, slower than carbide's speed; with the up-cut bits away a
    down-cut or compression bit cuts plywood."""
    for material, thickness, machine in (("aluminium", 3, "bench mill"), ("plywood", 12, "sheet router")):
        job = job_of(PLATE.format(material=material, thickness=thickness, feature=WINDOW), machine=machine)
        (panel,) = pipeline.lay_out(job).panels
        left = {number: row for number, row in job.cutters.items() if row.kind != "end mill" or not usual(row)}
        found = plan_panel("t", panel, job.machine, left, job.materials[material])
        assert found.program is not None, found.findings
        mills = [left[operation.cutter] for operation in found.program.setup.operations]
        assert mills and {row.kind for row in mills} == {"end mill"}
        assert all((row.material == "HSS") == (material == "aluminium") for row in mills)


def test_a_spindle_too_fast_for_hss_says_so(job_of) -> None:
    """With HSS mills alone a router that turns no slower than 5000 rev/min is refused steel, with the largest mill."""
    job = job_of(PLATE.format(material="mild steel", thickness=1.2, feature=WINDOW), machine="small router")
    (panel,) = pipeline.lay_out(job).panels
    left = {number: row for number, row in job.cutters.items() if row.material == "HSS"}
    found = plan_panel("t", panel, job.machine, left, job.materials["mild steel"])
    errors = [finding for finding in found.findings if finding.severity == "error"]
    assert {finding.code for finding in errors} == {"no-cutter"}
    assert all("the largest that would do is 1.36 mm" in finding.message for finding in errors)
