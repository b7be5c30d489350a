"""Loose runs joined to closed chains, whatever their order and direction; and what cannot be."""

from __future__ import annotations

import math
import random

import pytest

from toolpaths.geometry import shapes
from toolpaths.geometry.contour import Contour
from toolpaths.geometry.join import doubles, ending_at, joined
from toolpaths.geometry.segment import Arc, Line
from toolpaths.geometry.within import encloses, meets_itself, near_pairs

SHAPES = [
    shapes.rounded_rectangle((30.0, 20.0), 27.0, 20.0, 2.5, 0.3),
    shapes.d_hole((-20.0, 5.0), 12.7, 11.7, 1.0),
    shapes.keyed_hole((60.0, 60.0), 12.0, 3.0, 1.5, 2.0),
    shapes.slot((0.0, 60.0), 20.0, 6.0),
    shapes.polygon((100.0, 0.0), [(0, 0), (14, 0), (14, 10), (7, 10), (7, 18), (0, 18)]),
]


@pytest.mark.parametrize("seed", range(6))
def test_shuffled_pieces_come_together(seed) -> None:
    """Pieces in any order, each drawn either way round, give the contours that they were cut from."""
    chance = random.Random(seed)
    pieces = [segment if chance.random() < 0.5 else segment.reversed() for one in SHAPES for segment in one.segments]
    chance.shuffle(pieces)
    result = joined([(piece,) for piece in pieces], 0.01)
    assert not result.loose and not result.branches
    areas = sorted(abs(Contour(chain.segments).area) for chain in result.closed)
    assert areas == pytest.approx(sorted(one.area for one in SHAPES), rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_ends_within_the_gap_are_joined_at_their_middle(seed) -> None:
    """Ends that were moved by less than half the gap still close, and the contour nowhere moves by more than that."""
    chance = random.Random(seed)

    def shaken(point):
        return point[0] + chance.uniform(-0.002, 0.002), point[1] + chance.uniform(-0.002, 0.002)

    pieces = [ending_at(segment, shaken(segment.start), shaken(segment.end)) for segment in SHAPES[0].segments]
    (chain,) = joined([(piece,) for piece in pieces], 0.01).closed
    assert doubles([SHAPES[0].segments, chain.segments], 0.006)
    assert not joined([(piece,) for piece in pieces], 1e-4).closed


def test_short_pieces_do_not_melt_into_the_gap() -> None:
    """A circle of sixty chords, each shorter than the gap, keeps them all: only what hangs loose is joined."""
    points = [(math.cos(k * math.pi / 30), math.sin(k * math.pi / 30)) for k in range(60)]
    runs = [(Line(a, b),) for a, b in zip(points, [*points[1:], points[0]], strict=True)]
    (chain,) = joined(runs, 0.5).closed
    assert len(chain.segments) == 60


def test_what_is_open_or_forks_is_told() -> None:
    """A chain that does not close is told with both its ends, a point where three meet with its runs."""
    result = joined([(Line((0, 0), (10, 0)),), (Line((10, 0), (10, 10)),)], 0.01)
    assert not result.closed and {result.loose[0].ends[0], result.loose[0].ends[1]} == {(0, 0), (10, 10)}
    assert result.from_end_to_end(result.loose[0]) == pytest.approx(math.hypot(10, 10))
    square = [(Line(a, b),) for a, b in (((0, 0), (9, 0)), ((9, 0), (9, 9)), ((9, 9), (0, 9)), ((0, 9), (0, 0)))]
    forked = joined([*square, (Line((0, 0), (4, 4)),)], 0.01)
    assert not forked.closed and not forked.loose
    assert [(branch.at, len(branch.runs)) for branch in forked.branches] == [((0, 0), 3)]


def test_nearly_full_arcs_keep_their_radius_when_an_end_moves() -> None:
    """An arc of nearly a full turn, whose ends are a hair apart, is not blown up when one of them moves by a hair."""
    start, end = (10.0, 0.0), (10 * math.cos(-0.001), 10 * math.sin(-0.001))
    moved = ending_at(Arc(start, end, (0.0, 0.0), True), start, (end[0], end[1] + 0.005))
    assert isinstance(moved, Arc) and moved.radius == pytest.approx(10, abs=0.01)


def test_doubles_are_found_either_way_round() -> None:
    """A run that lies on an earlier one is found whichever way it was drawn and wherever it begins."""
    one = SHAPES[1].segments
    again = Contour(one).reversed().starting_at(7.0).segments
    assert doubles([one, SHAPES[0].segments, again], 1e-3) == [(0, 2)]
    assert doubles([(Line((0, 0), (5, 0)),), (Line((5, 0), (0, 0)),), (Line((0, 0), (5, 0.1)),)], 1e-3) == [(0, 1)]


@pytest.mark.parametrize("shape", SHAPES)
def test_a_point_is_inside_where_the_area_says_so(shape) -> None:
    """Points of a lattice are inside a contour, either way round, just where its faceted copy holds them."""
    from toolpaths.geometry.judge import holds

    x0, y0, x1, y1 = shape.bounds
    for i in range(-2, 23):
        for j in range(-2, 23):
            point = x0 + (x1 - x0) * (i + 0.37) / 20, y0 + (y1 - y0) * (j + 0.59) / 20
            assert encloses(shape, point) == encloses(shape.reversed(), point) == holds(shape, point)


def test_a_contour_that_meets_itself_is_found() -> None:
    """A bow tie crosses itself, a fold lies on itself, and sound contours do neither."""
    bow = Contour((Line((0, 0), (10, 10)), Line((10, 10), (10, 0)), Line((10, 0), (0, 10)), Line((0, 10), (0, 0))))
    assert meets_itself(bow) == pytest.approx((5, 5))
    fold = Contour((Line((0, 0), (10, 0)), Line((10, 0), (5, 0)), Line((5, 0), (5, 5)), Line((5, 5), (0, 0))))
    assert meets_itself(fold) is not None
    assert [meets_itself(shape) for shape in SHAPES] == [None] * len(SHAPES)


def test_near_boxes_are_found_by_a_sweep() -> None:
    """The sweep finds just the pairs that comparing all with all finds."""
    chance = random.Random(1)
    boxes = [(x, y, x + chance.uniform(0, 9), y + chance.uniform(0, 9)) for x, y in
             ((chance.uniform(0, 60), chance.uniform(0, 60)) for _ in range(120))]  # fmt: skip
    every = {
        (i, j)
        for i, a in enumerate(boxes)
        for j, b in enumerate(boxes)
        if i < j and a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]
    }
    assert set(near_pairs(boxes)) == every and every
