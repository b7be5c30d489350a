"""Whole jobs, whatever a builder may write: built and proved, or refused rightly; and what random ones have shown.

Many more are tried by ``python -m tests.random_jobs`` (see DEVELOPERS.md).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from tests.random_jobs.jobs import Whole, whole_jobs
from tests.random_jobs.own_shapes import drawn_on
from tests.random_jobs.refusals import RULES, TRUSTED, Case
from tests.random_jobs.soundness import faults_of, missed, moves_of
from tests.random_jobs.trial import tried
from toolpaths import pipeline
from toolpaths.finding import CODES, Finding


@given(whole_jobs())
@settings(
    max_examples=24, derandomize=True, deadline=None, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
def test_a_whole_job_is_built_and_proved_or_refused_rightly(whole: Whole) -> None:
    """A job is built, every program proved from its text by ``verify`` too and the sheet cut as an independent drawing
    of the job has it; or it is refused without a file, and each error is so by a rule of these tests' own."""
    assert not tried(whole).wrong


PILOTS = """
format = 1
units = "mm"
machine = "sheet router"
[[panel]]
name = "plate"
material = "fibreglass board"
thickness = 0.8
width = 100
height = 60
[[panel.hole]]
at = [30, 30]
diameter = 5
finish = "pilot"
"""

SMALL_FLOOR = """
format = 1
units = "mm"
machine = "bench mill"
[[panel]]
name = "plate"
material = "mild steel"
thickness = 1.2
width = 100
height = 80
[[panel.polygon]]
at = [34, 54]
points = [[0.4, 1.13], [-0.84, 0.86], [-1.2, -0.07], [-0.6, -1.04], [0.53, -1.07], [1.2, 0]]
angle = 90
depth = 0.7
"""


TWO_MARKS = """
format = 1
units = "mm"
machine = "small router"
[[panel]]
name = "plate"
material = "plywood"
thickness = 6
width = 100
height = 60
finish = "mark"
[[panel.hole]]
at = [30, 30]
diameter = 20
depth = 2
[[panel.hole]]
at = [30, 30]
diameter = 8
[[panel.hole]]
at = [70, 30]
diameter = 20
depth = 2
[[panel.hole]]
at = [70.8, 30]
diameter = 8
"""


@pytest.mark.parametrize("text", [PILOTS, SMALL_FLOOR, TWO_MARKS])
def test_jobs_that_were_once_wrong(text: str) -> None:
    """A pilot that becomes a centre mark is noted and built; into a floor hardly wider than its cutter that one is fed
    as slowly as into the full; a hole and its rebate, both only marked, may have one middle, or nearly."""
    one = tried(Whole(text))
    assert (one.became, one.wrong) == ("built", [])


GOOD = """
format = 1
units = "mm"
machine = "sheet router"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 260
height = 180
clamps = [{ x = 0, y = 80, width = 10, height = 10 }]
[[panel.hole]]
at = [60, 150]
diameter = 9
[[panel.cutout]]
at = [190, 70]
width = 90
height = 70
corner_radius = 3
[[panel.polygon]]
at = [60, 90]
points = [[-8, -8], [8, -8], [8, 8], [-8, 8]]
depth = 0.8
[[panel.row]]
from = [50, 30]
to = [120, 30]
parts = ["LED bezel", "M3 screw"]
[[panel.text]]
text = "A"
at = [120, 160]
height = 7
depth = 0.15
"""

ABOUT = {"legend": "text[1]", "legends": "text[1]", "crowded-row": "row[1]", "bodies-meet": "row[1]",
         "no-tabs": "cutout[1]", "thin-floor": "polygon[1]", "under-clamp": "cutout[1]"}  # fmt: skip


def test_every_rule_can_say_no(job_of) -> None:
    """Of a good job each refusal is wrong, and its rule says so: none of them nods at everything."""
    case = Case(job_of(GOOD), {}, ())
    nodded = []
    for code, rule in RULES.items():
        feature = next((name for begin, name in ABOUT.items() if code.startswith(begin)), "hole[1]")
        if not rule(case, Finding("error", code, "plate", feature, "")):
            nodded.append(code)
    assert not nodded
    assert not TRUSTED & RULES.keys() and RULES.keys() | TRUSTED <= CODES.keys()


def test_a_sheet_cut_otherwise_is_seen(job_of) -> None:
    """The comparison with the independent drawing finds nothing in a good program, and a fault where all lies 0.2 mm
    aside, a cut is left out, or the whole is 0.1 mm too high."""
    job = job_of(GOOD)
    made = pipeline.make(job, posts=["gcode"])
    (panel,) = job.panels
    drawn, moves = drawn_on(panel, {}), moves_of(job, panel, made.files)
    assert not missed(panel, drawn) and not faults_of(job, panel, drawn, moves, 1)

    def moved(by: tuple[float, float, float]) -> list[str]:
        shifted = []
        for move in moves:
            ends = [tuple(a + b for a, b in zip(end, by, strict=True)) for end in (move.start, move.end)]
            centre = None if move.centre is None else (move.centre[0] + by[0], move.centre[1] + by[1])
            shifted.append(replace(move, start=ends[0], end=ends[1], centre=centre))
        return faults_of(job, panel, drawn, shifted, 1)

    assert moved((0.2, 0, 0)) and moved((0, -0.2, 0)) and moved((0, 0, 0.1)) and moved((0, 0, -0.1))
    without = [move for move in moves if not (abs(move.end[0] - 60) < 6 and abs(move.end[1] - 150) < 6)]
    assert any("hole[1]" in fault for fault in faults_of(job, panel, drawn, without, 1))


def test_overlaps_and_edges_are_seen(job_of) -> None:
    """The independent drawing sees an overlap and an opening beyond the edge, but none where one lies in a rebate."""
    job = job_of(GOOD + "[[panel.hole]]\nat = [66, 150]\ndiameter = 9\n[[panel.hole]]\nat = [258, 9]\ndiameter = 6\n"
                 "[[panel.hole]]\nat = [60, 90]\ndiameter = 4\n")  # fmt: skip
    found = missed(job.panels[0], drawn_on(job.panels[0], {}))
    assert sorted(found) == ["hole[1] and hole[2] overlap", "hole[3] lies beyond the edge"]
