"""Laying, squaring and zeroing as the setup sheet tells it, against geometry worked out here and the program's text."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from toolpaths import pipeline
from toolpaths.job import Job
from toolpaths.layout.build import lay_out
from toolpaths.reread import read
from toolpaths.shop.reach import extent, stick_out
from toolpaths.shop.touching import touches
from toolpaths.shop.words import Figures
from toolpaths.shop.zeroing import allowed_out, furthest
from toolpaths.tables.load import cutters, machines

READ = Callable[..., Job]
MM = Figures("mm", "mm")

PLATE = """
format = 1
title = "Plate"
units = "mm"
machine = "bench mill"
[[panel]]
name = "plate"
material = "aluminium"
thickness = 1.5
width = 240
height = 120
origin = "lower left"
machine_from = "outside"
clamps = [{ x = 100, y = 105, width = 20, length = 15, height = 12 }]
  [[panel.hole]]
  at = [15, 20]
  diameter = 3.2
  [[panel.hole]]
  at = [110, 92]
  diameter = 3.2
  [[panel.hole]]
  at = [220, 100]
  diameter = 20
"""


def sheet_of(job: Job) -> str:
    """The setup sheet's words, without its marks."""
    (page,) = (file.content.decode() for file in pipeline.make(job).files if file.path == "setup_sheet.html")
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.split("</style>")[1])).split())


def turned(place: tuple[float, float], slope: float) -> float:
    """How far a place moves when the sheet turns about zero by this slope: by the rotation itself."""
    angle = math.atan(slope)
    x, y = place
    there = (x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle))
    return math.dist(place, there)


@pytest.mark.parametrize(("machine", "best"), [("bench mill", 0.05), ("small router", 0.1)])
def test_the_square_that_is_asked_for_keeps_the_furthest_hole_in_its_place(job_of: READ, machine: str, best: float):
    """A sheet as far out as the sheet allows moves its furthest hole by no more than the machine's own error, and by
    hardly less; 0.1 mm over the length moves it by the figure that is printed."""
    job = job_of(PLATE, machine=machine)
    (panel,) = lay_out(job).panels
    tag, place = furthest(panel)
    (there,) = [one.centre for one in panel.openings if one.tag == tag]
    assert place == pytest.approx(there) == (220, 100)
    text = sheet_of(job)
    found = re.search(r"from X(\S+) to X(\S+) \(counted.* no more than (\S+) mm over these (\S+) mm", text)
    assert found
    low, high, allowed, length = map(float, found.groups())
    assert (low, high, length) == (15, 225, 210)
    assert best - 0.02 < turned(place, allowed / length) <= best
    assert allowed_out(panel, job.machine) * length == pytest.approx(allowed, abs=0.01)
    printed = re.search(rf"moves {tag}, which is furthest from X0 Y0 \((\S+) mm\), by (\S+) mm", text)
    assert printed and float(printed[1]) == pytest.approx(math.hypot(220, 100), abs=0.05)
    assert float(printed[2]) == pytest.approx(turned(place, 0.1 / 210), abs=0.001)


def test_half_the_finder_is_added_on_the_outside_of_every_side(job_of: READ) -> None:
    """With 6 mm at a sheet of 240 x 120 mm: 3 mm left of 0 and right of 240; halved, the finder drops out. The end of
    the finder is beside the sheet, not below it."""
    (panel,) = lay_out(job_of(PLATE)).panels
    rows = {row.side: (row.edge, row.figure) for row in touches(panel, 6.0, MM)}
    assert rows == {
        "left": ("X0", "X-3"), "right": ("X240", "X243"), "lower": ("Y0", "Y-3"), "upper": ("Y120", "Y123"),
        "left and right": ("X120", "X120"), "lower and upper": ("Y60", "Y60"),
    }  # fmt: skip
    assert {row.end for row in touches(panel, 6.0, MM)} == {"Z-1.5 to Z-0.75", "as above"}


def test_a_machined_outline_is_zeroed_by_rule_inside_its_stock(job_of: READ) -> None:
    """Zero lies the margin inside the stock, the stock's edges are outside zero, and no indicator is asked for."""
    job = job_of(PLATE.replace("clamps = [", "cut_outline = true\nstock_margin = 20\n# ").replace("height = 12 }]", ""))
    text = sheet_of(job)
    assert "20 mm from the left edge and 20 mm from the lower edge of the sheet" in text
    assert "comes out square however the sheet lies" in text and "indicator" not in text
    rows = {row.side: row.edge for row in touches(lay_out(job).panels[0], 10.0, MM)}
    assert (rows["left"], rows["right"], rows["lower"]) == ("X-20", "X260", "Y-20")


