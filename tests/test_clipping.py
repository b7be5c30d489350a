"""Marks cut at the sides of a box, held against a general library for shapes."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from toolpaths.clipping import inside, outside
from toolpaths.drawing import Chain, Mark, Polyline
from toolpaths.geometry.segment import Arc, Line, Segment
from toolpaths.geometry.shapes import circle, d_hole, rounded_rectangle, slot

BOX = (0.0, 0.0, 40.0, 30.0)
PLACE = st.integers(-60, 90).map(lambda value: value / 2)
POINT = st.tuples(PLACE, PLACE)
SIZE = st.integers(2, 90).map(float)

MARKS = st.one_of(
    st.lists(POINT, min_size=2, max_size=6).filter(lambda ps: all(a != b for a, b in pairwise(ps)))
    .map(lambda points: Polyline(tuple(points))),
    st.builds(lambda at, d: Chain(circle(at, d).segments, True), POINT, SIZE),
    st.builds(lambda at, w, h, a: Chain(rounded_rectangle(at, w, h, min(w, h) / 4, a).segments, True),
              POINT, SIZE, SIZE, st.floats(0, 3)),
    st.builds(lambda at, w, a: Chain(slot(at, 2 * w, w, a).segments, True), POINT, SIZE, st.floats(0, 3)),
    st.builds(lambda at, d, a: Chain(d_hole(at, d, 0.8 * d, a).segments, True), POINT, SIZE, st.floats(0, 3)),
)  # fmt: skip


def segments(mark: Mark) -> list[Segment]:
    if isinstance(mark, Chain):
        return list(mark.segments)
    return [Line(start, end) for start, end in pairwise(mark.points)]


def length(marks: list[Mark]) -> float:
    return sum(segment.length for mark in marks for segment in segments(mark))


SAGITTA = 0.004
"""500 facets of a radius to 90 mm lie within this of their arc (pi^2 r / 2 n^2), and are shorter by less (2 pi r times
pi^2 / 6 n^2), mm."""


def in_the_box(mark: Mark, by: float) -> float:
    """The length that shapely finds in the box, so much larger, of each segment: some may lie on each other."""
    x0, y0, x1, y1 = BOX
    box = shapely.box(x0 - by, y0 - by, x1 + by, y1 + by)
    pieces = [
        [segment.point_at(segment.length * step / 500) for step in range(501)] for segment in segments(mark)
    ]  # fmt: skip
    return sum(shapely.intersection(shapely.LineString(piece), box).length for piece in pieces)


@settings(deadline=None)
@given(MARKS)
def test_what_is_cut_off_is_the_rest(mark):
    """Inside and outside together are the whole; what is inside has the length that shapely finds in the box."""
    kept, rest = inside(mark, BOX), outside(mark, BOX)
    assert length(kept) + length(rest) == pytest.approx(length([mark]), abs=1e-5)
    x0, y0, x1, y1 = BOX
    assert in_the_box(mark, -SAGITTA) - SAGITTA <= length(kept) <= in_the_box(mark, SAGITTA) + SAGITTA
    for part in kept:
        for segment in segments(part):
            for step in range(9):
                x, y = segment.point_at(segment.length * step / 8)
                assert x0 - 1e-6 <= x <= x1 + 1e-6 and y0 - 1e-6 <= y <= y1 + 1e-6


@settings(deadline=None)
@given(MARKS)
def test_lines_stay_lines_and_arcs_stay_arcs_of_their_circle(mark):
    """Every piece is a part of a segment of the mark: its kind, its circle and its way round; runs hang together."""
    circles = {(arc.centre, arc.ccw): arc.radius for arc in segments(mark) if isinstance(arc, Arc)}
    for part in [*inside(mark, BOX), *outside(mark, BOX)]:
        assert type(part) is type(mark)
        pieces = segments(part)
        for one, other in pairwise(pieces):
            assert one.end == other.start
        for piece in pieces:
            if isinstance(piece, Arc):
                assert piece.radius == pytest.approx(circles[piece.centre, piece.ccw], abs=1e-6)
                assert math.dist(piece.end, piece.centre) == pytest.approx(piece.radius, abs=1e-6)


def test_a_stroke_through_the_beginning_of_a_chain_stays_one():
    """A circle begun inside the box leaves one stroke there and one beyond; what lies wholly in it stays closed."""
    hole = Chain(circle((40.0, 15.0), 10.0).segments, True)
    assert [len(found) for found in (inside(hole, BOX), outside(hole, BOX))] == [1, 1]
    turned = Chain(tuple(segment.mapped(lambda p: (80 - p[0], 30 - p[1])) for segment in hole.segments), True)
    assert [len(found) for found in (inside(turned, BOX), outside(turned, BOX))] == [1, 1]
    whole = Chain(circle((20.0, 15.0), 10.0).segments, True)
    assert (inside(whole, BOX), outside(whole, BOX)) == ([whole], [])
    around = Chain(circle((20.0, 15.0), 100.0).segments, True)
    assert (inside(around, BOX), outside(around, BOX)) == ([], [around])


def test_dots_and_lines_along_a_side_belong_to_the_box():
    """A dot of the pen is on the sheet or not; a line along the window's side is drawn."""
    assert inside(Polyline(((3.0, 3.0),)), BOX) and not inside(Polyline(((-3.0, 3.0),)), BOX)
    assert length(inside(Polyline(((-5.0, 0.0), (50.0, 0.0))), BOX)) == pytest.approx(40.0)
