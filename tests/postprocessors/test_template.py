"""Printed pages, drawn by a tool that is not ours and measured: bars, holes, crosses, and tiles laid on each other."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from postprocessors.template import Template, arc_curves, curve_error
from toolpaths import pipeline
from toolpaths.drawing import Chain, Drawing, Pen, Polyline
from toolpaths.errors import PostError
from toolpaths.geometry.segment import Arc
from toolpaths.geometry.shapes import circle
from toolpaths.layout.build import lay_out
from toolpaths.sheets import MARGIN, PAPERS, paper_called, tiled
from toolpaths.template import Common, draw_template
from toolpaths.tiles import tiling_of
from toolpaths.tolerance import CURVE

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
"""
HOLES = [(20, 280, 9.5), (170, 150, 12.0), (345, 20, 6.0), (450, 280, 10.0), (700, 160, 16.0), (880, 275, 8.0)]
LONG += "".join(f"[[panel.hole]]\nat = [{x}, {y}]\ndiameter = {d}\n" for x, y, d in HOLES)


def turn(radius: float, begin: float, sweep: float, ccw: bool = True) -> Arc:
    """An arc about (30, -20) from its angles."""
    sign = 1 if ccw else -1
    ends = [(30 + radius * math.cos(a), -20 + radius * math.sin(a)) for a in (begin, begin + sign * sweep)]
    return Arc(ends[0], ends[0] if sweep >= 2 * math.pi else ends[1], (30.0, -20.0), ccw)


@pytest.mark.parametrize("radius", [0.5, 6.35, 150.0, 4000.0])
@pytest.mark.parametrize(("sweep", "ccw"), [(0.01, True), (math.pi / 2, False), (4.5, True), (2 * math.pi, False)])
def test_curves_keep_to_their_arc(radius, sweep, ccw):
    """No point of an arc's curves is a micrometre off it; they run its way, and meet; fewer curves would be off."""
    arc = turn(radius, 0.7, sweep, ccw)
    curves = arc_curves(arc)
    assert (curves[0][0], curves[-1][3]) == (arc.start, arc.end)
    assert all(one[3] == other[0] for one, other in pairwise(curves))
    shares = [step / 200 for step in range(201)]
    worst, turned = 0.0, 0.0
    for curve in curves:
        spots = [_bezier(curve, share) for share in shares]
        worst = max(worst, *(abs(math.dist(spot, arc.centre) - radius) for spot in spots))
        for (ax, ay), (bx, by) in pairwise((x - 30, y + 20) for x, y in spots):
            turned += math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    assert worst < 0.001 and worst <= CURVE + 1e-9
    assert turned == pytest.approx(sweep if ccw else -sweep, abs=1e-6)
    estimate = curve_error(radius, sweep / len(curves))
    assert worst == pytest.approx(estimate, rel=0.01, abs=1e-9)
    if len(curves) > 1:
        assert curve_error(radius, sweep / (len(curves) - 1)) > CURVE


def _bezier(curve, t):
    weights = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
    return tuple(sum(w * p[axis] for w, p in zip(weights, curve, strict=True)) for axis in (0, 1))


@pytest.fixture(scope="module")
def trial() -> Drawing:
    """Three circles on a plate."""
    rounds = tuple(Chain(circle(at, d).segments, True) for at, d in (((20, 30), 10), ((140, 90), 16), ((80, 180), 60)))
    edge = Polyline(((0, 0), (150, 0), (150, 220), (0, 220), (0, 0)))
    return Drawing("Fernhill", "rear", (-2, -2, 152, 222), (Pen("openings", 0.35, (), rounds),
                                                             Pen("outline", 0.35, (), (edge,))), ("seen from outside",))


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.name)
def test_bars_and_holes_measure_what_they_say(paper, trial, printed):
    """At 600 dpi both bars and the distances and diameters of holes are true within 0.1 mm, on every paper."""
    page = printed(Template().write([trial], paper), 1)
    tiling = tiled(trial.bounds, paper)
    assert page.size == pytest.approx((tiling.width, tiling.height), abs=0.05)
    x0, y0, *_ = tiling.window
    low = MARGIN + 8
    ends = [page.upright(x - 2, low + 0.5, x + 2, low + 1.8) for x in (x0, x0 + 100)]
    assert ends[1] - ends[0] == pytest.approx(100, abs=0.1)
    x = MARGIN + 5
    ends = [page.level(x + 0.5, y - 2, x + 1.8, y + 2) for y in (y0, y0 + 101.6)]
    assert ends[1] - ends[0] == pytest.approx(101.6, abs=0.1)
    found = []
    for at, diameter in (((20, 30), 10), ((140, 90), 16), ((80, 180), 60)):
        place = tiling.to_sheet(tiling.tiles[0], at)
        centre, radius = page.circle(place, diameter / 2)
        assert math.dist(centre, place) < 0.1
        assert 2 * radius == pytest.approx(diameter, abs=0.1)
        found.append(centre)
    assert math.dist(found[0], found[2]) == pytest.approx(math.dist((20, 30), (80, 180)), abs=0.1)


