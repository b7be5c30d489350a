"""What sheet a job takes, against lengths worked out by hand."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from toolpaths import pipeline, sizes
from toolpaths.job import Job
from toolpaths.layout.blank import bend_allowance, cut_length, sheets
from toolpaths.layout.build import lay_out

JOB = """
format = 1
units = "mm"
machine = "bench mill"
[parameters]
inner = 200
[sizes.bad]
inner = 300
[[panel]]
name = "top"
material = "aluminium"
thickness = 1.5
width = "inner + 3"
height = 123
  [[panel.hole]]
  at = [60, 60]
  diameter = 22
  [[panel.hole]]
  at = [120, 60]
  diameter = 5
  finish = "mark"
[[panel]]
name = "lid"
material = "plywood"
thickness = 6
width = 210
height = 130
[chassis]
inside = {{ length = 200, depth = 120, height = 40 }}
bend_radius = 1.5
faces = {{ top = "top" }}
{folds}
"""

READ = Callable[..., Job]


def test_bend_allowances_of_the_handbook() -> None:
    """Machinery's Handbook, 31st edition, page 1421: 1.338 in for 180 degrees of T 0.125 and R 0.375 in."""
    assert 2 * bend_allowance(0.125, 0.375) == pytest.approx(1.338, abs=1e-3)
    assert bend_allowance(0.125, 0.625) * 60 / 90 == pytest.approx(0.707, abs=1e-3)


def test_the_blank_of_a_tray(job_of: READ) -> None:
    """Each way: the inside less the radii, and for each wall its bend and its height less the radius."""
    job = job_of(JOB.format(folds=""))
    blank, lid = sheets(lay_out(job).panels, job.chassis)
    wall = 0.64 * 1.5 + 1.57 * 1.5 + 40 - 1.5
    assert (blank.width, blank.height) == (pytest.approx(200 - 3 + 2 * wall), pytest.approx(120 - 3 + 2 * wall))
    assert blank.panels == ("top",) and blank.material == "aluminium"
    assert (lid.name, lid.width, lid.height) == ("lid", 210, 130)


def test_other_ways_to_fold(job_of: READ) -> None:
    """Two bends leave the other way flat; without folds, or bent on and on, each panel is its own sheet."""
    job = job_of(JOB.format(folds='folds = ["top front", "top rear"]').replace("inner + 3", "inner"))
    blank = sheets(lay_out(job).panels, job.chassis)[0]
    assert blank.width == 200 and blank.height > 190
    job = job_of(JOB.format(folds="folds = []"))
    assert [sheet.name for sheet in sheets(lay_out(job).panels, job.chassis)] == ["top", "lid"]
    job = job_of(JOB.format(folds='folds = ["top front", "front bottom", "bottom rear"]'))
    assert [sheet.name for sheet in sheets(lay_out(job).panels, job.chassis)] == ["top", "lid"]


FACES = """
[[panel]]
name = "rear"
material = "aluminium"
thickness = 1.5
width = 200
height = 41.5
machine_from = "{side}"
  [[panel.hole]]
  at = [100, 20]
  diameter = 8
"""


def test_a_face_lies_on_the_flat_blank_where_bending_leaves_it(job_of: READ) -> None:
    """The flat of the top, from radius to radius, is in the middle of the blank; the rear's rim is the blank's edge."""
    text = JOB.format(folds='holes = "before bending"').replace('{ top = "top" }', '{ top = "top", rear = "rear" }')
    job = job_of(text.replace("[chassis]", FACES.format(side="outside") + "[chassis]"))
    top, _, rear = lay_out(job).panels
    allowance, rim = 0.64 * 1.5 + 1.57 * 1.5, 40 - 1.5
    # from the outer edge of the top its flat begins at 1.5 + 1.5
    edge = allowance + rim - 3
    assert top.stock == pytest.approx((-edge, -edge, 203 + edge, 123 + edge))
    # seen from behind: up from the rim the rear's wall, its bend, the flat of the top, a bend, the front's wall
    high = rim + allowance + (120 - 3) + allowance + rim
    assert rear.stock == pytest.approx((-edge - 1.5, 0, 200 + edge + 1.5, high))
    assert not top.folded and not rear.flanges and top.on_blank and rear.on_blank
    blank = sheets((top, rear), job.chassis)[0]
    assert (blank.width, blank.height) == pytest.approx((203 + 2 * edge, 123 + 2 * edge))
    assert rear.stock[3] - rear.stock[1] == pytest.approx(blank.height)


@pytest.mark.parametrize("side", ["outside", "inside"])
def test_holes_are_made_on_the_blank(job_of: READ, side: str) -> None:
    """The whole way: the program is proved on the blank, and the sheet says where zero lies on it."""
    text = JOB.format(folds='holes = "before bending"').replace('{ top = "top" }', '{ rear = "rear" }')
    job = job_of(text.replace("[chassis]", FACES.format(side=side) + "[chassis]"))
    made = pipeline.make(job, panels=["rear"])
    assert not [finding for finding in made.findings if finding.severity == "error"], made.findings
    (page,) = (file.content.decode() for file in made.files if file.path == "setup_sheet.html")
    assert "flat blank of the whole box" in page
    assert "40.315 mm from the left edge and on the lower edge of the sheet" in page


