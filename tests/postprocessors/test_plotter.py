"""The SVG for plotters, read back by a general library (svgelements) and by the bare XML."""

import io
import math
import xml.etree.ElementTree as ET

import pytest
import svgelements

from postprocessors.plotter import Plotter
from toolpaths.drawing import Chain, Drawing, Pen, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.shapes import circle, d_hole

SPACE = "{http://www.w3.org/2000/svg}"
MM = 96 / 25.4
"""svgelements gives lengths at 96 to the inch, as CSS fixes it."""


def drawing(*marks, bounds=(-10.0, -5.0, 110.0, 75.0), title="Fernhill", dash=()) -> Drawing:
    return Drawing(title, "rear", bounds, (Pen("openings", 0.35, dash, marks),))


def only(text: str) -> ET.Element:
    """The one element of the one group."""
    (group,) = ET.fromstring(text).findall(f"{SPACE}g")
    return group[0]


ROWS = [
    (Polyline(((0, 0), (10.5, 20))), "path", {"d": "M10,75 L20.5,55"}),
    (Polyline(((0, 0),)), "path", {"d": "M10,75 L10,75"}),
    (Chain(circle((30.00004, 40), 12.7).segments, True), "circle", {"cx": "40", "cy": "35", "r": "6.35"}),
    (Chain((Line((0, 0), (5, 0)), Arc((5, 0), (0, 5), (0, 0), True), Line((0, 5), (0, 0))), True), "path",
     {"d": "M10,75 L15,75 A5,5 0 0 0 10,70 L10,75 Z"}),
    (Chain((Arc((5, 0), (0, -5), (0, 0), True),), False), "path", {"d": "M15,75 A5,5 0 1 0 10,80"}),
    (Chain((Arc((5, 0), (0, -5), (0, 0), False),), False), "path", {"d": "M15,75 A5,5 0 0 1 10,80"}),
    (Chain((Line((0, 0), (5, 0)), Arc((5, 0), (5, 0), (3, 0), True)), False), "path",
     {"d": "M10,75 L15,75 A2,2 0 0 0 11,75 A2,2 0 0 0 15,75"}),
]


@pytest.mark.parametrize(("mark", "tag", "attributes"), ROWS)
def test_each_mark_has_its_element(mark, tag, attributes):
    """Each kind of mark is one exact element: lines as lines, arcs as A commands, circles as circles; Y flipped."""
    element = only(Plotter().write(drawing(mark, bounds=(-10, -5, 110, 75))))
    assert element.tag == SPACE + tag
    assert element.attrib == attributes


def test_size_and_view_box_agree():
    """One user unit is one millimetre: width and height in mm are the numbers of the viewBox."""
    root = ET.fromstring(Plotter().write(drawing(bounds=(-10, -5, 287, 205.5))))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("297mm", "210.5mm", "0 0 297 210.5")


def test_a_general_library_sees_true_size():
    """svgelements reads circle and D hole back at their place and size in mm, from the lower left of the sheet."""
    hole = d_hole((50, 30), 12.7, 11.7, math.pi / 2)
    text = Plotter().write(drawing(Chain(circle((20, 40), 9.5).segments, True), Chain(hole.segments, True)))
    svg = svgelements.SVG.parse(io.StringIO(text))
    assert (svg.width / MM, svg.height / MM) == pytest.approx((120, 80))
    (round_one,) = svg.select(lambda element: isinstance(element, svgelements.Circle))
    found = round_one.cx / MM - 10, 75 - round_one.cy / MM, round_one.rx / MM
    assert found == pytest.approx((20, 40, 4.75), abs=1e-4)
    (flat_one,) = svg.select(lambda element: isinstance(element, svgelements.Path))
    x0, y0, x1, y1 = (value / MM for value in flat_one.bbox())
    assert (x0 - 10, 75 - y1, x1 - 10, 75 - y0) == pytest.approx((43.65, 23.65, 56.35, 35.35), abs=1e-3)


def test_strokes_only():
    """Pens are groups with width and dash; nothing is filled, and no text, font, script or style is in the file."""
    text = Plotter().write(drawing(Polyline(((0, 0), (1, 1))), dash=(4.32, 0.54)))
    root = ET.fromstring(text)
    (group,) = root.findall(f"{SPACE}g")
    assert (group.get("id"), group.get("stroke-width"), group.get("stroke-dasharray"), group.get("fill")) == (
        "openings", "0.35", "4.32 0.54", "none")
    assert {element.tag.removeprefix(SPACE) for element in root.iter()} <= {"svg", "title", "defs", "g", "path"}


def test_pens_of_like_names_keep_ids_of_their_own():
    """Every group has its own id, a plain word whatever the pen is called."""
    mark = Polyline(((0, 0), (1, 1)))
    pens = tuple(Pen(name, 0.25, (), (mark,)) for name in ("Check bars", "check  bars", "Ø", "4 in"))
    root = ET.fromstring(Plotter().write(Drawing("t", "p", (0, 0, 10, 10), pens)))
    assert [group.get("id") for group in root.findall(f"{SPACE}g")] == ["check-bars", "check-bars-2", "pen", "pen-4-in"]


def test_titles_are_only_text():
    """A title with markup or control characters is a title and nothing else."""
    hostile = "</title><script>x()</script>&\x00\x1b\ud800"
    root = ET.fromstring(Plotter().write(drawing(title=hostile)).encode())
    assert root.findtext(f"{SPACE}title") == "</title><script>x()</script>&   : rear"
    assert root.find(f".//{SPACE}script") is None


def test_no_number_that_is_none():
    """A coordinate that is not finite is refused."""
    with pytest.raises(PostError, match="nan"):
        Plotter().write(drawing(Polyline(((0, 0), (math.nan, 1)))))
