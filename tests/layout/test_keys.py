"""Keys that are milled and keys that are left for the file; polygons as openings."""

from __future__ import annotations

import math

import pytest

from toolpaths import pipeline
from toolpaths.errors import BadInput
from toolpaths.layout.build import lay_out
from toolpaths.units import plain

PLATE = """
format = 1
units = "mm"
machine = "{machine}"
[[panel]]
name = "plate"
material = "{material}"
thickness = {thickness}
width = 160
height = 120
{feature}
"""

KEYED = "[[panel.keyed_hole]]\nat = [80, 60]\ndiameter = 12\nkey_width = {}\nkey_depth = 1.5\nangle = 30\n"
POLYGON = "[[panel.polygon]]\nat = [80, 60]\npoints = {}\n"


@pytest.fixture
def plate(job_of):
    """A job with one feature on a plate."""

    def read(feature, machine="small router", material="aluminium", thickness=2):
        return job_of(PLATE.format(feature=feature, machine=machine, material=material, thickness=thickness))

    return read


@pytest.mark.parametrize(
    ("width", "material", "thickness", "milled"),
    [
        (3.2, "aluminium", 2, True),
        (1.5, "aluminium", 2, True),    # an end mill of 1 mm goes in
        (1.0, "aluminium", 2, False),   # none is thinner
        (1.5, "aluminium", 3, False),   # the flutes of that one are 3 mm long: too short
        (1.6, "aluminium", 3, True),    # 1.5 mm, flutes of 5
        (2.9, "plywood", 6, False),     # the thinnest for board has 3 mm
        (3.1, "plywood", 6, True),
    ],
)  # fmt: skip
def test_a_key_is_milled_where_a_cutter_may(plate, width, material, thickness, milled) -> None:
    """A key narrower than the smallest cutter that may do it is left for the file and said so."""
    job = plate(KEYED.format(width), material=material, thickness=thickness)
    made = pipeline.make(job)
    assert made.files, made.findings
    (opening,) = made.layout.panels[0].openings
    assert len(opening.shape.segments) == 4
    assert (opening.cut_diameter, bool(opening.filed)) == ((None, False) if milled else (12, True))
    notes = [finding.message for finding in made.findings if finding.code == "file-key"]
    schedule = next(file.content.decode() for file in made.files if file.path == "drill_schedule.csv")
    what = f"the key, {width:g} mm wide and 1.5 mm deep"
    assert len(notes) == (0 if milled else 1)
    assert all(what in note for note in notes)
    assert (f"by hand: file {what}" in schedule) != milled


def test_a_blind_key_is_milled_or_refused(plate) -> None:
    """No file reaches into a blind key: where no cutter does either, that is an error."""
    made = pipeline.make(plate(KEYED.format(3.2) + "depth = 1"), posts=["gcode"])
    assert made.files, made.findings
    made = pipeline.make(plate(KEYED.format(0.8) + "depth = 1"), posts=["gcode"])
    assert "no-cutter" in {finding.code for finding in made.findings}
    assert not made.files


def test_marks_and_pilots_of_a_keyed_hole(plate) -> None:
    """Marked or piloted at its centre; what follows by hand is the round hole and the key."""
    for finish in ("mark", "pilot"):
        made = pipeline.make(plate(KEYED.format(3) + f'finish = "{finish}"'))
        assert made.files, made.findings
        (opening,) = made.layout.panels[0].openings
        assert opening.centre == (80, 60) and not opening.filed
        schedule = next(file.content.decode() for file in made.files if file.path == "drill_schedule.csv")
        assert "by hand: the round hole, then file the key" in schedule


