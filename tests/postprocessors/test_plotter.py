"""The SVG for plotters, read back by a general library (svgelements) and by the bare XML."""

import io
import itertools
import math
import xml.etree.ElementTree as ET

import pytest
import svgelements

from postprocessors.plotter import Plotter
from toolpaths.drawing import Chain, Drawing, Pen, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.shapes import circle, d_hole
from toolpaths.sheets import MARGIN, paper_called
from toolpaths.tiles import sheets_of, tiling_of

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


def test_sheets_measure_what_they_say(plotted):
    """Drawn by a browser at 600 dpi, bars, holes and the crosses of two neighbours are true within 0.1 mm."""
    holes = ((20, 30, 10), (140, 90, 16), (300, 180, 60), (165, 200, 12))
    rounds = tuple(Chain(circle((x, y), d).segments, True) for x, y, d in holes)
    edge = Polyline(((0, 0), (340, 0), (340, 230), (0, 230), (0, 0)))
    pens = Pen("openings", 0.35, (), rounds), Pen("outline", 0.35, (), (edge,))
    whole = Drawing("Fernhill", "rear", (-2, -2, 342, 232), pens, ("seen from outside",))
    paper = paper_called("A4", "mm")
    tiling = tiling_of(whole, paper)
    (sheets,) = sheets_of([whole], paper)
    assert (tiling.columns, tiling.rows) == (2, 1)
    found, crosses = {}, []
    for sheet, tile in zip(sheets, tiling.tiles, strict=True):
        ink = plotted(Plotter().write(sheet))
        x0, y0, *_ = tiling.window
        low, left = MARGIN + 8, MARGIN + 5
        ends = [ink.upright(x - 2, low + 0.5, x + 2, low + 1.8) for x in (x0, x0 + 100)]
        assert ends[1] - ends[0] == pytest.approx(100, abs=0.1)
        ends = [ink.level(left + 0.5, y - 2, left + 1.8, y + 2) for y in (y0, y0 + 101.6)]
        assert ends[1] - ends[0] == pytest.approx(101.6, abs=0.1)
        near = [tiling.to_sheet(tile, point) for point in tiling.crosses(tile)]
        crosses.append([(ink.upright(x - 2, y + 1, x + 2, y + 3.8), ink.level(x + 1, y - 2, x + 3.8, y + 2))
                        for x, y in near])  # fmt: skip
        for x, y, d in holes:
            if tile.area[0] + d / 2 < x < tile.area[2] - d / 2:
                centre, radius = ink.circle(tiling.to_sheet(tile, (x, y)), d / 2)
                assert 2 * radius == pytest.approx(d, abs=0.1)
                found.setdefault((x, y), (tile.column, centre))
    shifts = [(a[0] - b[0], a[1] - b[1]) for a, b in zip(*crosses, strict=True)]
    assert len(shifts) == 2 and math.dist(*shifts) < 0.1
    assert len(found) == len(holes) and len({column for column, _ in found.values()}) == 2
    joined = {place: (c[0] + column * shifts[0][0], c[1] + column * shifts[0][1])
              for place, (column, c) in found.items()}  # fmt: skip
    for place, other in itertools.combinations(joined, 2):
        assert math.dist(joined[place], joined[other]) == pytest.approx(math.dist(place, other), abs=0.1)
