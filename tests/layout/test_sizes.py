"""Which way an opening lies, in words: enough to make it by hand from the schedule."""

from __future__ import annotations

import csv
import io

import pytest

from toolpaths.drafting import draw_panel
from toolpaths.layout.build import lay_out
from toolpaths.layout.panel import Panel
from toolpaths.layout.sizes import turn_words
from toolpaths.lettering import letter
from toolpaths.shop import schedule

HEAD = """
format = 1
title = "plate"
units = "UNITS"
machine = "bench mill"
[[panel]]
name = "plate"
material = "aluminium"
thickness = "2 mm"
width = "200 mm"
height = "120 mm"
machine_from = "SIDE"
"""

KINDS = {
    "cutout": 'width = "30 mm"\nheight = "20 mm"',
    "slot": 'length = "20 mm"\nwidth = "5 mm"',
    "d_hole": 'diameter = "12.7 mm"\nacross_flat = "11.7 mm"',
    "double_d_hole": 'diameter = "12 mm"\nacross_flats = "10 mm"',
    "keyed_hole": 'diameter = "10 mm"\nkey_width = "4 mm"\nkey_depth = "1.2 mm"',
}

WORDS = [
    # kind, angle in the job, as seen from outside, as the panel lies turned over left to right
    ("cutout", 0, "", ""),
    ("cutout", 180, "", ""),
    ("cutout", 60, ", at 60°", ", at 120°"),
    ("slot", 0, "", ""),
    ("slot", 90, ", at 90°", ", at 90°"),
    ("slot", -22.5, ", at 157.5°", ", at 22.5°"),
    ("d_hole", 0, ", flat at 0°", ", flat at 180°"),
    ("d_hole", 270, ", flat at 270°", ", flat at 270°"),
    ("double_d_hole", 200, ", flats at 20°", ", flats at 160°"),
    ("keyed_hole", 0, ", key at 0°", ", key at 180°"),
]


def laid_out(job_of, features: str, side: str = "outside", units: str = "mm") -> Panel:
    return lay_out(job_of(HEAD.replace("SIDE", side).replace("UNITS", units) + features)).panels[0]


@pytest.mark.parametrize(("kind", "angle", "outside", "turned_over"), WORDS)
def test_the_way_an_opening_lies_is_told(job_of, kind, angle, outside, turned_over) -> None:
    """Where it is turned, and always where a flat or key has a side; turned over, 60 degrees are 120."""
    (opening,) = laid_out(job_of, f'[[panel.{kind}]]\nat = ["80 mm", "60 mm"]\nangle = {angle}\n{KINDS[kind]}').openings
    assert (turn_words(opening), turn_words(opening, mirrored=True)) == (outside, turned_over)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_schedule_and_hole_table_tell_it(job_of, units) -> None:
    """The schedule says it as seen from outside, the drawing as it lies; both list the corners of a polygon."""
    key = f'[[panel.keyed_hole]]\nat = ["80 mm", "60 mm"]\nangle = 30\n{KINDS["keyed_hole"]}\n'
    polygon = '[[panel.polygon]]\nat = ["20 mm", "20 mm"]\npoints = [[0, 0], ["20 mm", 0], [0, "15 mm"]]\nangle = 90\n'
    job = job_of(HEAD.replace("SIDE", "inside").replace("UNITS", units) + key + polygon)
    layout = lay_out(job)
    keyed, cornered = csv.DictReader(io.StringIO(schedule.write(layout, [])))
    assert keyed["final size"].endswith(", key at 30°")
    assert cornered["corners"] == "20.000 20.000; 20.000 40.000; 5.000 20.000"
    assert (units == "in") == (cornered.get("corners in") == "0.7874 0.7874; 0.7874 1.5748; 0.1969 0.7874")
    inked = [mark.points for pen in draw_panel(layout.panels[0], "plate", units).pens if pen.name == "lettering"
             for mark in pen.marks]  # fmt: skip
    # x runs the other way: 200 - 5
    for text in (", key at 150°", "corner 3", "195.00" if units == "mm" else "7.677"):
        strokes = [_from_first(line.points) for line in letter(text, (0, 0), 2.5)]
        own = [_from_first(points) for points in inked]
        assert any(own[k : k + len(strokes)] == strokes for k in range(len(own))), text


def _from_first(points):
    origin = points[0]
    return [(round(x - origin[0], 6) + 0.0, round(y - origin[1], 6) + 0.0) for x, y in points]
