"""A face of a folded box as it lies on the machine: walls, backing block, clear height, and where Z is set."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.job import Job
from toolpaths.layout.build import lay_out
from toolpaths.layout.panel import Panel

JOB = """
format = 1
units = "mm"
machine = "{machine}"
[[panel]]
name = "top"
material = "aluminium"
thickness = 1.5
width = 203
height = 123
machine_from = "{top_from}"
  [[panel.hole]]
  at = [{x}, 60]
  diameter = {diameter}
[[panel]]
name = "rear"
material = "aluminium"
thickness = 1.5
width = 200
height = {high}
origin = "centre"
machine_from = "{rear_from}"
  [[panel.hole]]
  at = [0, 0]
  diameter = 8
[chassis]
inside = {{ length = 200, depth = 120, height = 40 }}
bend_radius = 2
faces = {{ top = "top", rear = "rear" }}
{more}
"""

READ = Callable[..., Job]


def text(**changes: object) -> str:
    keys = {"machine": "bench mill", "top_from": "outside", "rear_from": "outside", "x": 60, "diameter": 8, "more": ""}
    return JOB.format(**(keys | {"high": 41.5} | changes))


def panels(job_of: READ, **changes: object) -> list[Panel]:
    return list(lay_out(job_of(text(**changes))).panels)


def test_walls_that_hang_down(job_of: READ) -> None:
    """Round the top of a tray hang four walls, each its own sheet wide; the block is less by 1 mm, taller by 3."""
    top, _ = panels(job_of)
    assert top.folded is not None and not top.folded.standing and top.folded.lid == ""
    walls = {flange.side: (flange.wall, flange.area, flange.height, flange.radius) for flange in top.flanges}
    assert walls == {
        "left": ("left", (0, 0, 1.5, 123), 40, 2), "right": ("right", (201.5, 0, 203, 123), 40, 2),
        "lower": ("front", (0, 0, 203, 1.5), 40, 2), "upper": ("rear", (0, 121.5, 203, 123), 40, 2),
    }  # fmt: skip
    block = top.folded.block
    assert block is not None and (block.width, block.length, block.height, block.under) == (199, 119, 43, 0)
    assert top.bed(12) == 43 and top.clear_height == 5 and top.bed_name == "backing block"


def test_a_block_between_two_faces(job_of: READ) -> None:
    """The rear has the front under it: the block is as tall as the inside, and stands on the front's sheet."""
    _, rear = panels(job_of)
    assert rear.folded is not None and rear.folded.lid == "front" and rear.folded.block is not None
    assert (rear.folded.block.height, rear.folded.block.under, rear.bed(12)) == (120, 1.5, 121.5)
    sides = {flange.side: (flange.wall, flange.bent, flange.height) for flange in rear.flanges}
    # the left of the rear, seen from behind, is the right of the box; both side walls meet it at a seam
    assert sides == {"left": ("right", False, 120), "right": ("left", False, 120), "upper": ("top", True, 121.5)}
    assert rear.flanges[-1].area == pytest.approx((-100, 19.25, 100, 20.75))


def test_walls_that_stand_up(job_of: READ) -> None:
    """Machined from the inside the walls stand: no block, and the clear height is 5 mm above them."""
    top, _ = panels(job_of, top_from="inside")
    assert top.folded is not None and top.folded.standing and top.folded.block is None
    assert top.clear_height == 45 and top.bed(12) == 12 and top.bed_name == "spoilboard"


def test_flat_sheet_stays_flat(job_of: READ) -> None:
    """Before bending, without folds, and where a panel is no face, there are no walls."""
    for more in ('holes = "before bending"', "folds = []", 'folds = ["bottom left"]'):
        assert not panels(job_of, more=more)[0].folded
    walls = panels(job_of, more='folds = ["top front", "rear top"]')[0].flanges
    assert [flange.wall for flange in walls] == ["front", "rear"]


def test_z_is_set_clear_of_bends_and_walls(job_of: READ) -> None:
    """The touch-off point keeps 5 mm from the bend, and the nut's radius more from walls where there is room."""
    for side in ("outside", "inside"):
        top, _ = panels(job_of, top_from=side)
        assert top.touch_off is not None
        x, y = top.touch_off
        least = 1.5 + 2 + 5 + job_of(text()).machine.nut_diameter / 2
        assert least <= x <= 203 - least and least <= y <= 123 - least


