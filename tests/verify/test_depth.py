"""The judge on blind openings, rebates and countersinks typed by hand: right ones pass, each fault has its name."""

from __future__ import annotations

import re

import pytest

from toolpaths.finding import Finding
from toolpaths.layout.build import lay_out
from toolpaths.reread import read
from toolpaths.verify.judge import judge

JOB = """
format = 1
units = "mm"
machine = "bench mill"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 6
width = 120
height = 60
"""

SLOT = "[[panel.slot]]\nat = [40, 30]\nlength = 20\nwidth = 6\ndepth = 2\n"
HOLE = "[[panel.hole]]\nat = [70, 20]\ndiameter = 4\ndepth = 3\n"
DEEP = "[[panel.hole]]\nat = [70, 20]\ndiameter = 4\ndepth = 5.3\n"
REBATE = "[[panel.cutout]]\nat = [90, 40]\nwidth = 18\nheight = 18\ncorner_radius = 2\ndepth = 2\n"
IN_IT = "[[panel.hole]]\nat = [90, 40]\ndiameter = 4\n"
SUNK = "[[panel.hole]]\nat = [15, 15]\ndiameter = 4.5\ncountersink = { diameter = 9, angle = 90 }\n"

HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\nG0 Z5\n"
FOOT = "G0 Z5\nM5\nM30\n"


def change(cutter: int, speed: int) -> str:
    """Stop, touch off, run up."""
    return f"G0 Z5\nM5\nT{cutter}\nM0\nG0 Z5\nS{speed} M3\nG4 P5\n"


def round_at(z: float, x: float, y: float, reach: float) -> str:
    """Once round a square path about x, y, entered at its lower left corner."""
    left, right, low, high = x - reach, x + reach, y - reach, y + reach
    return f"G1 X{left} Y{low} Z{z} F100\nX{right} F200\nY{high}\nX{left}\nY{low}\n"


MILL = change(116, 3000)
SLOTTED = "G0 X33 Y29\nG0 Z2\nG1 Z0 F200\n" + "".join(
    f"G1 X47 Y29 Z{z} F200\nG3 X47 Y31 I0 J1 F60\nG1 X33 F200\nG3 X33 Y29 I0 J-1 F60\n"
    for z in ("-1.000", "-2.000")
) + "G1 X47 F200\nG0 Z5\n"
DRILLED = change(240, 3000) + "G0 X70 Y20\nG0 Z2\nG1 Z-3.828 F100\nG0 Z2\n"
REBATED = "G0 X89 Y39\nG0 Z2\nG1 Z0 F200\n" + "".join(
    round_at(z, 90, 40, reach) for z in (-1.0, -2.0) for reach in (1, 2.5, 5, 7)
) + "G0 Z5\n"
HOLED = change(240, 3000) + "G0 X90 Y40\nG0 Z2\nG1 Z-7.328 F100\nG0 Z2\n"
THROUGH = change(245, 3000) + "G0 X15 Y15\nG0 Z2\nG1 Z-7.432 F100\nG0 Z2\n"
CONE = change(1342, 500) + "G0 X15 Y15\nG0 Z2\nG1 Z-4.500 F60\nG0 Z2\n"


def judged(job_of, features: str, text: str) -> tuple[Finding, ...]:
    """What the judge says of one program for a panel of these features."""
    job = job_of(JOB + features)
    (panel,) = lay_out(job).panels
    return judge([read(HEAD + text + FOOT)], panel, job.machine, job.cutters, job.materials[panel.material])


def edited(text: str, old: str, new: str, count: int = 0) -> str:
    """The text with ``old`` replaced everywhere, or so many times; it must be there."""
    assert old in text
    return re.sub(re.escape(old), new, text, count=count)


GOOD = {
    "slot": (SLOT, MILL + SLOTTED),
    "drilled": (HOLE, DRILLED),
    "rebate": (REBATE + IN_IT, MILL + REBATED + HOLED),
    "hole before its rebate": (REBATE + IN_IT, HOLED + MILL + REBATED),
    "countersunk": (SUNK, THROUGH + CONE),
}


@pytest.mark.parametrize("name", GOOD)
def test_a_right_program_passes(job_of, name: str) -> None:
    """A floor at its depth, a drill's point below it, a rebate with its hole, and a cone: nothing is said."""
    assert judged(job_of, *GOOD[name]) == ()


