"""A vent of hundreds of equal holes on paper: told of once, drawn with few strokes, and no hole lost."""

from __future__ import annotations

import csv
import html
import io
import math
import re

import pytest

from tests.test_drafting import marks, text_at
from toolpaths import pipeline
from toolpaths.crowd import CROWD, Lattice, lattice
from toolpaths.drafting import draw_panel, hole_rows
from toolpaths.drawing import Chain
from toolpaths.geometry.shapes import circle
from toolpaths.labelling import HEIGHT, Strips, strips
from toolpaths.layout.build import lay_out
from toolpaths.shop.bench import HandWork
from toolpaths.shop.bench_sheet import bench_sheet
from toolpaths.shop.picture import draw
from toolpaths.shop.schedule import write
from toolpaths.shop.words import Figures
from toolpaths.template import Common, draw_template

COLUMNS, ROWS, PITCH, FIRST = 24, 11, 6.5, (20.0, 18.0)
PLACES = [(FIRST[0] + PITCH * c, FIRST[1] + PITCH * r) for r in range(ROWS) for c in range(COLUMNS)]
"""Written out here, independently of the product."""

HEAD = """format = 1
title = "Vent"
units = "mm"
machine = "sheet router"
[[panel]]
name = "vent"
material = "aluminium"
thickness = 1.5
width = 200
height = 105
origin = "lower left"
machine_from = "{side}"
clamps = [{{ x = -15, y = -12, width = 16 }}]
"""
GRID = f"""[[panel.grid]]
at = [{FIRST[0] + PITCH * (COLUMNS - 1) / 2}, {FIRST[1] + PITCH * (ROWS - 1) / 2}]
columns = {COLUMNS}
rows = {ROWS}
pitch = {PITCH}
diameter = 3
"""
SINGLE = "".join(f"[[panel.hole]]\nat = [{x}, {y}]\ndiameter = 3\n" for x, y in PLACES)
LARGER = """[[panel.hole]]
at = [190, 95]
diameter = 8
label = "cable"
"""


def vent(job_of, body: str, side: str = "outside"):
    """The job, and its layout of one panel."""
    job = job_of(HEAD.format(side=side) + body)
    return job, lay_out(job)


@pytest.mark.parametrize("body", [GRID, SINGLE], ids=["grid", "single holes"])
@pytest.mark.parametrize("side", ["outside", "inside"])
def test_every_centre_of_a_crowd_lies_on_a_level_and_an_upright_line(job_of, body, side):
    """The lines of a crowd cross at each of its centres and reach 2 mm beyond its outermost holes, in few strokes."""
    _, layout = vent(job_of, body + LARGER, side)
    (panel,) = layout.panels
    drawing = draw_panel(panel, "Vent", "mm")
    lines = marks(drawing, "rows of centres")
    assert len(lines) == COLUMNS + ROWS
    for place in PLACES:
        x, y = (200 - place[0], place[1]) if side == "inside" else place
        for axis, at, along in ((1, y, x), (0, x, y)):
            through = [
                line for line in lines for (low, high) in [sorted(point[1 - axis] for point in line.points)]
                if low <= along - 3.5 + 1e-9 and high >= along + 3.5 - 1e-9
                and all(math.isclose(point[axis], at, abs_tol=1e-6) for point in line.points)
            ]  # fmt: skip
            assert len(through) == 1
    ends = [point for line in lines for point in line.points]
    assert min(y for _, y in ends) == pytest.approx(FIRST[1] - 3.5)
    assert max(y for _, y in ends) == pytest.approx(PLACES[-1][1] + 3.5)
    assert len(marks(drawing, "centre marks")) == 4  # those of the larger hole alone
    assert len([mark for mark in marks(drawing, "openings") if isinstance(mark, Chain)]) == len(PLACES) + 1


