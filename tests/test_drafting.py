"""The full-size drawing of a panel, from shape to SVG."""

import io
import itertools
import math
from dataclasses import replace

import pytest
import svgelements

from postprocessors.plotter import Plotter
from toolpaths.drafting import PENS, draw_panel, unlettered
from toolpaths.drawing import LETTERING, NARROW, WIDE, Chain, Polyline
from toolpaths.geometry.shapes import circle, rounded_rectangle
from toolpaths.labelling import HEIGHT
from toolpaths.layout.panel import Clamp, Layout, Opening, Panel
from toolpaths.lettering import letter, width

MM = 96 / 25.4


def hole(number, x, y, diameter, label="", finish="machine") -> Opening:
    shape = circle((x, y), diameter)
    cut = circle((x, y), 3.0) if finish == "pilot" else shape
    return Opening(f"A{number}", f"hole[{number}]", label, (x, y), shape, diameter, f"{diameter:g}", finish, cut,
                   diameter, ((x, y),), 1.6, 0.0, None, True)


HOLES = (hole(1, 30, 130, 9.5, "earth"), hole(2, 60, 40, 12.7, "output"), hole(3, 80, 40, 12.7), hole(4, 15, 15, 3.2),
         hole(5, 100, 90, 22, "V1", "pilot"))
CUTOUT = Opening("B1", "cutout[1]", "transformer", (190, 90), rounded_rectangle((190, 90), 72, 58, 5), None,
                 "72 × 58 R5", "machine", None, None, ((190, 90),), 1.6, 0.0, None, False)
PANEL = Panel("rear", "mild steel", 1.2, "1.2 mm", rounded_rectangle((130, 80), 260, 160, 3), (0, 0, 260, 160), (0, 0),
              False, False, (Clamp(1, (0, 60, 20, 80), 20),), (*HOLES, CUTOUT), (120, 60))
MIRRORED = replace(PANEL, mirrored=True, zero=(260, 0), stock=(-15, -15, 275, 175))


def marks(drawing, pen):
    return next((found.marks for found in drawing.pens if found.name == pen), ())


def text_at(drawing, text, height) -> bool:
    """Whether the lettering holds the strokes of ``text`` side by side, wherever they stand."""
    wanted = [_shifted(line.points, line.points[0]) for line in letter(text, (0, 0), height)]
    inked = [_shifted(mark.points, mark.points[0]) for mark in marks(drawing, "lettering")]
    return any(inked[first : first + len(wanted)] == wanted for first in range(len(inked)))


def _shifted(points, origin):
    return [(round(x - origin[0], 6) + 0.0, round(y - origin[1], 6) + 0.0) for x, y in points]


@pytest.mark.parametrize("panel", [PANEL, MIRRORED])
def test_openings_are_drawn_at_true_size_and_place(panel):
    """A general library finds every round hole of the SVG at 1:1, at its program place, mirrored or not."""
    drawing = draw_panel(panel, "Fernhill", "mm")
    svg = svgelements.SVG.parse(io.StringIO(Plotter().write(drawing)))
    left, _, _, top = drawing.bounds
    groups = {group.id: group for group in svg.select(lambda element: isinstance(element, svgelements.Group))}
    found = [(c.cx / MM + left, top - c.cy / MM, c.rx * 2 / MM) for name in ("openings", "by-hand")
             for c in groups[name].select() if isinstance(c, svgelements.Circle)]
    expected = [(260 - x if panel.mirrored else x, y, d)
                for (x, y), d in ((opening.centre, opening.diameter) for opening in HOLES)]
    assert len(found) == len(expected)
    for one, other in zip(found, expected, strict=True):
        assert one == pytest.approx(other, abs=2e-4)


def test_check_bars_are_exact():
    """The bars measure exactly 100 mm and 101.6 mm in the SVG, 100 mm in both directions, and lie beside the panel."""
    drawing = draw_panel(PANEL, "Fernhill", "mm")
    svg = svgelements.SVG.parse(io.StringIO(Plotter().write(drawing)))
    (group,) = svg.select(lambda element: isinstance(element, svgelements.Group) and element.id == "check-bars")
    mm = svg.width / (drawing.bounds[2] - drawing.bounds[0])  # the library's own millimetre, good to one in a million
    assert mm == pytest.approx(MM, rel=2e-6)
    boxes = [[value / mm for value in path.bbox()] for path in group.select() if isinstance(path, svgelements.Path)]
    long = sorted((round(x1 - x0, 6), round(y1 - y0, 6)) for x0, y0, x1, y1 in boxes if max(x1 - x0, y1 - y0) > 50)
    assert long == [(0, 100), (100, 0), (101.6, 0)]
    for mark in marks(drawing, "check bars"):
        assert all(x < 0 or y < 0 for x, y in mark.points)