def test_the_length_that_is_cut(job_of: READ) -> None:
    """Contours that are cut count, marks do not."""
    top = lay_out(job_of(JOB.format(folds=""))).panels[0]
    assert cut_length(top) == pytest.approx(math.pi * 22)


def test_sizes_tell_sheet_length_and_refusals(job_of: READ) -> None:
    """The table has rows for both; a size with errors is listed below with its reason, one that passes is not."""
    found = sizes.side_by_side(lambda name: job_of(JOB.format(folds=""), size=name), ["bad"])
    table = {row[""]: list(row.values())[1:] for row in sizes.rows(found)}
    assert table["  cut length"] == ["0 m", "0 m"]  # the last panel's
    assert table["sheet for top with left, right, front and rear"][0] == "280.63 mm x 200.63 mm"
    assert table["plywood, 6 mm"] == ["2.73 dm²", "2.73 dm²"]
    *_, reason = sizes.refusals(found)
    assert reason.startswith("  bad: top: the width of the top is 303 mm, the chassis has 203 mm there")
    assert not sizes.refusals(found[:1])
    facts = sizes.facts(found[1])
    assert len(facts["cannot_be_built"]) == 1 and facts["sheets"][1]["area_mm2"] == 27300


FIVE = """
format = 1
units = "mm"
machine = "sheet router"
[chassis]
inside = {{ length = 300, depth = 120, height = 40 }}
bend_radius = 1.5
holes = "before bending"
faces = {{ top = "top", front = "front", rear = "rear", left = "left", right = "right" }}
{panels}
"""
SIZES = {
    "top": (302, 122), "front": (302, 41), "rear": (302, 41), "left": (122, 41), "right": (122, 41),
}  # fmt: skip

LIES = {
    # what is towards you, away from you, to the left, to the right of the face; walked round a paper model by hand
    ("top", False): ("front", "rear", "left", "right"),
    ("top", True): ("front", "rear", "right", "left"),
    ("front", False): ("", "top rear", "left", "right"),
    ("rear", False): ("", "top front", "right", "left"),
    ("rear", True): ("", "top front", "left", "right"),
    ("left", False): ("", "top right", "rear", "front"),
    ("right", False): ("", "top left", "front", "rear"),
    ("right", True): ("", "top left", "rear", "front"),
}


@pytest.mark.parametrize(("face", "inside"), LIES)
def test_the_faces_on_the_blank_lie_as_in_a_paper_model(job_of: READ, face: str, inside: bool) -> None:
    """The sheet of each face says what of the blank lies where, from the outside and turned over; the faces neither
    overlap nor leave the blank, and all but its four corners belongs to one of them."""
    panels = "".join(
        f'[[panel]]\nname = "{name}"\nmaterial = "mild steel"\nthickness = 1\nwidth = {wide}\nheight = {high}\n'
        f'machine_from = "{"inside" if inside and name == face else "outside"}"\n'
        for name, (wide, high) in SIZES.items()
    )
    (panel,) = (one for one in lay_out(job_of(FIVE.format(panels=panels))).panels if one.name == face)
    own = panel.area_to_program(panel.outline.bounds)
    areas = {one.face: panel.area_to_program(one.area) for one in panel.blank}
    assert set(areas) == set(SIZES) - {face}
    middle = areas["top"] if face != "top" else own
    seen = {"towards": "", "away": "", "left": "", "right": ""}
    for name, area in areas.items():
        beside = "left" if area[2] <= middle[0] + 1e-9 else "right" if area[0] >= middle[2] - 1e-9 else ""
        way = beside or ("towards" if area[3] <= middle[1] + 1e-9 else "away")
        seen[way] = f"{seen[way]} {name}".strip()
    assert tuple(seen.values()) == LIES[face, inside]
    boxes = [own, *areas.values()]
    stock = panel.area_to_program(panel.stock)
    for index, (a0, b0, a1, b1) in enumerate(boxes):
        assert stock[0] - 1e-9 <= a0 and stock[1] - 1e-9 <= b0 and a1 <= stock[2] + 1e-9 and b1 <= stock[3] + 1e-9
        for c0, d0, c1, d1 in boxes[:index]:
            assert min(a1, c1) - max(a0, c0) < 1e-6 or min(b1, d1) - max(b0, d0) < 1e-6
    corners = (stock[2] - stock[0]) * (stock[3] - stock[1]) - sum((a1 - a0) * (b1 - b0) for a0, b0, a1, b1 in boxes)
    assert corners == pytest.approx(4 * 40 * 40, rel=0.05)