def test_the_limits_are_those_of_the_programs_text(job_of: READ) -> None:
    """The box that the sheet tells holds every end of every stroke of the program as it is read back, and its sides
    are reached: by an end, or by an arc that bulges beyond its ends."""
    job = job_of(PLATE)
    planned, _ = pipeline.plan(job)
    (program,) = [one.program for one in planned if one.program]
    (x0, y0, x1, y1), low = extent(program.setup.operations)
    (text,) = [f.content.decode() for f in pipeline.make(job).files if f.path == "plate.nc"]
    ends = [stroke.end for stroke in read(text).strokes]
    # the way in X and Y is unknown until the program has said both
    xs, ys, zs = ([value for value in axis if not math.isnan(value)] for axis in zip(*ends, strict=True))
    # the large hole of 20 mm is the last on the right: its wall's path bulges by its own radius at most
    assert x0 == pytest.approx(15) == min(xs) and y0 == pytest.approx(20) == min(ys)
    assert max(xs) - 1e-3 <= x1 <= 230 and max(ys) - 1e-3 <= y1 <= 110
    assert x1 - 220 == pytest.approx(y1 - 100, abs=1e-3)
    assert low == pytest.approx(min(zs), abs=1e-3)
    assert f"from X15 to X{x1:.1f}".rstrip("0").rstrip(".") in sheet_of(job)


def test_a_clamp_that_the_nut_passes_over_asks_for_its_height(job_of: READ) -> None:
    """A hole 10 mm from a clamp 12 mm high asks for 12 mm and its own depth; one that is far from it for its depth and
    1 mm of air; a nut that is thin enough passes beside it."""
    job = job_of(PLATE)
    (panel,) = lay_out(job).panels
    planned, _ = pipeline.plan(job)
    (program,) = [one.program for one in planned if one.program]
    drill = next(step.cutter for step in program.setup.operations if step.kind == "drill")
    work = [step for step in program.setup.operations if step.kind == "drill"]
    assert [step.tags for step in work] == [("A1",), ("A2",)] or [step.tags for step in work] == [("A2",), ("A1",)]
    deepest = max(-step.depth for step in work)
    mill, cutter = machines()["bench mill"], cutters()[drill]
    assert mill.nut_diameter / 2 + 1 > 13, "a gap of 13 mm: from 92 to the clamp at 105"
    found = stick_out(panel, work, cutter, mill)
    assert found.beside == "clamp 1" and found.tags == ("A2",)
    assert found.least == pytest.approx(12 + deepest)
    away = [step for step in work if step.tags == ("A1",)]
    assert stick_out(panel, away, cutter, mill).least == pytest.approx(deepest + 1)
    thin = stick_out(panel, work, cutter, replace(mill, nut_diameter=20.0))
    assert thin.beside == "" and thin.least == pytest.approx(deepest + 1)
    assert "since the collet nut passes over clamp 1 at A2" in sheet_of(job)


WAYS = {
    "pause": ("it stops at once. Fit T", "It stops again at each change"),
    "one program per cutter": ("Each program has one cutter, and stops at its start", "Then plate.t"),
    "automatic": ("enter in the table of lengths, under the cutter's T number", "do not stop to touch off"),
}


@pytest.mark.parametrize("change", WAYS)
def test_z0_is_told_as_the_controller_takes_it(job_of: READ, tmp_path, change: str) -> None:
    """With stops for each cutter, with a program for each, or with a table of lengths: the steps say which."""
    length = "length table" if change == "automatic" else "touch off"
    mine = f'format = 1\nname = "bench mill"\nunits = "mm"\nsource = "test"\n[program]\nchange = "{change}"\n'
    (tmp_path / "mine.toml").write_text(f'{mine}length = "{length}"\n', encoding="utf-8")
    text = sheet_of(job_of(PLATE, machine=str(tmp_path / "mine.toml")))
    assert all(words in text for words in WAYS[change])
    for other in set(WAYS) - {change}:
        assert WAYS[other][0] not in text


def test_what_is_read_at_an_inch_machine_is_in_inches(job_of: READ) -> None:
    """A job in mm on a machine in inches: the indicator, the finder and the limits in inches, the rule in mm."""
    text = sheet_of(job_of(PLATE, machine="mill with tool changer"))
    steps = text.split("Steps: lay, square, clamp, zero")[1].split("Cutters, in the order of use")[0]
    squared = steps.split("Square it.")[1].split("Clamp.")[0]
    assert " mm" not in squared and "X0.5906 to X8.8583 in" in squared
    assert "type, with a finder of 1/2 in" in text and "X-0.2500 in" in text
    assert "220 mm to the right and 100 mm away from you" in steps
    assert "none higher than 12 mm above the sheet" in steps
