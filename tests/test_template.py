"""What is printed of a panel to work from by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from postprocessors.base import SheetsPost
from tests.conftest import SAMPLES
from tests.test_drafting import MIRRORED, PANEL, hole, marks, text_at
from toolpaths import pipeline
from toolpaths.drawing import Chain, Polyline
from toolpaths.geometry import judge
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.shapes import circle, d_hole, keyed_hole, polygon, rounded_rectangle, slot
from toolpaths.job.load import read_job, size_names
from toolpaths.layout.build import lay_out
from toolpaths.template import Common, bend_lines, draw_tables, draw_template, hand_route

OPENING = PANEL.openings[-1]
COMMON = Common("a test", "mm", 3.0, boards=frozenset({PANEL.material}))


def route(shape, panel=PANEL, **changes):
    """Hand holes as centre and radius, and the pieces of the saw's way."""
    opening = replace(OPENING, shape=shape, **changes)
    found = list(hand_route(panel, opening, COMMON))
    holes = [mark.segments[0] for pen, mark in found if pen == "hand holes"]
    sawn = [mark.segments[0] for pen, mark in found if pen == "hand route"]
    return [(arc.centre, arc.radius) for arc in holes], sawn


@pytest.mark.parametrize("panel", [PANEL, MIRRORED])
def test_corners_are_drilled_with_their_own_radius_and_sawn_between(panel):
    """A cutout has a hole of the corner's radius at each corner's centre, and saw lines 1 mm inside, hole to hole."""
    holes, sawn = route(rounded_rectangle((190, 90), 72, 58, 5), panel)
    wanted = [panel.to_program((190 + x, 90 + y)) for x in (-31, 31) for y in (-24, 24)]
    assert sorted((round(x, 6), round(y, 6), round(r, 6)) for (x, y), r in holes) == sorted((*p, 5.0) for p in wanted)
    assert len(sawn) == 4 and all(isinstance(line, Line) for line in sawn)
    cx, cy = panel.to_program((190, 90))
    for line in sawn:
        assert all(min(math.dist(end, centre) for centre, _ in holes) < 5 for end in (line.start, line.end))
        assert {round(abs(x - cx), 6) for x, _ in (line.start, line.end)} in ({35.0}, {31.0})
        assert {round(abs(y - cy), 6) for _, y in (line.start, line.end)} in ({28.0}, {24.0})


SHAPES = [
    rounded_rectangle((190, 90), 40, 30, 0, 0.3),
    rounded_rectangle((190, 90), 40, 30, 12.5),
    rounded_rectangle((190, 90), 40, 30, 13),
    d_hole((190, 90), 40, 36, 1.0),
    keyed_hole((190, 90), 34, 6, 4, 0.5),
    slot((190, 90), 60, 14),
    slot((190, 90), 60, 26, 0.7),
    polygon((190, 90), [(0, 0), (40, 0), (40, 30), (20, 30), (20, 50), (0, 50)], 0),
    polygon((190, 90), [(0, 0), (40, 0), (40, 30), (20, 30), (20, 50), (0, 50)], 4),
]


@pytest.mark.parametrize("shape", SHAPES)
def test_a_saw_finds_a_hole_to_begin_in_and_spoils_nothing(shape):
    """Every large shape has a hole to drill that touches its saw lines, and no hole or saw line leaves the shape."""
    holes, sawn = route(shape)
    assert holes and sawn
    for centre, radius in holes:
        edge = [shape.point_at(share * shape.perimeter / 2000) for share in range(2000)]
        assert judge.holds(shape, centre) and min(math.dist(centre, spot) for spot in edge) > radius - 0.001
        if radius == 3:
            near = min(math.dist(centre, piece.point_at(share * piece.length / 400))
                       for piece in sawn for share in range(401))
            assert near == pytest.approx(radius, abs=0.01)
    for piece in sawn:
        for share in range(11):
            assert judge.holds(shape, piece.point_at(share * piece.length / 10))