def test_a_long_panel_comes_together_from_its_sheets(job_of, printed):
    """900 x 300 mm over A4: laid cross on cross, measured on paper, every hole is at its place within 0.1 mm."""
    job = job_of(LONG, machine="sheet router")
    (panel,) = lay_out(job).panels
    drawing = draw_template(panel, Common(job.title, job.units, job.pilot_diameter))
    paper = paper_called("A4", "mm")
    pdf = Template().write([drawing], paper)
    tiling = tiling_of(drawing, paper)
    assert len(tiling.tiles) == tiling.columns * tiling.rows <= 12
    pages = {(tile.column, tile.row): printed(pdf, number) for number, tile in enumerate(tiling.tiles, start=1)}
    crosses = {(tile.column, tile.row): [_cross(pages[tile.column, tile.row], tiling.to_sheet(tile, point))
                                         for point in tiling.crosses(tile)] for tile in tiling.tiles}
    shared = {(tile.column, tile.row): tiling.crosses(tile) for tile in tiling.tiles}
    moved = {(0, 0): (0.0, 0.0)}
    for tile in tiling.tiles[1:]:
        here = tile.column, tile.row
        there = (tile.column - 1, tile.row) if tile.column else (tile.column, tile.row - 1)
        shifts = [
            (other[0] - one[0], other[1] - one[1])
            for point, one in zip(shared[here], crosses[here], strict=True)
            for twin, other in zip(shared[there], crosses[there], strict=True) if math.dist(point, twin) < 1e-6
        ]
        assert len(shifts) == 2 and math.dist(*shifts) < 0.1
        middle = [(shifts[0][axis] + shifts[1][axis]) / 2 for axis in (0, 1)]
        moved[here] = moved[there][0] + middle[0], moved[there][1] + middle[1]
    found = []
    for x, y, diameter in HOLES:
        reach = diameter / 2 + 0.2
        tile = next(tile for tile in tiling.tiles if tile.area[0] + reach < x < tile.area[2] - reach
                    and tile.area[1] + reach < y < tile.area[3] - reach)
        here = tile.column, tile.row
        centre, radius = pages[here].circle(tiling.to_sheet(tile, (x, y)), diameter / 2)
        assert 2 * radius == pytest.approx(diameter, abs=0.1)
        found.append((centre[0] + moved[here][0], centre[1] + moved[here][1]))
    for (one, (ax, ay, _)), (other, (bx, by, _)) in pairwise(zip(found, HOLES, strict=True)):
        assert (other[0] - one[0], other[1] - one[1]) == pytest.approx((bx - ax, by - ay), abs=0.1)
    assert found[-1][0] - found[0][0] == pytest.approx(860, abs=0.1)


def _cross(page, near):
    """The middle of a cross about ``near``: of its upright arm above the other one, and of its level arm beside it."""
    x, y = near
    return page.upright(x - 2, y + 1, x + 2, y + 3.8), page.level(x + 1, y - 2, x + 3.8, y + 2)


def test_nothing_is_drawn_beyond_the_margin(job_of, printed):
    """Printers cannot reach the edge: 9.5 mm all round stay bare on every page, tiles, map and table included."""
    made = pipeline.make(job_of(LONG.replace('"Long panel"', f'"{"long title " * 18}"'), machine="pen plotter"))
    (pdf,) = [file.content for file in made.files if file.path == "template.pdf"]
    for number in (1, 8, 13):
        dark = printed(pdf, number).dark
        bare = round(9.5 / 25.4 * 600)
        assert not any(strip.any() for strip in (dark[:bare], dark[-bare:], dark[:, :bare], dark[:, -bare:]))
        assert dark.any()


def test_every_page_says_what_to_measure(job_of, words):
    """The sentence that says to measure both bars and a pair of holes, title, panel, side and page are on each page."""
    made = pipeline.make(job_of(LONG, machine="pen plotter"), paper="a3")
    (file,) = [file for file in made.files if file.path == "template.pdf"]
    assert (file.facts["kind"], file.facts["paper"]) == ("template", "A3")
    pages = words(file.content)
    for number, text in enumerate(pages, start=1):
        flat = " ".join(text.split())
        assert f"page {number} of {len(pages)}" in flat
        assert "measure both bars on every sheet, then a pair of holes" in flat
        assert all(said in flat for said in ("Long panel", "long: ", "seen from the outside", "up", "100 mm", "4 in"))


def test_the_same_drawings_give_the_same_bytes(trial):
    """A second writing differs in no byte."""
    assert Template().write([trial, trial], PAPERS[0]) == Template().write([trial, trial], PAPERS[0])


def test_dashes_and_widths_are_those_of_the_pen(printed):
    """A line of 0.7 mm is 0.7 mm wide on paper, and a dash of 6 and 3 mm leaves two thirds of it."""
    line = Polyline(((0.0, 0.0), (90.0, 0.0)))
    drawing = Drawing("t", "p", (0, -9, 90, 9), (Pen("a", 0.7, (6, 3), (line,)),))
    page = printed(Template().write([drawing], PAPERS[0]), 1)
    tiling = tiled((0, -9, 90, 9), PAPERS[0])
    x, y = tiling.to_sheet(tiling.tiles[0], (0, 0))
    dots, *_ = page.cut(x, y - 2, x + 90, y + 2)
    assert dots.sum() / dots.shape[1] * 25.4 / 600 == pytest.approx(0.7 * 2 / 3, abs=0.02)


def test_no_number_that_is_none():
    """A coordinate that is not finite is refused."""
    with pytest.raises(PostError, match="nan"):
        Template().write([Drawing("t", "p", (0, 0, 9, 9), (Pen("a", 0.3, (), (Polyline(((0, math.nan), (1, 1))),)),))],
                         PAPERS[0])
