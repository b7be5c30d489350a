"""A drawing over sheets for a pen: what each sheet bears, and how a panel comes together from them."""

from __future__ import annotations

import io
import math
from collections import defaultdict
from dataclasses import replace
from itertools import combinations

import pytest
import shapely
import svgelements

from postprocessors.plotter import Plotter
from tests.test_drafting import text_at
from toolpaths import pipeline
from toolpaths.drafting import draw_alone
from toolpaths.drawing import Drawing, Pen, Polyline
from toolpaths.framing import Numbered, framed
from toolpaths.job.load import read_job
from toolpaths.layout.build import lay_out
from toolpaths.sheets import LEAST_SIDE, PAPERS, Paper, fits, holds_bars, paper_called, pen_sheet
from toolpaths.tiles import sheets_of, tiling_of

LONG = """
format = 1
title = "Long panel"
units = "mm"
[[panel]]
name = "long"
material = "aluminium"
thickness = 2
width = 900
height = 300
corner_radius = 8
clamps = [{ x = 440, y = 290, width = 25, length = 16 }]
"""
HOLES = [(20, 280, 9.5), (170, 150, 12.0), (345, 20, 6.0), (450, 150, 10.0), (700, 160, 16.0), (880, 275, 8.0)]
LONG += "".join(f"[[panel.hole]]\nat = [{x}, {y}]\ndiameter = {d}\n" for x, y, d in HOLES)
LONG += "[[panel.cutout]]\nat = [570, 150]\nwidth = 180\nheight = 130\ncorner_radius = 20\n"


def strokes(text: str, left: float, top: float) -> dict[str, list[object]]:
    """Each pen's strokes in mm where they lie, as svgelements reads them: (start, end, centre or None, sweep)."""
    svg = svgelements.SVG.parse(io.StringIO(text))
    mm = 96 / 25.4
    found: dict[str, list[object]] = defaultdict(list)
    for group in svg.select(lambda element: isinstance(element, svgelements.Group) and element.id):
        for shape in group.select(lambda element: isinstance(element, svgelements.Shape)):
            for piece in svgelements.Path(shape):
                if isinstance(piece, svgelements.Move) or (piece.start == piece.end and not _is_arc(piece)):
                    continue
                start, end = ((p.x / mm + left, top - p.y / mm) for p in (piece.start, piece.end))
                if _is_arc(piece):
                    centre = piece.center.x / mm + left, top - piece.center.y / mm
                    found[group.id].append((start, end, centre, -piece.sweep))
                else:
                    found[group.id].append((start, end, None, 0.0))
    return found


def _is_arc(piece: object) -> bool:
    return isinstance(piece, svgelements.Arc)


def length(found: list[object]) -> float:
    return sum(math.dist(one[0], one[1]) if one[2] is None else math.dist(one[0], one[2]) * abs(one[3])
               for one in found)  # fmt: skip