def test_sharp_corners_and_drilled_ones_part_at_their_radius():
    """A corner up to 12.5 mm in radius is drilled whole; a larger one is sawn round, from a hole to begin in."""
    (_, drilled), *more = route(SHAPES[1])[0]
    assert (drilled, len(more)) == (12.5, 3)
    holes, sawn = route(SHAPES[2])
    assert [radius for _, radius in holes] == [3.0]
    assert sum(isinstance(piece, Arc) for piece in sawn) == 4
    assert [radius for _, radius in route(SHAPES[0])[0]] == [3.0] * 4


def test_large_round_openings_have_a_hole_for_a_pin():
    """Over 60 mm a round opening has the pilot's hole in its middle, to 60 mm nothing: a hole saw centres itself."""
    holes, sawn = route(circle((190, 90), 60.1), diameter=60.1)
    assert (holes, sawn) == ([((190.0, 90.0), 1.5)], [])
    assert route(circle((190, 90), 60), diameter=60.0) == ([], [])


def test_small_and_blind_openings_need_no_route():
    """What is cleared to chips, or does not go through, is not sawn."""
    assert route(OPENING.shape, cleared=True) == route(OPENING.shape, depth=1.0) == ([], [])


@pytest.mark.parametrize("holes", ["after bending", "before bending"])
def test_bends_are_drawn_where_the_sheet_begins_to_be_flat(holes):
    """A folded face has a line beside each bend, thickness and radius (2.7 mm) from its outer edge, bent yet or not."""
    job = read_job(SAMPLES / "crowded_chassis.toml", size="clear")
    job = replace(job, chassis=replace(job.chassis, holes=holes))
    top, front, _ = lay_out(job).panels
    x0, y0, x1, y1 = top.area_to_program(top.outline.bounds)
    found = {tuple(round(v, 6) for point in line.points for v in point) for line in bend_lines(top, job.chassis)}
    assert found == {tuple(round(v, 6) for v in line) for line in (
        (x0 + 2.7, y0, x0 + 2.7, y1), (x1 - 2.7, y0, x1 - 2.7, y1),
        (x0, y0 + 2.7, x1, y0 + 2.7), (x0, y1 - 2.7, x1, y1 - 2.7),
    )}  # fmt: skip
    assert len(bend_lines(front, job.chassis)) == 1
    assert bend_lines(replace(PANEL, name="baffle"), job.chassis) == bend_lines(top, None) == []


@pytest.mark.parametrize(("units", "step"), [("mm", 10.0), ("in", 12.7)])
def test_the_centre_line_counts_from_the_middle(units, step):
    """Ticks stand at whole steps from the middle of the longer side, none in an opening, the far ones with figures."""
    drawing = draw_template(replace(PANEL, openings=PANEL.openings[-1:]), Common("Fernhill", units, 3.0))
    places = {round((mark.points[0][0] - 130) / step, 6) for mark in marks(drawing, "distances")}
    assert all(place == round(place) != 0 for place in places)
    assert {abs(place) for place in places} == set(range(1, int(130 / step - 1e-9) + 1))
    assert not any(154 <= 130 + place * step <= 226 for place in places)
    assert text_at(drawing, "100" if units == "mm" else "4", 2.5)


def test_a_template_has_no_clamps_and_no_tables_and_says_what_is_seen():
    """Clamps are the machine's; the notes say the side, and two far holes with their distance, in the job's units."""
    drawing = draw_template(MIRRORED, Common("Fernhill", "in", 3.0, "wide"))
    assert not {"clamps", "stock", "check bars"} & {pen.name for pen in drawing.pens}
    told, pair = drawing.notes
    assert drawing.title == "Fernhill"
    assert told == "rear, size wide: 1.2 mm mild steel, seen from the inside (mirrored), full size."
    one, other = PANEL.openings[3], PANEL.openings[-1]
    assert (one.tag, other.tag) == ("A4", "B1")
    distance = math.dist(one.centre, other.centre) / 25.4
    # seven inches and a half are 190.5 mm; these are 190.394
    assert distance * 25.4 == pytest.approx(190.394, abs=1e-3)
    assert pair == "To measure: 7.496 in (on a rule 7 1/2 - 0.11 mm) from the centre of A4 to that of B1."


