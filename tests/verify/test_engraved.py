"""The judge on engraved lettering typed by hand: the right program passes, each fault has its name."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pytest
import shapely

from toolpaths import pipeline
from toolpaths.finding import Finding
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.reread import read
from toolpaths.stroke import Stroke
from toolpaths.verify.judge import judge

JOB = """
format = 1
units = "mm"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 60
height = 40
[[panel.text]]
text = "L"
at = [20, 20]
height = 5
depth = 0.15
"""
"""An L of 2.6 by 5 mm: down from 18.7, 22.5, then to the right. Its line is that of the engraver of 90 degrees."""

HOLE = "[[panel.hole]]\nat = [{x}, 17.5]\ndiameter = 1\nfinish = '{finish}'\n"

HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\nT1890\nM0\nG0 Z5\nS24000 M3\nG4 P5\n"
LETTER = "G0 X18.7 Y22.5\nG0 Z2\nG1 Z-0.15 F78\nG1 Y17.5 F312\nX21.3\nG0 Z5\n"
FOOT = "M5\nM30\n"
GOOD = HEAD + LETTER + FOOT


def judged(job: Job, text: str) -> tuple[Finding, ...]:
    (panel,) = lay_out(job).panels
    return judge([read(text)], panel, job.machine, job.cutters, job.materials[panel.material])


def codes(found: tuple[Finding, ...]) -> list[str]:
    return [finding.code for finding in found]


def test_what_is_engraved_as_designed_passes(job_of: Callable[..., Job]) -> None:
    """The tip along every stroke at its depth is the whole of it: in one pass, in two, or from the other end."""
    job = job_of(JOB)
    (legend,) = lay_out(job).panels[0].legends
    assert legend.groove == pytest.approx((0.2, 0.5))
    assert judged(job, GOOD) == ()
    twice = "G0 X21.3 Y17.5\nG0 Z2\nG1 Z-0.08 F78\nG1 X18.7 F312\nY22.5\nG1 Z-0.15 F78\nG1 Y17.5 F312\nX21.3\nG0 Z5\n"
    assert judged(job, HEAD + twice + FOOT) == ()
    assert judged(job, GOOD.replace("Z-0.15", "Z-0.155").replace("X18.7", "X18.704")) == ()


FAULTS = [
    ("Z-0.15", "Z-0.17", ["overcut"], "too deep"),
    ("Z-0.15", "Z-0.13", ["undercut"], "is only 0.13 mm deep"),
    ("Y17.5 F312\nX21.3", "Y17.5 F312\nX20.3", ["undercut"], "lacks"),
    ("Y17.5 F312\nX21.3", "Y17.5 F312\nX21.288", ["undercut"], "lacks"),
    ("Y17.5 F312\nX21.3", "Y17.5 F312\nX21.4", ["stray-cut", "undercut"], "where nothing is to be cut"),
    ("X18.7", "X18.72", ["stray-cut", "undercut"], "where nothing is to be cut"),
    ("X18.7 Y22.5\nG0 Z2\nG1 Z-0.15", "X18.708 Y22.5\nG0 Z2\nG1 Z-0.157", ["overcut"], "beyond its edge"),
    (LETTER, "", ["not-made", "incomplete"], "is not engraved"),
    (LETTER, LETTER + "G0 X30 Y20\nG0 Z2\nG1 Z-0.15 F78\nG1 X32 F312\nG0 Z5\n", ["stray-cut"], "nothing is to be cut"),
    ("T1890", "T1860", ["undercut"], "0.273 mm wide at its mouth with T1860, not 0.5 mm"),
    ("T1890", "T104", ["stray-cut", "not-made", "incomplete"], "where nothing is to be cut"),
    ("S24000 M3\nG4 P5\n", "", ["spindle-off"], "spindle"),
    ("G1 Z-0.15 F78", "G0 Z-0.15", ["rapid-in-stock"], "a rapid"),
    ("F312", "F700", ["too-hard"], "per tooth"),
    ("F312", "F200", ["rubbing-feed"], "rubs"),
    ("F78", "F400", ["too-hard"], "straight down"),
]


@pytest.mark.parametrize(("right", "wrong", "expected", "said"), FAULTS)
def test_each_fault_has_its_name(
    right: str, wrong: str, expected: list[str], said: str, job_of: Callable[..., Job]
) -> None:
    """Too deep, too shallow, beside a stroke, missing, too much, another tool, too fast: told by what it is."""
    assert right in GOOD
    found = judged(job_of(JOB), GOOD.replace(right, wrong))
    assert set(codes(found)) >= set(expected)
    assert any(said in finding.message for finding in found), found


def test_a_groove_breaks_into_no_hole_and_over_no_edge(job_of: Callable[..., Job]) -> None:
    """A stroke that is designed through a wall is still an error of the program, also where only verify is asked."""
    drill = "G0 X{x} Y17.5\nG0 Z2\nG1 Z-2.7 F100\nG0 Z5\n"
    job = job_of(JOB + HOLE.format(x=21.9, finish="machine"))
    text = GOOD.replace(FOOT, "M5\nT210\nM0\nG0 Z5\nS20000 M3\nG4 P5\n" + drill.format(x=21.9) + FOOT)
    assert ("overcut", "text[1]") in [(one.code, one.feature) for one in judged(job, text)]
    job = job_of(JOB + HOLE.format(x=23, finish="machine"))
    text = text.replace("X21.9", "X23")
    assert ("overcut", "text[1]") not in [(one.code, one.feature) for one in judged(job, text)]
    beyond = job_of(JOB.replace("[20, 20]", "[20, 2.7]"))
    low = GOOD.replace("Y22.5", "Y5.2").replace("Y17.5", "Y0.2")
    assert any("over the panel's edge" in one.message for one in judged(beyond, low))


def test_nothing_is_engraved_in_a_panel_that_hangs_in_its_tabs(job_of: Callable[..., Job]) -> None:
    """Engraving after the outline was cut through is told: only tabs hold the panel then."""
    job = job_of(JOB.replace("height = 40\n", "height = 40\ncut_outline = true\n"))
    made = pipeline.make(job, posts=["gcode"])
    assert not made.findings
    (text,) = [file.content.decode("ascii") for file in made.files if file.facts["kind"] == "program"]
    assert judged(job, text) == ()
    head, engraving, outline = re.split(r"^(?=T\d)", text, flags=re.MULTILINE)
    outline, foot = outline[: outline.rindex("M5")], outline[outline.rindex("M5") :]
    swapped = head + outline + "M5\n" + engraving[: engraving.rindex("M5")] + foot
    assert "loose-early" in codes(judged(job, swapped))


@pytest.mark.parametrize("machine", ["small router", "bench mill"])
def test_what_is_gone_is_what_was_designed(machine: str, pytestconfig: pytest.Config) -> None:
    """The sample's engraved area, swept anew from the strokes read, is that of its lettering in its line's width."""
    job = read_job(pytestconfig.rootpath / "sample_jobs" / "tone_control.toml", machine=machine)
    made = pipeline.make(job, posts=["gcode"])
    (text,) = [file.content.decode("ascii") for file in made.files if file.facts["kind"] == "program"]
    (panel,) = made.layout.panels
    assert panel.engraver is not None
    cutter = job.cutters[panel.engraver]
    slope = math.tan(cutter.point_angle / 2)
    ways = [
        shapely.LineString(_points(stroke)).buffer(cutter.tip / 2 - stroke.end[2] * slope)
        for stroke in read(text).strokes
        if stroke.cutter == panel.engraver and stroke.kind == "cut" and max(stroke.start[2], stroke.end[2]) < -0.1
    ]
    swept = shapely.union_all(ways)
    lines = [
        shapely.LineString(
            [part.point_at(part.length * step / 40) for part in stroke for step in range(41)]
        ).buffer((legend.groove or (0, 0))[1] / 2)
        for legend in panel.engraved for stroke in panel.strokes_to_program(legend)
    ]  # fmt: skip
    designed = shapely.union_all(lines)
    assert swept.difference(designed.buffer(0.003)).area < 1e-9
    assert designed.difference(swept.buffer(0.003)).area < 1e-9
    assert swept.area > 30


def _points(stroke: Stroke) -> list[tuple[float, float]]:
    if stroke.centre is None:
        return [stroke.start[:2], stroke.end[:2]]
    (cx, cy), turn = stroke.centre, stroke.sweep * (1 if stroke.ccw else -1)
    begin = math.atan2(stroke.start[1] - cy, stroke.start[0] - cx)
    angles = [begin + turn * step / 40 for step in range(41)]
    return [(cx + stroke.radius * math.cos(angle), cy + stroke.radius * math.sin(angle)) for angle in angles]
