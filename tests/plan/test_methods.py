from __future__ import annotations

import itertools

import pytest

from toolpaths import pipeline
from toolpaths.motion import Arc, Drill, Operation
from toolpaths.plan.setup import plan_panel

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
    (_, drill) = planned("bench mill", "mild steel", 1.2, HOLE.format(4.3))
    motion = next(motion for motion in drill.motions if isinstance(motion, Drill))
    assert motion.bottom == pytest.approx(-(1.2 + 0.5 + 0.2071 * 4.3), abs=0.001)
    assert motion.slow_from == pytest.approx(-1.0)
    assert motion.slow_feed == pytest.approx(motion.feed / 2, abs=0.51)


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
