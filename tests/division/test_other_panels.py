"""Panels divided along both axes, folded boxes, baffles: made as one piece, or refused with what would do."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from toolpaths import pipeline
from toolpaths.finding import has_errors
from toolpaths.job import Job
from toolpaths.job.load import read_job
from toolpaths.reread import read

HEAD = 'format = 1\ntitle = "t"\nunits = "mm"\nmachine = "{machine}"\n'

PLATE = HEAD.format(machine="small router") + """
[[panel]]
name = "plate"
material = "aluminium"
thickness = 2
width = 420
height = 280
cut_outline = true
stock_margin = 25
corner_radius = 10
machine_from = "inside"
clamps = [
  { x = 40, y = 200, width = 20, height = 10, setup = 1 },
  { x = 70, y = 190, width = 20, height = 10, setup = 2 },
  { x = 100, y = -14, width = 20, length = 6, height = 10 },
]
  [[panel.hole]]
  at = [150, 20]
  diameter = 6
  [[panel.hole]]
  at = [400, 90]
  diameter = 9
  [[panel.cutout]]
  at = [210, 140]
  width = 340
  height = 210
  corner_radius = 5
"""

BOX = HEAD.format(machine="bench mill") + """
[chassis]
inside = {{ length = {length}, depth = {depth}, height = 50 }}
faces = {{ top = "top" }}
thickness = 1.2
bend_radius = 1.5
finder = 10
[[panel]]
name = "top"
material = "mild steel"
thickness = 1.2
width = {width}
height = {height}
origin = "centre"
machine_from = "{side}"
  [[panel.hole]]
  at = [-{far}, 40]
  diameter = 6
  [[panel.hole]]
  at = [-60, -{up}]
  diameter = 6
  [[panel.hole]]
  at = [80, {up}]
  diameter = 6
  [[panel.hole]]
  at = [{far}, -40]
  diameter = 8
"""

BAFFLE = HEAD.format(machine="small router") + """
[[panel]]
name = "baffle"
material = "plywood"
thickness = 12
width = 900
height = 600
cut_outline = true
  [[panel.hole]]
  at = [225, 300]
  diameter = 280
  [[panel.hole]]
  at = [675, 300]
  diameter = 280
"""


def job_of(folder: Path, text: str) -> Job:
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return read_job(folder / "job.toml")


def box(length: float, depth: float, side: str, far: float = 200, up: float = 45) -> str:
    """A tray of this inside, its top to be machined."""
    return BOX.format(
        length=length, depth=depth, width=length + 2.4, height=depth + 2.4, side=side, far=far, up=up
    )  # fmt: skip


def test_a_panel_divided_along_both_axes_is_one_piece(tmp_path: Path) -> None:
    """Four setups, turned over, its outline cut too, clamps of their own: what is gone of the sheet when the texts are
    laid over each other by their zeros is the design, by a reckoning of this test's own."""
    job = job_of(tmp_path, PLATE)
    made = pipeline.make(job, posts=["gcode"])
    assert not has_errors(made.findings), made.findings
    programs = [file for file in made.files if file.facts["kind"] == "program"]
    assert [file.facts["setup"] for file in programs] == [1, 2, 3, 4]
    gone = shapely.union_all([_swept(file.content.decode(), file.facts) for file in programs])
    cutout = shapely.box(40 + 5, 35 + 5, 380 - 5, 245 - 5).buffer(5, quad_segs=64)
    inside = shapely.Polygon(shapely.box(10, 10, 410, 270).buffer(10, quad_segs=64).exterior)
    holes = shapely.union_all([shapely.Point(150, 20).buffer(3, 64), shapely.Point(400, 90).buffer(4.5, 64)])
    own = shapely.union_all([cutout, holes])
    assert gone.intersection(inside.buffer(-0.02)).difference(own.buffer(0.02)).area < 0.01
    wall = cutout.buffer(-0.02).exterior.difference(gone)
    edge = inside.buffer(0.02).exterior.difference(gone)
    for held in (wall, edge):
        tabs = [one for one in shapely.get_parts(shapely.line_merge(held)) if one.length > 1]
        assert 3 <= len(tabs) <= 12 and all(6 < one.length < 8 for one in tabs)