def test_everything_lies_on_the_paper():
    """Every mark keeps 10 mm from the edge of the paper, with a title of any length."""
    drawing = draw_panel(MIRRORED, "Practice amplifier " * 10, "in")
    x0, y0, x1, y1 = drawing.bounds
    for mark in itertools.chain(*(pen.marks for pen in drawing.pens)):
        points = mark.points if isinstance(mark, Polyline) else [
            corner for segment in mark.segments for corner in (segment.bounds[:2], segment.bounds[2:])]
        for x, y in points:
            assert x0 + 10 <= x <= x1 - 10 and y0 + 10 <= y <= y1 - 10
    assert x1 - x0 < 400


def test_every_opening_is_named():
    """Tag and size stand in the drawing, a round size with its sign, and the label stands in the table."""
    drawing = draw_panel(PANEL, "Fernhill", "mm")
    for text in ("A1 Ø9.5", "A5 Ø22", "B1 72 × 58 R5", "earth", "transformer", "190.00", "100 mm", "4 in", "X0 Y0"):
        assert text_at(drawing, text, 2.5), text
    assert text_at(drawing, "Fernhill", 5.0)
    assert not text_at(drawing, "A9", 2.5)


@pytest.mark.parametrize(("panel", "side"), [(PANEL, "outside"), (MIRRORED, "inside")])
def test_the_side_is_said(panel, side):
    """The sheet says from which side the panel is seen."""
    assert text_at(draw_panel(panel, "Fernhill", "mm"), f"seen from the {side}", 3.5)


def test_table_of_an_inch_job():
    """An inch job has its table in inches, from X0 Y0 as drawn."""
    drawing = draw_panel(MIRRORED, "Fernhill", "in")
    assert text_at(drawing, "x in", 2.5)
    assert text_at(drawing, "9.055", 2.5)  # (260 - 30) / 25.4