def test_a_polygon_is_turned_about_its_at(plate) -> None:
    """Its sides are where plane geometry puts them; size and centre are those of the box round it as it is cut."""
    job = plate(POLYGON.format("[[0, 0], [20, 0], [20, 10], [0, 10]]") + "angle = 90")
    (opening,) = lay_out(job).panels[0].openings
    assert opening.shape.bounds == pytest.approx((70, 60, 80, 80))
    assert opening.centre == pytest.approx((75, 70))
    assert opening.size_text == "polygon 10 x 20"
    assert [coordinate for corner in opening.corners for coordinate in corner] == pytest.approx(
        [80, 60, 80, 80, 70, 80, 70, 60]
    )
    assert opening.corner_limit == 1.6


def test_a_rounded_polygon_has_the_size_of_its_rounded_box(plate) -> None:
    """Its acute corners lose their tips: size and centre are both of what is left, the corners of the sharp shape."""
    job = plate(POLYGON.format("[[0, 0], [30, 0], [0, 40]]") + "corner_radius = 3")
    (opening,) = lay_out(job).panels[0].openings
    x0, y0, x1, y1 = opening.shape.bounds
    # by plane geometry: in a corner of angle a the arc's centre is r / tan(a/2) from the tip along a side
    assert (x0, y0) == pytest.approx((80, 60))
    assert x1 - 80 == pytest.approx(30 - 3 / math.tan(math.atan2(40, 30) / 2) + 3)
    assert y1 - 60 == pytest.approx(40 - 3 / math.tan(math.atan2(30, 40) / 2) + 3)
    assert opening.centre == pytest.approx(((x0 + x1) / 2, (y0 + y1) / 2))
    assert opening.size_text == f"polygon {plain(x1 - x0)} x {plain(y1 - y0)} R3"
    assert opening.corners == ((80, 60), (110, 60), (80, 100))


def test_marks_of_a_polygon(plate) -> None:
    """Marked are the corners, or the centres of their arcs where they are rounded."""
    text = POLYGON.format("[[0, 0], [20, 0], [20, 10], [0, 10]]") + 'finish = "mark"\n'
    for more, inset in (("", 0), ("corner_radius = 2", 2)):
        (opening,) = lay_out(plate(text + more)).panels[0].openings
        assert opening.cut is None
        assert sorted(opening.marks) == [
            (80 + inset, 60 + inset), (80 + inset, 70 - inset), (100 - inset, 60 + inset), (100 - inset, 70 - inset),
        ]  # fmt: skip


WRONG = [
    (KEYED.format(12), "key_width: is 12 mm; the notch is narrower than the hole: less than the diameter, 12 mm"),
    (POLYGON.format("[[0, 0], [9, 9]]"), "points: a polygon of 2 points; it takes three or more"),
    (POLYGON.format("[[0, 0], [9, 9], [9, 0], 7]"), "points[4]: is 7 and no pair; write [x, y]"),
    (POLYGON.format("3"), "points: is 3 and no list; write [[x, y], [x, y], [x, y]]"),
    (POLYGON.format('[[0, 0], [9, "wide"], [9, 0]]'), "points[2][2]: unknown name 'wide'"),
    (POLYGON.format("[[0, 0], [9, 9], [9, 0], [0, 8]]"),
     "points: the side from point 1 to point 2 meets the side from point 3 to point 4"),
    (POLYGON.format("[[0, 0], [9, 9], [9, 0]]") + "corner_radius = 9\n",
     "points: a corner radius of 9 mm is too large at points 1 and 2"),
    (POLYGON.format("[[0, 0], [9, 9], [9, 0]]") + 'finish = "pilot"\n', "finish 'pilot' does not suit a polygon"),
    ("[[panel.polygon]]\nat = [1, 1]\n", "points: is missing; add it"),
]  # fmt: skip


@pytest.mark.parametrize(("feature", "said"), WRONG, ids=range(len(WRONG)))
def test_keys_and_polygons_that_cannot_be(plate, feature, said) -> None:
    """What is wrong is told with its place, and nothing else is."""
    with pytest.raises(BadInput) as caught:
        plate(feature)
    (line,) = str(caught.value).splitlines()
    assert said in line