@pytest.mark.parametrize("body", [GRID, SINGLE], ids=["grid", "single holes"])
def test_a_crowd_has_one_label_and_two_rows(job_of, body):
    """Drawings, template and plan name a crowd once; the table says how it stands and where its last hole is."""
    job, layout = vent(job_of, body + LARGER)
    (panel,) = layout.panels
    count = len(PLACES)
    first, last = [row for row in hole_rows(panel, "mm") if row[4].startswith("x, y of")]
    assert first == (f"A1 to A{count}", f"{count} x Ø3", "20.00", "18.00", "x, y of A1")
    assert last == ("", "24 x 11, 6.5 mm apart", "169.50", "83.00", f"x, y of A{count}")
    assert len(hole_rows(panel, "mm")) == 3
    for drawing in (draw_panel(panel, "Vent", "mm"), draw_template(panel, Common("Vent", "mm", 3.0))):
        assert text_at(drawing, f"A1 to A{count}: {count} x Ø3", HEIGHT)
        assert not text_at(drawing, "A17", HEIGHT)
    assert {tag.text for tag in draw(panel, panel.touch_off or (0, 0)).tags} == {f"A1 to A{count}", "B1"}
    hand = HandWork(layout.panels, job.materials, job.hand_tools, 3.0)
    (of_panel,) = bench_sheet(layout, hand, Figures("mm", "mm")).panels
    crowd, cable = sorted(of_panel.rows, key=lambda row: row.tags)
    assert crowd.tags == f"A1 to A{count}" and cable.tags == "B1"
    assert f"24 x 11, 6.5 mm apart, A{count} at 169.5, 83" in crowd.remark


def test_no_hole_of_a_crowd_is_missing_from_the_schedule(job_of):
    """The CSV has a row for every hole of a crowd, each at its place."""
    job, layout = vent(job_of, GRID)
    table = list(csv.DictReader(io.StringIO(
        write(layout, [], job.cutters, HandWork(layout.panels, job.materials, job.hand_tools, 3.0))
    )))
    found = {(float(row["x"]), float(row["y"])) for row in table}
    assert len(table) == len(PLACES)
    assert found == {(round(x, 3), round(y, 3)) for x, y in PLACES}
    assert len({row["tag"] for row in table}) == len(PLACES)
    assert {row["by hand"] for row in table} == {"centre punch; 3 mm twist drill"}


def test_a_labelled_hole_and_a_few_equal_ones_are_told_of_one_by_one(job_of):
    """Up to the stated number, and where the job names it, a single hole keeps its tag, its cross and its row."""
    some = "".join(f"[[panel.hole]]\nat = [{x}, {y}]\ndiameter = 3\n" for x, y in PLACES[:12])
    named = SINGLE.replace("diameter = 3\n", 'diameter = 3\nlabel = "air"\n')
    for body, count in ((some, 12), (named, len(PLACES))):
        _, layout = vent(job_of, body)
        assert len(hole_rows(layout.panels[0], "mm")) == count
    assert len(PLACES) > CROWD


@pytest.mark.parametrize(
    ("places", "expected"),
    [
        (PLACES, Lattice(COLUMNS, ROWS, PITCH, PITCH)),
        (PLACES[::-1], Lattice(COLUMNS, ROWS, PITCH, PITCH)),
        ([(x + (2 if round((y - FIRST[1]) / PITCH) % 2 else 0), y) for x, y in PLACES],
         Lattice(COLUMNS, ROWS, PITCH, PITCH, 2.0)),
        (PLACES[:-1], None),
        ([*PLACES[:-1], (PLACES[-1][0] + 0.01, PLACES[-1][1])], None),
        ([(3.0 * k, 0.0) for k in range(9)], None),
    ],
)  # fmt: skip
def test_a_lattice_is_told_only_where_every_place_is_of_it(places, expected):
    """Columns, rows and pitch are those of the places; one that is missing or a hundredth off makes it none."""
    assert lattice(places) == expected


def test_strips_of_equal_circles_are_the_same_moved():
    """The boxes of a circle that was asked before are those of the circle itself."""
    quick = Strips()
    for x, y, size in ((0.0, 0.0, 3.0), (17.3, -4.21, 3.0), (1000.1, 0.7, 8.25), (3.3, 3.3, 8.25)):
        shape = circle((x, y), size)
        expected = strips(shape)
        assert len(quick.of(shape)) == len(expected)
        for one, other in zip(quick.of(shape), expected, strict=True):
            assert one == pytest.approx(other, abs=1e-9)


def test_a_line_of_the_order_of_work_names_few_features(job_of):
    """Hundreds of single holes made alike are one line of the setup sheet with the first and last feature."""
    made = pipeline.make(vent(job_of, SINGLE)[0])
    assert not made.findings
    text = next(file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    said = html.unescape(re.sub(r"<[^>]+>", " ", text))
    assert f"hole[1] to hole[{len(PLACES)}], {len(PLACES)} features" in said
    assert "hole[2]" not in said