def _swept(text: str, facts: dict[str, object]) -> shapely.Geometry:
    """What a program clears at the bottom of a sheet of 2 mm, in panel coordinates: mirrored, as the job says."""
    zero_x, zero_y = facts["zero"]  # type: ignore[misc]
    radius = float(re.search(r"([\d.]+) mm end mill", text)[1]) / 2  # type: ignore[index]
    found = []
    for stroke in read(text).strokes:
        low = max(z for z in (stroke.start[2], stroke.end[2]) if z == z)
        if stroke.kind != "cut" or low > -2:
            continue
        points = [stroke.start[:2], stroke.end[:2]]
        if stroke.centre is not None:
            (cx, cy), count = stroke.centre, 256
            sweep = stroke.sweep * (1 if stroke.ccw else -1)
            turned = (shapely.affinity.rotate(shapely.Point(stroke.start[:2]), sweep * k / count, (cx, cy), True)
                      for k in range(count + 1))
            points = [(point.x, point.y) for point in turned]
        line = shapely.LineString([(zero_x - x, y + zero_y) for x, y in points])
        found.append(line.buffer(radius, quad_segs=64))
    return shapely.union_all(found)


@pytest.mark.parametrize("side", ["outside", "inside"])
def test_a_folded_box_is_divided_along_its_length(tmp_path: Path, side: str) -> None:
    """Longer than the machine: its holes are made in two setups, flanges up or down; the block stays and is shorter by
    the whole move, and carries all that the machine reaches."""
    made = pipeline.make(job_of(tmp_path, box(520, 140, side, far=240)))
    assert not has_errors(made.findings), made.findings
    facts = {file.path: file.facts for file in made.files}
    moved = abs(facts["top.setup1.nc"]["zero"][0] - facts["top.setup2.nc"]["zero"][0])  # type: ignore[index]
    assert moved > 50
    sheet = next(file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    if side == "outside":
        assert f"backing block of {520 - 1 - moved:g} mm" in sheet
        begin, end = map(float, re.search(r"It stands from X(-?[\d.]+) to X(-?[\d.]+)", sheet).groups())  # type: ignore[union-attr]
        for name in ("top.setup1.nc", "top.setup2.nc"):
            text = next(file.content.decode() for file in made.files if file.path == name)
            places = [stroke.end[0] for stroke in read(text).strokes if stroke.kind == "cut"]
            assert begin <= min(places) and max(places) <= end


def test_a_folded_box_is_not_divided_across(tmp_path: Path) -> None:
    """Deeper than the machine travels: refused, with the way that is left."""
    findings = pipeline.check(job_of(tmp_path, box(300, 260, "inside", far=100, up=115)))
    (told,) = [one.message for one in findings if one.code == "not-divisible"]
    assert "along its length alone" in told and "before bending" in told


def test_a_large_baffle_is_refused_with_what_would_do(tmp_path: Path) -> None:
    """900 x 600 mm on 300 x 180 mm would take sixteen setups: it is told so, with a travel; with that it is divided."""
    job = job_of(tmp_path, BAFFLE)
    findings = pipeline.check(job)
    (told,) = [one.message for one in findings if one.code == "not-divisible"]
    assert "16 setups" in told
    across, up = map(float, re.search(r"travels ([\d.]+) mm by ([\d.]+) mm", told).groups())  # type: ignore[union-attr]
    larger = replace(job, machine=replace(job.machine, travel=(across, up, job.machine.travel[2])))
    made = pipeline.make(larger, posts=["gcode"])
    assert not has_errors(made.findings), made.findings
    assert 1 < len([file for file in made.files if file.facts["kind"] == "program"]) <= 6


def test_what_is_cleared_to_chips_is_never_parted(tmp_path: Path) -> None:
    """A slot longer than any position reaches is refused, with the length that would do."""
    text = PLATE.split("  [[panel.cutout]]")[0].replace("height = 280", "height = 150")
    slot = "  [[panel.slot]]\n  at = [210, 100]\n  length = 350\n  width = 8\n"
    findings = pipeline.check(job_of(tmp_path, re.sub(r"clamps = \[.*?\n\]\n", "", text, flags=re.DOTALL) + slot))
    (told,) = [one for one in findings if one.code == "not-divisible"]
    assert told.feature == "slot[1]" and "cleared to chips" in told.message
    assert not [one for one in findings if one.code == "divided"]


STRIP = HEAD.format(machine="small router") + """
[[panel]]
name = "strip"
material = "aluminium"
thickness = 2
width = 1262
height = 120
cut_outline = true
  [[panel.hole]]
  at = [40, 30]
  diameter = 6
"""


def test_one_cause_is_one_error_with_one_figure(job_of) -> None:
    """A panel that is too long and cannot be divided is one error: one length that its cuts need, and what for."""
    found = [finding for finding in pipeline.check(job_of(STRIP)) if finding.severity == "error"]
    assert [finding.code for finding in found] == ["not-divisible"]
    said = found[0].message
    assert "longer in X than this machine travels (300 mm)" in said
    assert len(re.findall(r"need [0-9.]+ mm", said)) == 1 and "with the room for coming to a cut they need" in said