def test_labels_keep_clear():
    """Where there is room no label runs over an opening, a centre line, the edge or another label."""
    grid = tuple(hole(n + 1, 20 + 22 * (n % 10), 20 + 16 * (n // 10), 5) for n in range(60))
    panel = replace(PANEL, openings=grid, clamps=())
    labels = []
    lettering = marks(draw_panel(panel, "t", "mm"), "lettering")
    glyphs = iter(mark.points for mark in lettering)
    for text in ("X0 Y0", *(f"A{n + 1} Ø5" for n in range(60))):
        strokes = [next(glyphs) for _ in letter(text, (0, 0), 2.5)]
        xs, ys = zip(*itertools.chain(*strokes), strict=True)
        labels.append((min(xs), min(ys), max(xs), max(ys)))
        assert max(xs) - min(xs) == pytest.approx(width(text, 2.5), abs=0.01)
    for one, other in itertools.combinations(labels, 2):
        assert one[2] < other[0] or other[2] < one[0] or one[3] < other[1] or other[3] < one[1]
    for x0, y0, x1, y1 in labels:
        assert x0 > 0 and y0 > 0 and x1 < 260 and y1 < 160
        for opening in grid:
            cx, cy = opening.centre
            nearest = min(max(cx, x0), x1), min(max(cy, y0), y1)
            assert math.dist(nearest, opening.centre) > 2.5 + 0.5
            for a, b in (((cx - 4.5, cy), (cx + 4.5, cy)), ((cx, cy - 4.5), (cx, cy + 4.5))):
                assert not (a[0] < x1 and x0 < b[0] + 1e-9 and a[1] < y1 and y0 < b[1] + 1e-9)


def grid(first, columns, rows, pitch, label=""):
    """Equal holes of one grid, row by row."""
    return tuple(
        replace(hole(1 + column + columns * row, first[0] + pitch * column, first[1] + pitch * row, 4, label),
                feature="grid[1]", kind="grid")
        for row in range(rows) for column in range(columns))


def test_a_grid_is_labelled_once():
    """Equal holes of a grid get one label and one line of the table, with their count and the first one's place."""
    drawing = draw_panel(replace(PANEL, openings=grid((60, 40), 6, 4, 9, "air"), clamps=()), "t", "mm")
    for text in ("A1 to A24: 24 x Ø4", "A1 to A24", "60.00", "air; x, y of A1"):
        assert text_at(drawing, text, 2.5), text
    assert not text_at(drawing, "A9", 2.5)
    few = draw_panel(replace(PANEL, openings=grid((60, 40), 3, 1, 9), clamps=()), "t", "mm")
    assert text_at(few, "A2 Ø4", 2.5)


def test_a_perforated_sheet_stays_a_small_file():
    """A grid of 4,900 holes takes less than 3 MB, and no hole of it is left out."""
    openings = grid((10, 10), 70, 70, 5)
    outline = rounded_rectangle((185, 185), 370, 370, 0)
    sheet = replace(PANEL, openings=openings, clamps=(), outline=outline, stock=(0, 0, 370, 370))
    drawing = draw_panel(sheet, "t", "mm")
    assert len(marks(drawing, "openings")) == 4900
    assert len(Plotter().write(drawing)) < 3e6


def test_what_is_left_to_the_hand_is_dashed_and_said():
    """A pilot and a mark are drawn dashed, with the word beside their size, and never among what the machine opens."""
    marked = hole(2, 60, 40, 12.7, finish="mark")
    panel = replace(PANEL, openings=(hole(1, 30, 60, 9.5, finish="pilot"), marked, hole(3, 90, 40, 5)), clamps=())
    drawing = draw_panel(panel, "t", "mm")
    assert (len(marks(drawing, "by hand")), len(marks(drawing, "openings"))) == (2, 1)
    (pen,) = [pen for pen in drawing.pens if pen.name == "by hand"]
    assert pen.dash
    for text in ("A1 Ø9.5 pilot", "A2 Ø12.7 mark", "Dashed openings are left to the hand."):
        assert text_at(drawing, text, 2.5), text


def test_the_size_of_the_job_stands_in_the_title():
    """Templates of several cabinets are told apart by their heading."""
    assert text_at(draw_panel(PANEL, "Fernhill", "mm", "large"), "Fernhill, size large", 5.0)


def test_tabs_are_drawn():
    """Each holding tab shows as its two sides across the kerf."""
    drawing = draw_panel(PANEL, "t", "mm", tabs=[((10, 10), (10, 13), (16, 10), (16, 13))])
    assert marks(drawing, "tabs") == (Polyline(((10, 10), (10, 13))), Polyline(((16, 10), (16, 13))))


def test_letters_that_the_plotter_lacks_are_told():
    """A label that is drawn otherwise than it stands is a note with what is drawn; accents are drawn as they are."""
    openings = (hole(1, 30, 60, 9.5, "Lautstärke ß"), hole(2, 60, 40, 5, "œuvre"), hole(3, 90, 40, 5, "音量"))
    notes = unlettered(Layout("job", "Größe", None, "mm", (replace(PANEL, openings=openings),)))
    assert [(note.feature, note.code, note.severity) for note in notes] == [
        ("hole[2]", "lettering", "note"), ("hole[3]", "lettering", "note")]
    assert "'oeuvre'" in notes[0].message and "crossed boxes" in notes[1].message


def test_line_types_and_widths():
    """Outline and openings are wide unbroken lines, centre lines narrow chain, clamps narrow dashed lines."""
    pens = {pen.name: pen for pen in draw_panel(MIRRORED, "Fernhill", "mm").pens}
    assert [(pens[name].width, len(pens[name].dash)) for name in (
        "outline", "openings", "centre marks", "clamps", "lettering", "stock")] == [
        (0.35, 0), (0.35, 0), (0.18, 4), (0.18, 2), (0.25, 0), (0.18, 6)]
    assert len(pens["clamps"].marks) == 1
    assert [mark for mark in pens["openings"].marks if not isinstance(mark, Chain)] == []
    assert len(pens["pilot holes"].marks) == 1


def test_widths_are_steps_of_the_standard():
    """Widths are steps of ISO 128-20 (0.13 to 2 mm, each root 2 of the last; from memory); wide is twice narrow, and
    lettering of 2.5 mm a tenth of its height (ISO 3098 type B; from memory)."""
    steps = (0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0)
    assert all(b / a == pytest.approx(math.sqrt(2), rel=0.04) for a, b in itertools.pairwise(steps))
    assert {WIDE, NARROW, LETTERING} <= {width for _, width, _ in PENS} <= set(steps)
    assert steps.index(WIDE) - steps.index(NARROW) == 2
    assert pytest.approx(HEIGHT / 10) == LETTERING
    for _, line, dash in PENS:
        assert {round(part / line, 6) for part in dash} <= {24.0, 12.0, 3.0, 0.5}


def test_a_panel_without_openings_is_still_a_sheet():
    """A bare panel has its outline, bars and heading, and nothing for stock that is the panel itself."""
    names = [pen.name for pen in draw_panel(replace(PANEL, openings=(), clamps=()), "", "mm").pens]
    assert names == ["datum", "check bars", "lettering", "outline"]


def test_the_sheet_is_the_same_every_time():
    """The same panel gives the same bytes."""
    first, second = (Plotter().write(draw_panel(PANEL, "Fernhill", "mm")) for _ in range(2))
    assert first == second