def faceted(found: list[object]) -> list[shapely.Geometry]:
    lines = []
    for start, end, centre, sweep in found:
        if centre is None:
            lines.append((start, end))
            continue
        begin, radius = math.atan2(start[1] - centre[1], start[0] - centre[0]), math.dist(start, centre)
        angles = [begin + sweep * step / 400 for step in range(401)]
        lines.append([(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles])
    return [shapely.LineString(line) for line in lines]


def within(lines: list[shapely.Geometry], area: shapely.Geometry) -> float:
    return float(shapely.length(shapely.intersection(lines, area)).sum())


def read(drawing):
    return strokes(Plotter().write(drawing), drawing.bounds[0], drawing.bounds[3])


@pytest.fixture(scope="module")
def long(tmp_path_factory):
    path = tmp_path_factory.mktemp("long") / "job.toml"
    path.write_text(LONG, encoding="utf-8")
    (panel,) = lay_out(read_job(path, machine="sheet router")).panels
    return draw_alone(panel, "Long panel", ("long: seen from the outside",))


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_each_pen_draws_on_each_sheet_what_its_window_shows(paper, long):
    """By a general library's reading each pen's strokes on a sheet are as long as those of the whole in its window.

    Together the windows hold the whole; pens stand in the order of the whole.
    """
    whole = read(long)
    (sheets,) = sheets_of([long], paper)
    tiling = tiling_of(long, paper)
    assert len(sheets) == len(tiling.tiles) > 1
    lines = {pen: faceted(found) for pen, found in whole.items()}
    names = [pen.name.replace(" ", "-") for pen in long.pens]
    for sheet, tile in zip(sheets, tiling.tiles, strict=True):
        on_sheet = read(sheet)
        for pen, line in lines.items():
            wanted = within(line, shapely.box(*tile.area))
            assert length(on_sheet.get(pen, [])) == pytest.approx(wanted, rel=1e-4, abs=0.05), pen
        drawn = [pen.name.replace(" ", "-") for pen in sheet.pens if not pen.name.startswith("sheet ")]
        assert drawn == [name for name in names if name in drawn]
        assert [pen.width for pen in sheet.pens] == sorted(pen.width for pen in sheet.pens)
    windows = shapely.unary_union([shapely.box(*tile.area) for tile in tiling.tiles])
    for pen, line in lines.items():
        assert within(line, windows) == pytest.approx(length(whole[pen]), rel=1e-4), pen


def test_a_long_panel_comes_together_from_its_sheets(long):
    """900 x 300 mm over A4: laid cross on cross, as read, every hole is at its place within 0.001 mm."""
    paper = paper_called("A4", "mm")
    (sheets,) = sheets_of([long], paper)
    tiling = tiling_of(long, paper)
    read_alone, moved = {}, {(0, 0): (0.0, 0.0)}
    for sheet, tile in zip(sheets, tiling.tiles, strict=True):
        left, low, right, top = sheet.bounds
        assert sorted((right - left, top - low)) == pytest.approx([210, 297])
        here = tile.column, tile.row
        read_alone[here] = strokes(Plotter().write(sheet), 0.0, top - low)
        if here in moved:
            continue
        there = (tile.column - 1, tile.row) if tile.column else (tile.column, tile.row - 1)
        axis, far = (0, max) if tile.column else (1, min)
        others, ours = _crosses(read_alone[there]), _crosses(read_alone[here])
        seam = far(cross[axis] for cross in others)
        begin = (min if tile.column else max)(cross[axis] for cross in ours)
        pairs = zip(sorted(cross for cross in others if abs(cross[axis] - seam) < 1e-3),
                    sorted(cross for cross in ours if abs(cross[axis] - begin) < 1e-3), strict=True)  # fmt: skip
        (ax, ay), *more = [(there_x - x, there_y - y) for (there_x, there_y), (x, y) in pairs]
        assert all(shift == pytest.approx((ax, ay), abs=1e-3) for shift in more) and more
        moved[here] = moved[there][0] + ax, moved[there][1] + ay
    found = {(c[0] + moved[here][0], c[1] + moved[here][1], 2 * math.dist(start, c))
             for here, pens in read_alone.items() for start, _, c, _ in pens["openings"] if c}  # fmt: skip
    x0, y0 = (tiling.window[axis] - tiling.tiles[0].area[axis] for axis in (0, 1))
    for x, y, diameter in HOLES:
        assert any(one == pytest.approx((x + x0, y + y0, diameter), abs=1e-3) for one in found), (x, y)


def _crosses(pens):
    """The middles of the crosses: level strokes of 8 mm, over which an upright one stands."""
    level = {(round((a[0] + b[0]) / 2, 4), round((a[1] + b[1]) / 2, 4)) for a, b, *_ in pens["sheet-frame"]
             if abs(a[1] - b[1]) < 1e-6 and abs(math.dist(a, b) - 8) < 1e-3}  # fmt: skip
    upright = {(round((a[0] + b[0]) / 2, 4), round((a[1] + b[1]) / 2, 4)) for a, b, *_ in pens["sheet-frame"]
               if abs(a[0] - b[0]) < 1e-6 and abs(math.dist(a, b) - 8) < 1e-3}  # fmt: skip
    return level & upright


def test_every_sheet_has_what_makes_it_trusted(long):
    """Both bars at their length, the sentence to measure them by, number, side and way up are on every sheet."""
    (sheets,) = sheets_of([long], paper_called("Letter", "mm"))
    for number, sheet in enumerate(sheets, start=1):
        (frame,) = [pen for pen in sheet.pens if pen.name == "sheet frame"]
        ends = [mark.points for mark in frame.marks if len(mark.points) == 2]
        assert sum(abs(a[1] - b[1]) < 1e-9 and math.dist(a, b) == pytest.approx(100) for a, b in ends) == 1
        assert sum(abs(a[0] - b[0]) < 1e-9 and math.dist(a, b) == pytest.approx(101.6) for a, b in ends) == 1
        (lettered,) = [pen for pen in sheet.pens if pen.name == "sheet lettering"]
        words = tuple(mark for mark in lettered.marks if isinstance(mark, Polyline))
        shown = Drawing("", "", sheet.bounds, (Pen("lettering", 0.25, (), words),))
        for text in (f"sheet {number} of {len(sheets)}", "up", "100 mm", "measure both bars", "seen from the outside"):
            assert text_at(shown, text, 2.5), text
        x0, y0, x1, y1 = sheet.bounds
        for pen in sheet.pens:
            for mark in pen.marks:
                if isinstance(mark, Polyline):
                    assert all(x0 + 9.9 <= x <= x1 - 9.9 and y0 + 9.9 <= y <= y1 - 9.9 for x, y in mark.points)


@pytest.mark.parametrize("title", ["", "Fernhill", "a title of many words " * 9])
@pytest.mark.parametrize("paper", [*PAPERS, Paper("least", LEAST_SIDE, LEAST_SIDE, "a trial")], ids=lambda p: p.name)
def test_words_round_a_window_stand_clear(paper, title, long):
    """Whatever the paper and the title, no word of a frame stands on another, on a line of it or in the window.

    None is smaller than 2.5 mm, and none leaves the sheet's margin.
    """
    noted = replace(long, title=title, notes=("a note that is long enough for two lines of the heading " * 2,) * 3)
    for whole in (noted, replace(noted, bounds=(0.0, 0.0, 20.0, 20.0))):
        tiling = tiling_of(whole, paper)
        for tile in tiling.tiles:
            number = tiling.tiles.index(tile) + 1
            frame = framed(whole, tiling, tile, Numbered(number, len(tiling.tiles), 1, "sheet"))
            boxes = [_box(stroke for stroke in words.strokes()) for words in frame.words if words.text]
            assert min(words.height for words in frame.words) >= 2.5
            for box in boxes:
                assert shapely.box(10, 10, tiling.width - 10, tiling.height - 10).buffer(0.01).covers(box)
                assert not box.intersects(shapely.box(*tiling.window))
            for one, other in combinations(boxes, 2):
                assert not one.intersects(other)
            lines = [shapely.LineString(mark.points) for mark in frame.lines]
            assert not any(line.intersects(box) for line in lines for box in boxes)


def _box(strokes):
    return shapely.box(*shapely.MultiPoint([point for stroke in strokes for point in stroke.points]).bounds)


def test_what_a_pen_draws_on():
    """Paper that was named, no larger than the plotter's reach; its reach where none was; else nobody said."""
    a3 = paper_called("A3", "mm")
    assert pen_sheet(None, None) is None
    assert pen_sheet(a3, None) is a3 and pen_sheet(a3, (600, 420)) is a3 and pen_sheet(a3, (297, 420)) is a3
    reach = pen_sheet(None, (600, 420))
    assert reach is not None and (reach.width, reach.height) == (420, 600)
    less = pen_sheet(a3, (310, 215))
    assert less is not None and (less.width, less.height) == (215, 310)
    assert fits((-5, -5, 415, 290), a3) and not fits((0, 0, 421, 10), a3)
    assert all(map(holds_bars, PAPERS)) and not holds_bars(Paper("small", 148, 210, "a trial"))


@pytest.mark.parametrize(("machine", "paper", "expected"), [
    ("sheet router", "", ["long.svg"]),
    ("sheet router", "A3", [f"long.p{n}.svg" for n in range(1, 6)]),
    ("pen plotter", "", [f"long.p{n}.svg" for n in range(1, 4)]),
    ("pen plotter", "A3", [f"long.p{n}.svg" for n in range(1, 6)]),
])  # fmt: skip
def test_a_build_writes_sheets_where_the_drawing_does_not_fit(machine, paper, expected, job_of):
    """A cutting machine's job has one whole drawing until paper is named; a plotter's comes within its reach.

    The manifest says of each sheet its number, its size and where its lower left corner lies; no warning is left.
    """
    made = pipeline.make(job_of(LONG, machine=machine), posts=["plotter"], paper=paper)
    files = [file for file in made.files if file.facts["kind"] == "plot"]
    assert [file.path for file in files] == expected
    assert "beyond-travel" not in {finding.code for finding in made.findings}
    if len(files) == 1:
        assert "tile" not in files[0].facts
        return
    facts = [file.facts for file in files]
    assert [fact["tile"] for fact in facts] == list(range(1, len(files) + 1))
    assert {fact["tiles"] for fact in facts} == {len(files)}
    assert {fact["paper"] for fact in facts} == {paper or "600 x 420 mm"}
    for file in files:
        root = svgelements.SVG.parse(io.StringIO(file.content.decode()))
        mm = 96 / 25.4
        assert [root.width / mm, root.height / mm] == pytest.approx(file.facts["sheet_mm"], abs=1e-3)
    *of_panel, of_table = files
    assert "lower_left" not in of_table.facts
    holes = set()
    for file in of_panel:
        left, low = file.facts["lower_left"]
        found = strokes(file.content.decode(), left, low + file.facts["sheet_mm"][1])
        holes |= {(round(c[0], 2), round(c[1], 2)) for _, _, c, _ in found["openings"] if c}
    assert {(float(x), float(y)) for x, y, _ in HOLES} <= holes


def test_a_plotter_too_small_for_bars_is_told(job_of, tmp_path):
    """A pen that reaches no sheet with check bars on it leaves the drawing whole, with a warning."""
    small = 'format = 1\nname = "small plotter"\nunits = "mm"\ntravel = { x = 180, y = 120 }\n'
    (tmp_path / "small.toml").write_text(small)
    job = job_of(LONG.replace('units = "mm"', 'units = "mm"\nmachine = "small.toml"'))
    made = pipeline.make(job, posts=["plotter"])
    assert [file.path for file in made.files if file.facts["kind"] == "plot"] == ["long.svg"]
    assert [finding.code for finding in made.findings if finding.severity == "warning"] == ["beyond-travel"]