def test_tables_fill_pages_that_each_fit_one_sheet():
    """Two hundred holes with long labels come on as few pages as hold them, all of them, and nothing leaves a page."""
    many = tuple(hole(n, 5 + n % 20, 5 + n // 20, 3, "label " * 30) for n in range(1, 201))
    room = (181.0, 244.0)
    pages = draw_tables(replace(PANEL, openings=many), Common("Fernhill", "mm", 3.0), room, ["Wear eye protection."])
    assert len(pages) == math.ceil(200 / 51)
    for page in pages:
        assert page.bounds == (0, 0, *room)
        for mark in page.pens[0].marks:
            assert all(-0.01 <= x <= room[0] + 0.01 and 0 <= y <= room[1] for x, y in mark.points)
    assert all(any(text_at(page, f"A{n}", 2.5) for page in pages) for n in (1, 51, 52, 200))
    assert [text_at(page, "Wear eye protection.", 2.5) for page in pages] == [False] * (len(pages) - 1) + [True]


class Kept(SheetsPost):
    """A post-processor that keeps the drawings that it is given."""

    name, suffix, summary = "kept", ".txt", "a trial"

    def write(self, drawings, paper):
        self.drawings = list(drawings)
        return paper.name.encode()


def test_a_job_gives_its_drawings_in_order_and_is_warned_once(monkeypatch):
    """Each panel's template is followed by its table; cautions stand below the last, of every material of the job."""
    kept = Kept()
    monkeypatch.setattr("postprocessors.find", lambda name: kept)
    job = read_job(SAMPLES / "practice_bass_amplifier.toml", machine="pen plotter", size="small")
    made = pipeline.make(job, posts=["kept"], paper="Legal")
    assert [(file.path, file.content) for file in made.files][:1] == [("kept.txt", b"Legal")]
    assert [drawing.panel for drawing in kept.drawings] == [panel.name for panel in made.layout.panels for _ in "12"]
    assert all(drawing.title == "Larkmoor practice bass amplifier" for drawing in kept.drawings)
    assert all(drawing.notes[0].startswith(f"{drawing.panel}, size small: ") for drawing in kept.drawings)
    for said in ("Use cutting wax or a little fluid, or chips weld to the cutter.",
                 "Wear a mask and run extraction: dust of plywood, MDF and fibreglass harms the lungs."):
        assert [text_at(drawing, said, 2.5) for drawing in kept.drawings] == [False] * 7 + [True]


@pytest.mark.parametrize("sample", sorted(SAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_lettering_stands_clear_of_every_line(sample):
    """On the template of every panel in every size no letter touches a line: wall, tick, leader, route."""
    for size in (None, *size_names(sample)):
        job = read_job(sample, size=size)
        for panel in lay_out(job).panels:
            drawing = draw_template(panel, Common(job.title, job.units, job.pilot_diameter, chassis=job.chassis))
            letters = shapely.STRtree([line_of(mark) for mark in marks(drawing, "lettering")])
            assert len(letters.geometries) > 20
            for pen in drawing.pens:
                for mark in pen.marks if pen.name != "lettering" else ():
                    assert not len(letters.query(line_of(mark), "intersects")), (size, panel.name, pen.name, mark)


def line_of(mark):
    """A mark as a line of points."""
    if isinstance(mark, Polyline):
        return shapely.LineString(mark.points if len(mark.points) > 1 else mark.points * 2)
    return shapely.LineString(piece.point_at(piece.length * k / 40) for piece in mark.segments for k in range(41))


@pytest.mark.parametrize("panel", [PANEL, MIRRORED])
def test_a_hole_beside_a_centre_has_its_own_circle_and_cross(panel):
    """What is drilled beside a D-hole's centre stands as a thin circle with a small cross, where the panel lies."""
    drawing = draw_template(panel, COMMON, first_holes=[((60, 40), 11.0)])
    (pen,) = [one for one in drawing.pens if one.name == "hand holes"]
    at = panel.to_program((60, 40))
    assert any(isinstance(m, Chain) and (m.segments[0].centre, m.segments[0].radius) == (at, 5.5) for m in pen.marks)
    crosses = [mark.points for mark in pen.marks if not isinstance(mark, Chain)]
    assert [tuple((a + b) / 2 for a, b in zip(*ends, strict=True)) for ends in crosses] == [pytest.approx(at)] * 2
