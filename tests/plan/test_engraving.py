"""Legends as work: first, with one engraver, in passes that its tip bears, along every stroke once."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from toolpaths import pipeline
from toolpaths.drafting import draw_panel
from toolpaths.drawing import Chain
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.layout.panel import Panel
from toolpaths.motion import Line, Operation, Rapid
from toolpaths.reread import read
from toolpaths.tables.load import cutters

HEAD = """
format = 1
units = "mm"
[[panel]]
name = "front"
material = "{material}"
thickness = 3
width = 120
height = 80
[[panel.hole]]
at = [20, 20]
diameter = 3.2
[[panel.text]]
text = "LEVEL"
at = [60, 40]
height = {height}
depth = {depth}
"""


def operations(job: Job) -> tuple[Operation, ...]:
    (planned,), found = pipeline.plan(job)
    assert planned.program is not None, found
    return planned.program.setup.operations


def test_an_engravers_line_is_its_tip_and_twice_the_depth_by_the_tangent() -> None:
    """w = tip + 2 d tan(a/2): 60 degrees and 0.1 mm at 0.15 mm deep give 0.1 + 0.3 tan 30 = 0.273 mm."""
    assert cutters()[1860].width_at(0.15) == pytest.approx(0.1 + 0.3 / math.sqrt(3))
    assert cutters()[1890].width_at(0.15) == pytest.approx(0.2 + 0.3)
    assert cutters()[1830].width_at(99) == cutters()[1830].diameter
    for row in (one for one in cutters().values() if one.kind == "engraver"):
        assert row.width_at(row.point_length) == pytest.approx(row.diameter)
        assert row.point_length <= row.flute_length < row.point_length + 0.2


@pytest.mark.parametrize(
    ("height", "depth", "number"), [(2.5, 0.15, 1860), (3.5, 0.1, 1860), (5, 0.15, 1890), (2.5, 0.2, 1830)]
)
def test_the_engraver_is_the_one_whose_line_goes_with_the_lettering(
    height: float, depth: float, number: int, job_of: Callable[..., Job]
) -> None:
    """The widest line that is no wider than a tenth of the height (ISO 3098, lettering B), a tenth of that let go."""
    job = job_of(HEAD.format(material="aluminium", height=height, depth=depth))
    assert operations(job)[0].cutter == number == lay_out(job).panels[0].engraver


@pytest.mark.parametrize(
    ("material", "depth", "passes"),
    [("aluminium", 0.15, 1), ("mild steel", 0.2, 2), ("plywood", 0.9, 1), ("aluminium", 0.5, 3)],
)
def test_passes_are_what_the_tip_bears(
    material: str, depth: float, passes: int, job_of: Callable[..., Job]
) -> None:
    """Metal 0.2 mm at once at most, steel on a router less; strokes are followed there and back, to the full depth."""
    (work, *_) = operations(job_of(HEAD.format(material=material, height=9, depth=depth)))
    levels = sorted({round(one.to[2], 6) for one in work.motions if not isinstance(one, Rapid) and one.to[2] < 0})
    assert levels == pytest.approx([-depth * (passes - k) / passes for k in range(passes)], abs=1e-5)
    assert work.depth == -depth
    assert work.stepdown == pytest.approx(depth / passes if passes > 1 else 0)


def test_engraving_comes_first_and_takes_one_change(job_of: Callable[..., Job]) -> None:
    """The sheet is whole and flat: no drill and no mill has been before, and the engraver is fitted once."""
    job = read_job(Path(__file__).parents[2] / "sample_jobs" / "tone_control.toml")
    kinds = [operation.kind for operation in operations(job)]
    assert kinds[:9] == ["engrave"] * 9 and "engrave" not in kinds[9:]
    assert len({operation.cutter for operation in operations(job)[:9]}) == 1


def test_between_strokes_the_tip_is_lifted_and_let_down_slowly(job_of: Callable[..., Job]) -> None:
    """Each stroke: down to just above the sheet, in at the plunge, along at the feed, up; never down in a rapid."""
    (work, *_) = operations(job_of(HEAD.format(material="aluminium", height=5, depth=0.15)))
    downs = [one for one in work.motions if isinstance(one, Line) and one.to[2] == -0.15 and one.feed == work.plunge]
    assert len(downs) == 7  # L 1, E 2, V 1, E 2, L 1
    assert work.plunge == pytest.approx(work.feed / 4)
    assert all(one.to[2] >= 2 for one in work.motions if isinstance(one, Rapid))


def drawn(panel: Panel) -> set[tuple[object, ...]]:
    pens = draw_panel(panel, "", "mm").pens
    marks = [mark for pen in pens if pen.name.startswith("legend") for mark in pen.marks]
    return {mark.segments for mark in marks if isinstance(mark, Chain)}


def test_drawing_and_program_carry_the_same_strokes(job_of: Callable[..., Job]) -> None:
    """What is drawn of a legend is what its strokes are, and as long as what the engraver cuts in the sheet."""
    job = read_job(Path(__file__).parents[2] / "sample_jobs" / "tone_control.toml")
    made = pipeline.make(job, posts=["gcode"])
    (panel,) = made.layout.panels
    assert drawn(panel) == {stroke for one in panel.legends for stroke in panel.strokes_to_program(one)}
    (text,) = [file.content.decode("ascii") for file in made.files if file.facts["kind"] == "program"]
    cut = sum(
        stroke.length for stroke in read(text).strokes
        if stroke.cutter == panel.engraver and stroke.kind == "cut" and stroke.start[2] == stroke.end[2] < 0
    )  # fmt: skip
    designed = sum(piece.length for one in panel.engraved for stroke in one.strokes for piece in stroke)
    assert cut == pytest.approx(designed, abs=0.05)
    pens = {pen.name: pen.width for pen in draw_panel(panel, "", "mm").pens if pen.name.startswith("legend")}
    assert pens == {"legend 0.25": 0.25, "legend 0.35": 0.35, "legend 0.5": 0.5}


def test_papers_and_page_know_of_it() -> None:
    """The setup sheet says what flatness a shallow line asks for; the page has every stroke, the manifest the tip."""
    job = read_job(Path(__file__).parents[2] / "sample_jobs" / "tone_control.toml")
    made = pipeline.make(job)
    files = {file.path: file for file in made.files}
    sheet = files["setup_sheet.html"].content.decode("utf-8")
    assert "0.15 mm deep and its line 0.27 mm wide; with Z out by 0.05 mm the line is 0.33 mm" in sheet
    (page,) = re.findall(r"<script[^>]*json[^>]*>(.*?)</script>", files["simulation.html"].content.decode(), re.DOTALL)
    (setup,) = json.loads(page)["setups"]
    assert {legend["label"] for legend in setup["legends"]} >= {"BASS", "TREBLE", "INPUT", "SORRELMOOR", "No. 1"}
    strokes = [one for legend in made.layout.panels[0].legends for one in legend.strokes]
    assert sum(len(legend["strokes"]) for legend in setup["legends"]) == len(strokes)
    assert setup["cutters"]["1860"]["tip"] == 0.1
    (engraver, *others) = files["front.nc"].facts["cutters"]  # type: ignore[misc]
    assert engraver["kind"] == "engraver" and engraver["tip_mm"] == 0.1
    assert not any("tip_mm" in other for other in others)
