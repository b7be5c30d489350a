"""What the setup sheet says of a folded box, against figures worked out by hand."""

from __future__ import annotations

from collections.abc import Callable

from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.layout.build import lay_out
from toolpaths.shop.box_sheet import box_sheet
from toolpaths.shop.words import Figures

JOB = """
format = 1
units = "mm"
machine = "bench mill"
[[panel]]
name = "top"
material = "aluminium"
thickness = 1.5
width = 203
height = 123
origin = "{origin}"
machine_from = "{side}"
  [[panel.hole]]
  at = {at}
  diameter = 8
[[panel]]
name = "rear"
material = "aluminium"
thickness = 1.5
width = 200
height = 41.5
[chassis]
inside = {{ length = 200, depth = 120, height = 40 }}
bend_radius = 2
faces = {{ top = "top", rear = "rear" }}
finder = 6
{folds}
"""

READ = Callable[..., Job]
MM = Figures("mm", "mm")


def touches(job: Job, index: int = 0) -> dict[str, tuple[str, str]]:
    sheet = box_sheet(lay_out(job).panels[index], (), MM)
    assert sheet is not None
    return {row.side: (row.figure, row.end) for row in sheet.touches}


def test_figures_to_type_for_hanging_walls(job_of: READ) -> None:
    """At the lower left origin: half the finder outside of 0 and of 203 x 123; its end below the bend."""
    found = touches(job_of(JOB.format(origin="lower left", side="outside", at=[100, 60], folds="")))
    # the rim is 1.5 + 40 mm below the top, the bend 1.5 + 2
    end = "Z-40.5 to Z-4.5"
    assert found == {
        "left": ("X-3", end), "right": ("X206", end), "lower": ("Y-3", end), "upper": ("Y126", end),
        "left and right": ("X101.5", "as above"), "lower and upper": ("Y61.5", "as above"),
    }  # fmt: skip


def test_turned_over_left_is_right(job_of: READ) -> None:
    """From the inside with the centre as origin: the same distances on all sides, the finder's end above the sheet."""
    text = JOB.format(origin="centre", side="inside", at=[0, 0], folds='folds = ["top left", "top front"]')
    job = job_of(text.replace("width = 203", "width = 201.5").replace("height = 123", "height = 121.5"))
    found = touches(job)
    assert found["left"][0] == "X-103.75" and found["right"][0] == "X103.75" and found["left and right"][0] == "X0"
    sheet = box_sheet(lay_out(job).panels[0], (), MM)
    assert sheet is not None
    what = {row.side: row.what for row in sheet.touches}
    # seen from the outside the left wall is on the left; as it lies it is on the right
    assert what["right"] == "the flat of the left wall" and what["left"] == "the edge of the sheet"
    assert found["right"][1] == "Z3 to Z39" and found["left"][1] == "Z-1.5 to Z-0.75"


def test_the_outside_of_a_wall_at_a_seam(job_of: READ) -> None:
    """The rear of a tray ends inside its side walls: they are touched on their outside, a sheet further out."""
    found = touches(job_of(JOB.format(origin="lower left", side="outside", at=[100, 60], folds="")), 1)
    assert found["left"] == ("X-4.5", "Z-120.5 to Z-2.5") and found["right"][0] == "X204.5"
    assert found["upper"][0] == "Y44.5" and found["lower"] == ("Y-3", "Z-1.5 to Z-0.75")


def test_the_sheet_tells_the_way(job_of: READ) -> None:
    """Block, squaring within 0.1 mm on the long side, and the table stand on the page; a flat panel has none of it."""
    job = job_of(JOB.format(origin="lower left", side="outside", at=[100, 60], folds=""))
    (page,) = (file.content.decode() for file in pipeline.make(job).files if file.path == "setup_sheet.html")
    assert "backing block of 199 mm × 119 mm, 43 mm high" in page and "without a spoilboard" in page
    assert "touch the flat of the front wall, its long lower side, at X15 and at X188" in page
    assert "no more than 0.1 mm" in page and "edge finder of 6 mm" in page and "X101.5" in page
    flat = JOB.format(origin="lower left", side="outside", at=[100, 60], folds="folds = []")
    (page,) = (file.content.decode() for file in pipeline.make(job_of(flat)).files if file.path == "setup_sheet.html")
    assert "The folded box" not in page and "backing block" not in page


def test_an_inch_job_on_a_metric_machine(job_of: READ) -> None:
    """What is measured is told in both units, what the machine shows in its own, with its name."""
    job = job_of(JOB.format(origin="lower left", side="outside", at=[100, 60], folds=""))
    sheet = box_sheet(lay_out(job).panels[0], (), Figures("in", "mm"))
    assert sheet is not None and sheet.finder == "0.236 in (6 mm)"
    assert sheet.touches[0].figure == "X-3 mm" and sheet.touches[0].end == "Z-40.5 to Z-4.5 mm"
    # 43 mm is 1.6929 in: 1 11/16 in are 42.8625 mm
    assert "1 11/16 in + 0.14 mm high" in sheet.steps[0]
    sheet = box_sheet(lay_out(job).panels[0], (), Figures("in", "in"))
    assert sheet is not None and sheet.touches[1].figure == "X8.1102 in"