FAULTS = {
    "floor too deep": (SLOT, MILL + edited(SLOTTED, "Z-2.000", "Z-2.05"), "overcut"),
    "floor a little too deep": (SLOT, MILL + edited(SLOTTED, "Z-2.000", "Z-2.012"), "overcut"),
    "floor too shallow": (SLOT, MILL + edited(SLOTTED, "Z-2.000", "Z-1.95"), "undercut"),
    "floor a little too shallow": (SLOT, MILL + edited(SLOTTED, "Z-2.000", "Z-1.988"), "undercut"),
    "floor missing": (SLOT, MILL, "not-made"),
    "blind slot cut through": (SLOT, MILL + edited(SLOTTED, "Z-2.000", "Z-6.3"), "overcut"),
    "wall of a floor too wide": (SLOT, MILL + edited(edited(SLOTTED, "Y29", "Y29.05"), "Y31", "Y31.05"), "overcut"),
    "island on a floor": (REBATE, MILL + edited(REBATED, round_at(-2.0, 90, 40, 2.5), ""), "undercut"),
    "island in the middle": (
        REBATE, MILL + edited(edited(REBATED, round_at(-2.0, 90, 40, 1), ""), round_at(-2.0, 90, 40, 2.5), ""),
        "undercut",
    ),
    "one corner of a floor too high": (REBATE, MILL + edited(REBATED, "X97 F200\n", "X97 Z-1.9 F200\n"), "undercut"),
    "drill too deep": (HOLE, edited(DRILLED, "Z-3.828", "Z-3.878"), "overcut"),
    "drill too shallow": (HOLE, edited(DRILLED, "Z-3.828", "Z-3.778"), "undercut"),
    "point comes through": (DEEP, edited(DRILLED, "Z-3.828", "Z-6.128"), "overcut"),
    "drill beside its hole": (HOLE, edited(DRILLED, "X70", "X70.05"), "overcut"),
    "a thinner drill goes on": (
        HOLE, DRILLED + change(220, 3000) + "G0 X70 Y20\nG0 Z2\nG1 Z-4.2 F80\nG0 Z2\n", "overcut"
    ),
    "an end mill where the point would be": (
        HOLE, MILL + "G0 X70 Y20\nG0 Z2\nG1 Z-3.828 F20\nG0 Z2\n", "overcut"
    ),
    "rebate missing": (REBATE + IN_IT, HOLED, "undercut"),
    "hole in a rebate missing": (REBATE + IN_IT, MILL + REBATED, "not-made"),
    "hole in a rebate only spotted": (
        REBATE + IN_IT, MILL + REBATED + edited(HOLED, "Z-7.328", "Z-4"), "undercut"
    ),
    "hole beside its place in a rebate": (
        REBATE + IN_IT, MILL + REBATED + edited(HOLED, "X90", "X93"), "overcut"
    ),
    "cone too wide": (SUNK, THROUGH + edited(CONE, "Z-4.500", "Z-4.55"), "overcut"),
    "cone too narrow": (SUNK, THROUGH + edited(CONE, "Z-4.500", "Z-4.45"), "undercut"),
    "cone missing": (SUNK, THROUGH, "not-made"),
    "cone beside the axis": (SUNK, THROUGH + edited(CONE, "X15", "X15.03"), "overcut"),
    "cone of another angle": (
        SUNK, THROUGH + edited(edited(CONE, "T1342", "T1440"), "Z-4.500", "Z-7.794"), "overcut"
    ),
    "cone of too small a cutter": (SUNK, THROUGH + edited(CONE, "T1342", "T1333"), "undercut"),
    "cone before the hole": (SUNK, CONE + THROUGH, "too-hard"),
    "countersink too fast": (SUNK, THROUGH + edited(CONE, "S500", "S2000"), "too-fast"),
    "cone where none is wanted": (
        SUNK.split("countersink")[0], THROUGH + CONE, "overcut"
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_called_by_its_name(job_of, name: str) -> None:
    """Each fault in depth is an error with the code of what it does to the piece."""
    features, text, code = FAULTS[name]
    found = judged(job_of, features, text)
    assert code in {finding.code for finding in found if finding.severity == "error"}, found


def test_a_pilot_within_the_point_is_right(job_of) -> None:
    """A thinner drill may go below the floor where the point of the sizing drill goes anyway."""
    pilot = change(220, 3000) + "G0 X70 Y20\nG0 Z2\nG1 Z-3.82 F80\nG0 Z2\n"
    assert judged(job_of, HOLE, pilot + DRILLED) == ()