def codes(job_of: READ, **changes: object) -> list[tuple[str, str]]:
    return [(one.panel, one.code) for one in pipeline.check(job_of(text(**changes))) if one.severity == "error"]


def test_the_block_counts_in_the_daylight(job_of: READ) -> None:
    """A block of 63 mm stands under the bench mill; under the small router there is no daylight left for any cutter."""
    tall = text(high=61.5).replace("height = 40 }", "height = 60 }")
    assert not [one for one in pipeline.check(job_of(tall)) if one.severity == "error"]
    found = pipeline.check(job_of(tall.replace("bench mill", "small router")))
    (finding,) = (one for one in found if (one.panel, one.code) == ("top", "no-cutter"))
    # 63 mm of block, 1.5 of sheet, 5 clear
    assert "backing block, sheet and the clear height of 5 mm leave 0.5 mm of the daylight of 70 mm" in finding.message


def test_standing_walls_and_the_nut(job_of: READ) -> None:
    """Beside a wall 40 mm high the nut is in the way of a hole that its cutter reaches; moved as told it is not."""
    near = 12.0
    found = pipeline.check(job_of(text(top_from="inside", x=near)))
    (finding,) = (one for one in found if one.severity == "error")
    assert finding.code == "under-flange" and "the flange at the left (40 mm high)" in finding.message
    move = re.search(r"move the feature ([\d.]+) mm away", finding.message)
    assert move
    assert codes(job_of, top_from="inside", x=near + float(move[1])) == []
    assert codes(job_of, top_from="inside", x=near + float(move[1]) - 0.2) == [("top", "under-flange")]
    assert codes(job_of, x=near) == []


def test_no_cutter_gets_in_under_the_opposite_face(job_of: READ) -> None:
    """The rear of a tray has the front over it, once it is turned over: one error, with what to do."""
    assert codes(job_of, rear_from="inside") == [("rear", "closed-in")]
    assert ("rear", "closed-in") not in codes(job_of, rear_from="inside", more='folds = ["top rear"]')


def test_a_hole_over_a_wall_is_an_error(job_of: READ) -> None:
    """Beside the bend it is a warning; over the sheet of the wall the cutter would run into it."""
    found = {(one.severity, one.code) for one in pipeline.check(job_of(text(x=6)))}
    assert ("warning", "bend-zone") in found and ("error", "bend-zone") not in found
    assert ("error", "bend-zone") in {(one.severity, one.code) for one in pipeline.check(job_of(text(x=5.4)))}


@pytest.mark.parametrize("holes", ["after bending", "before bending"])
def test_a_bend_is_no_edge(job_of: READ, holes: str) -> None:
    """Where the sheet goes on round a bend the rule for edges is not asked; at the rim, and without bends, it is."""

    def told(text: str) -> set[tuple[str, str]]:
        return {(one.panel, one.code) for one in pipeline.check(job_of(text))}

    more = f'holes = "{holes}"'
    assert ("top", "thin-edge") not in told(text(x=5.6, more=more))
    assert ("top", "bend-zone") in told(text(x=5.6, more=more))
    assert ("top", "thin-edge") in told(text(x=5.6, more=f'{more}\nfolds = ["top front", "top rear"]'))
    rim = text(more=more).replace("at = [0, 0]", "at = [0, -15.5]")
    assert ("rear", "thin-edge") in told(rim) and ("rear", "bend-zone") not in told(rim)
    assert ("rear", "thin-edge") not in told(text(more=more).replace("at = [0, 0]", "at = [0, 15.5]"))


def test_a_bent_outline_is_not_cut(job_of: READ) -> None:
    """A face that is folded cannot be cut out as well, not even before it is bent; a loose one can."""
    cut = text().replace("height = 123", "height = 123\ncut_outline = true")
    with pytest.raises(BadInput, match="is the top of a folded chassis, whose outline is bent; write false"):
        job_of(cut)
    with pytest.raises(BadInput, match="whose outline is bent"):
        job_of(cut.replace("bend_radius = 2", 'bend_radius = 2\nholes = "before bending"'))
    assert job_of(cut.replace("bend_radius = 2", 'bend_radius = 2\nfolds = ["front left"]')).panels[0].cut_outline
